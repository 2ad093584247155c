"""The open catalogue: what a user of the package holds. Opening needs no reasoner and no Java.

from kg import open_catalogue
catalogue = open_catalogue()
catalogue.ask("non-crushing clamps with longitudinal serration").matches
"""

from __future__ import annotations

import errno
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from kg import closure, paths
from kg.errors import BoxlockError, CatalogueError, QueryError, QuestionError
from kg.vocabulary import Vocabulary

if TYPE_CHECKING:
    from kg.answer import Context
    from kg.course.planned import Plan
    from kg.course.records import Coverage
    from kg.course.stationed import Circuit
    from kg.draw import Drawing
    from kg.identify import Identification, Identifier
    from kg.language import Lexicon, nodes
    from kg.model import Answer
    from kg.rehearse import Item, Marked, Marker, Rehearsal, Sheet
    from kg.store import Store

Say = Callable[[str], None]


class Catalogue:
    """A closure, opened. Use ``open_catalogue``.

    ``folder`` is where the closure lies; ``stamp`` what it was made from; ``vocabulary`` all terms.
    """

    def __init__(self, root: Path, folder: Path, stamp: closure.Stamp, store: Store | None = None) -> None:
        self.root = root
        self.folder = folder
        self.stamp = stamp
        self._given_store = store
        self._distrust_kept = False
        self.exported: Path | None = None
        """The exported file that it was opened from (``kg.export``). Its store is not kept on disk between runs."""
        text = closure.read(folder, closure.VOCABULARY, stamp).decode("utf-8")
        try:
            self.vocabulary = Vocabulary.from_json(text)
        except (ValueError, KeyError, TypeError) as e:
            raise CatalogueError("BL-C02", f"the closure's vocabulary cannot be read ({e})", hint="Run: boxlock build") from e

    @cached_property
    def store(self) -> Store:
        """The store: the one given, or the closure loaded into memory. Raises CatalogueError (BL-C01, BL-C02)."""
        if self._given_store is not None:
            return self._given_store
        from kg.store.embedded import EmbeddedStore

        if not self._distrust_kept and self._kept.is_dir():
            # The kept store was made from quads with the stamped digest, so the file need not be read again to trust it.
            closure.look(self.folder, closure.QUADS, self.stamp)
            try:
                return EmbeddedStore.open_folder(self._kept)
            except QueryError:
                pass
        return EmbeddedStore.from_quads(closure.read(self.folder, closure.QUADS, self.stamp))

    @property
    def quads_file(self) -> Path:
        """The closure's quads on disk, for queries that run in another process."""
        return self.folder / closure.QUADS

    @property
    def _kept(self) -> Path:
        """Where the loaded closure is kept as an on-disk store between runs."""
        return paths.store_folder(self.stamp.files[closure.QUADS])

    def keep(self) -> None:
        """Keeps the loaded closure on disk in the user's cache, so that the next run opens it faster; never raises.

        Worth calling after an answer. Stores of other closures are removed. Without a writable cache nothing happens.
        """
        if self.exported or self._given_store is not None or "store" not in self.__dict__ or self._kept.exists():
            return
        import contextlib
        import shutil

        with contextlib.suppress(OSError, QueryError):
            self.store.save_folder(self._kept)
            for other in self._kept.parent.glob("store-*"):
                if other != self._kept:
                    shutil.rmtree(other, ignore_errors=True)

    def _mistrust(self) -> bool:
        """Drops a kept store that cannot answer, and loads the closure instead. False if no kept store was in use."""
        if self._given_store is not None or getattr(self.store, "kept", None) is None:
            return False
        import shutil

        self._distrust_kept = True
        self.store.close()
        for name in ("store", "context"):
            self.__dict__.pop(name, None)
        shutil.rmtree(self._kept, ignore_errors=True)
        return True

    @cached_property
    def lexicon(self) -> Lexicon:
        """The words of the language."""
        from kg.language import Lexicon

        return Lexicon.build(self.vocabulary, self._words)

    @cached_property
    def _words(self) -> dict:
        """The word file and the data files, as parsed."""
        return json.loads(closure.read(self.folder, closure.WORDS, self.stamp))

    @cached_property
    def context(self) -> Context:
        from kg.answer import Context

        return Context(self.vocabulary, self.store, self.lexicon, self.verified_by, self._words)

    @property
    def verified_by(self) -> str:
        """The engine that verified the closure, or a plain statement that none did."""
        return self.stamp.verified_by or "not verified by HermiT"

    def parse(self, text: str) -> nodes.Question:
        """Text -> question tree. Raises QuestionError."""
        from kg.language import parse

        return parse(text, self.lexicon)

    def ask(self, text: str, *, limit: int = 20) -> Answer:
        """Answers a question. Raises QuestionError if it is not understood, QueryError if the store fails."""
        return self.answer(self.parse(text), text, limit=limit)

    def why(self, statement: str) -> Answer:
        """Argues a statement such as "Doyen intestinal clamp is a non-crushing clamp", or contrasts two patterns ("X but not Y
        is a clamp"). Raises QuestionError."""
        from kg.language import nodes, parse_statement

        found = parse_statement(statement, self.lexicon)
        if isinstance(found, nodes.Holds):
            denied = isinstance(found.expr, nodes.Not)
            found = nodes.Why(found.pattern, found.expr.expr if denied else found.expr, denied)
        return self.answer(found, statement)

    def answer(self, question: nodes.Question, text: str = "", *, limit: int = 20) -> Answer:
        """Answers a question tree, as ``ask`` does for text."""
        from kg.answer import answer
        from kg.language import say

        reading = say(question, self.lexicon)
        try:
            return self._sketched(question, answer(self.context, question, text=text, reading=reading, limit=limit))
        except QueryError:
            if not self._mistrust():
                raise
        return self._sketched(question, answer(self.context, question, text=text, reading=reading, limit=limit))

    def _sketched(self, question: nodes.Question, found: Answer) -> Answer:
        """A description with the face of the pattern's jaw; a comparison of patterns with theirs, where they differ."""
        if found.description is None and found.comparison is None:
            return found
        named = (found.description.name,) if found.description else getattr(question, "subjects", ())
        subjects = [n for n in named if self.vocabulary.terms[n].role == "pattern"]
        from kg.draw.sketch import jaw_sketches

        try:
            made = jaw_sketches(self.root, self.vocabulary, self.context.reader, subjects)
        except CatalogueError:
            return found  # a fault of the drawing table, which ``boxlock check`` tells, keeps no answer back
        if len(subjects) > 1 and len({s.plain for s in made}) < 2:
            return found
        return replace(found, sketches=made)

    def describe(self, name: str) -> Answer:
        """Describes a pattern as one does aloud, part by part. Raises QuestionError if the name is not understood."""
        from kg.language import nodes

        return self.answer(nodes.Describe(self.pattern_named(name)), name)

    def compare(self, subjects: Sequence[str], *, telling: bool = False, limit: int = 20) -> Answer:
        """Patterns or categories side by side; ``telling``: only what decides. Raises QuestionError."""
        from kg.language import nodes

        text = "compare " + " and ".join(subjects)
        question = self.parse(text)
        if isinstance(question, nodes.Compare) and telling:
            question = nodes.Compare(question.subjects, True)
        return self.answer(question, text, limit=limit)

    def pattern_named(self, name: str) -> str:
        """The pattern (short name) that a name means. Raises QuestionError as a question does."""
        from kg.language import pattern_named

        return pattern_named(name, self.lexicon)

    @cached_property
    def identifier(self) -> Identifier:
        """Identifies patterns from what is seen; reads the whole catalogue on first use."""
        from kg.identify import Identifier
        from kg.identify.settings import read_settings

        settings = read_settings(self.root)
        try:
            return Identifier(self.vocabulary, self.lexicon, self.context.reader, settings)
        except QueryError:
            if not self._mistrust():
                raise
        return Identifier(self.vocabulary, self.lexicon, self.context.reader, settings)

    def identify(self, seen: str, *, claim: str = "", limit: int = 10, strict: bool = False) -> Identification:
        """Which pattern it is, from a description of what is seen ("ring handles, box lock, curved, about 14 cm").

        ``claim``: the name of a pattern, to be argued for and against. What is not understood is set aside and named in the
        outcome with the nearest known words, as long as anything is understood; with ``strict`` it is refused. Raises
        QuestionError (BL-Qxx) with the place of what is not understood, in the description or in the name.
        """
        named = self.identifier.pattern_named(claim) if claim else ""
        aside: list[QuestionError] = []
        observations = self.identifier.observe(seen, None if strict else aside)
        outcome = self.identifier.identify(observations, claim=named, limit=limit)
        near = {seen[e.span[0] : e.span[1]]: e.near[0] if e.near else "" for e in aside}
        return replace(outcome, set_aside=tuple(near), nearest=tuple(near.values())) if near else outcome

    def coverage(
        self,
        files: Sequence[str | Path],
        *,
        against: Sequence[str | Path] = (),
        smallest: bool = False,
        every_value: bool = False,
        more: int = 0,
        among_course: bool = False,
        work: float | None = None,
    ) -> Coverage:
        """What the course in ``files`` covers, and what it leaves out (``kg.course``).

        ``against``: an older course to compare with; ``smallest``: with the smallest list that meets the objectives;
        ``every_value``: with the smallest one that shows every value; ``more``: what 1 to so many instruments more would buy;
        ``among_course``: chosen from what is shown; ``work``: the limit of each search. Raises InputError with ``findings``,
        QueryError if the store fails.
        """
        from kg.course.look import look

        settings = {"smallest": smallest, "every_value": every_value, "more": more, "among_course": among_course, "work": work}
        try:
            return look(self.context, files, against, **settings)
        except QueryError:
            if not self._mistrust():
                raise
        return look(self.context, files, against, **settings)

    def plan(
        self,
        text: str,
        *,
        minutes: int,
        seconds: int | None = None,
        each: float | None = None,
        estimate: str = "",
        variants: bool = False,
    ) -> Plan:
        """Cuts the instruments of a question into sessions of at most so many minutes, each with a running order.

        ``seconds`` limits the search; ``each``: minutes for every instrument; ``estimate``: a file with other estimates;
        ``variants``: each variant by itself. Raises QuestionError, InputError (BL-P01: an instrument alone needs more).
        """
        from kg.course.minutes import own_estimate, read_estimate
        from kg.course.plan import SECONDS, plan
        from kg.language import say

        question = self.parse(text)
        numbers = read_estimate(self.root)
        if estimate:
            numbers = own_estimate(numbers, estimate, self.pattern_named)
        numbers = replace(numbers, each=each) if each is not None else numbers
        settings = {"text": text, "reading": say(question, self.lexicon), "minutes": minutes, "estimate": numbers}
        settings |= {"seconds": seconds or SECONDS, "variants": variants}
        try:
            return plan(self.context, question, **settings)
        except QueryError:
            if not self._mistrust():
                raise
        return plan(self.context, question, **settings)

    def stations(self, text: str, *, count: int, seed: int, blueprint: str = "", look_alikes: bool = False) -> Circuit:
        """``count`` examination stations on the instruments of a question; the same seed gives the same ones.

        ``blueprint``: a file that says what the circuit is to hold; ``look_alikes``: they may stand in one circuit. Raises
        QuestionError, InputError (the blueprint).
        """
        from kg.course.stations import stations
        from kg.language import say

        question = self.parse(text)
        settings = {"root": self.root, "text": text, "reading": say(question, self.lexicon), "count": count, "seed": seed}
        settings |= {"blueprint": blueprint, "look_alikes": look_alikes, "members": self._members}
        try:
            return stations(self.context, question, **settings)
        except QueryError:
            if not self._mistrust():
                raise
        return stations(self.context, question, **settings)

    def _members(self, words: str) -> list[str]:
        """The patterns that some words list ("needle holders"). Raises QuestionError."""
        return [m.name for m in self.ask(words, limit=0).matches]

    @cached_property
    def rehearsal(self) -> Rehearsal:
        """Makes the questions of rehearsals; reads what can be seen of the whole catalogue on first use."""
        from kg.rehearse import Rehearsal, read_settings

        return Rehearsal(self.context, read_settings(self.root))

    @cached_property
    def marker(self) -> Marker:
        """Marks written answers."""
        from kg.identify.settings import read_settings
        from kg.rehearse import Marker

        return Marker(self.context, self.rehearsal.settings, read_settings(self.root).means)

    def rehearse(self, text: str, count: int, seed: int, *, missed: Mapping[str, float] | None = None) -> Sheet:
        """Questions as an examiner asks them, on the instruments of a description or on one that is named; on all if ``text``
        is empty. The same ``seed`` and ``missed`` (see ``kg.rehearse.Past``) give the same questions.

        Raises QuestionError if the description is not understood, or describes nothing that matches.
        """
        from kg.language import nodes
        from kg.rehearse import Sheet

        if not text:
            patterns: Sequence[str] = [t.name for t in self.vocabulary.by_role("pattern")]
            return Sheet("", "all instruments", seed, count, self.rehearsal.items(patterns, count, seed, missed=missed))
        question = self._describing(text)
        answer = self.answer(question, text, limit=1)
        if not answer.matches:
            hint = f"{answer.possible_count} could match; ask the question to see why." if answer.possible_count else ""
            raise QuestionError("BL-Q03", "Nothing on record matches this.", question=text, span=(0, len(text)), hint=hint)
        items = self.rehearsal.items([m.name for m in answer.matches], count, seed, missed=missed)
        expr = question.expr
        named = self.vocabulary.label(expr.pattern) if isinstance(expr, nodes.Named) else answer.reading
        return Sheet(text, named, seed, count, items)

    def _describing(self, text: str) -> nodes.Filter:
        """A description of instruments, or the name of one, as a question for those that fit. Raises QuestionError."""
        from kg.language import nodes, pattern_named

        try:
            return nodes.Filter(nodes.Named(pattern_named(text, self.lexicon)))
        except QuestionError:
            question = self.parse(text)
        if isinstance(question, nodes.Filter):
            return question
        raise QuestionError(
            "BL-Q03",
            "This asks something; what is wanted here is a description of instruments.",
            question=text,
            span=(0, len(text)),
            hint="Describe the instruments, or name one.",
        )

    def mark(self, item: Item, text: str) -> Marked:
        """A written answer to one question of a rehearsal, marked fact by fact. Raises InputError (BL-I04) above its limit."""
        return self.marker.mark(item, text)

    def draw(self, *patterns: str) -> Drawing:
        """Draws a pattern, or two side by side; in a notebook the drawing shows itself. Names are words or short names.

        Raises QuestionError (BL-Qxx) if a name is not understood.
        """
        from kg.draw import drawing

        try:
            return drawing(self, *patterns)
        except QueryError:
            if not self._mistrust():
                raise
        return drawing(self, *patterns)

    def close(self) -> None:
        if "store" in self.__dict__:
            self.store.close()


def open_catalogue(root: Path | None = None, *, store: Store | None = None, say: Say = lambda _: None) -> Catalogue:
    """Opens the shipped closure; if it is missing or damaged, says so through ``say`` and rebuilds it.

    A closure in the package folder is used as it is (``boxlock check`` tells whether it is fresh). If that one cannot be
    used and the folder cannot be written, the rebuilt closure goes to the user's cache. Raises CatalogueError or
    ReasonerError if the rebuild fails.

    Without ``root`` the user's own catalogue is opened with the shipped one, if there is one (``kg.overlay``); if it cannot
    be used, that is said, and the shipped one is opened alone.
    """
    if root is None and store is None and (paths.own_dir() / "current").exists():
        mine = _open_own(paths.ontology_dir(), say)
        if mine is not None:
            return mine
    root = root or paths.ontology_dir()
    shipped = paths.generated_dir(root)
    try:
        return _open(root, shipped, store)
    except CatalogueError as trouble:
        if trouble.code not in ("BL-C01", "BL-C02"):
            raise
        first = trouble
    from kg import load  # needed only now

    cached = paths.cache_dir(load.input_hash(root))
    try:
        return _open(root, cached, store)
    except CatalogueError:
        pass
    say(f"{first.message} [{first.code}]; rebuilding it now")
    return _open(root, rebuild(root, say=say), store)


def _open_own(root: Path, say: Say) -> Catalogue | None:
    from kg import overlay

    try:
        folder = overlay.closure_folder(root, say=say)
        if folder is None:
            return None
        try:
            return _open(root, folder, None)
        except CatalogueError:
            return _open(root, overlay.closure_folder(root, say=say, damaged=True) or folder, None)
    except BoxlockError as e:
        say(f"{e.message} [{e.code}]; your own catalogue is left out, the shipped one answers")
        return None


def _open(root: Path, folder: Path, store: Store | None) -> Catalogue:
    stamp = closure.read_stamp(folder)
    catalogue = Catalogue(root, folder, stamp, store)
    if store is None:
        # Load at once: a damaged file must be found before the first answer, not during one.
        _ = catalogue.store
        closure.read(folder, closure.WORDS, stamp)
    return catalogue


def rebuild(root: Path, *, hermit: bool = True, say: Say = lambda _: None) -> Path:
    """Builds the closure into the package folder, or into the user's cache if that cannot be written. Returns the folder."""
    from kg import load
    from kg.build import build

    shipped = paths.generated_dir(root)
    try:
        build(root, shipped, hermit=hermit, say=say)
        return shipped
    except PermissionError:
        pass
    except OSError as e:
        if e.errno != errno.EROFS:
            raise CatalogueError("BL-C01", f"the closure cannot be written to {shipped}: {e.strerror}") from e
    cached = paths.cache_dir(load.input_hash(root))
    try:
        build(root, cached, hermit=hermit, say=say)
    except OSError as e:
        raise CatalogueError("BL-C01", f"the closure cannot be written to {cached}: {e.strerror}") from e
    return cached
