"""The open catalogue: what a user of the package holds. Opening needs no reasoner and no Java.

from kg import open_catalogue
catalogue = open_catalogue()
catalogue.ask("non-crushing clamps with longitudinal serration").matches
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from kg import closure, memory, paths
from kg.errors import CatalogueError, InputError, QueryError, QuestionError
from kg.records import replace
from kg.teaching import Teaching
from kg.vocabulary import Vocabulary

if TYPE_CHECKING:
    from kg.answer import Context
    from kg.answer.holding import Holding
    from kg.columns import Columns
    from kg.identify import Identification, Identifier
    from kg.language import Lexicon, Suggestion, Understood, nodes
    from kg.language.before import Before
    from kg.language.talk import Talk
    from kg.model import Answer, JawSketch
    from kg.store import Store
    from kg.store.sandbox import RawResult

Say = Callable[[str], None]
Result = TypeVar("Result")
MANY = 12
"""A process that asks so many questions will ask more."""
LARGEST_IN_MEMORY = 200_000_000
"""Quads of so many bytes or more (of some 12,000 patterns) go to a store on disk at once, and are asked there."""


class Catalogue(Teaching):
    """A closure, opened. Use ``kg.open_catalogue``.

    ``folder`` is where the closure lies; ``stamp`` what it was made from; ``vocabulary`` all terms.
    """

    def __init__(self, root: Path, folder: Path, stamp: closure.Stamp, store: Store | None = None) -> None:
        self.root = root
        self.folder = folder
        self.stamp = stamp
        self._given_store = store
        self._distrust_kept = False
        self._answered = 0
        self.exported: Path | None = None
        """The exported file that it was opened from (``kg.export``). Its store is not kept on disk between runs."""
        data = closure.read(folder, closure.VOCABULARY, stamp)
        try:
            self.vocabulary = Vocabulary.from_json(data)
        except (ValueError, KeyError, TypeError) as e:
            raise CatalogueError("BL-C02", f"the closure's vocabulary cannot be read ({e})", hint="Run: boxlock build") from e

    @cached_property
    def store(self) -> Store:
        """The store: the one given, or the closure loaded into memory. Raises CatalogueError (BL-C01, BL-C02)."""
        if self._given_store is not None:
            return self._given_store
        from kg.store.embedded import EmbeddedStore

        memory.need(memory.ANSWER, "An answer")
        if not self._distrust_kept and self._kept.is_dir() and memory.room() >= memory.THREADS:
            # The kept store was made from quads with the stamped digest, so the file need not be read again to trust it.
            closure.look(self.folder, closure.QUADS, self.stamp)
            try:
                return EmbeddedStore.open_folder(self._kept)
            except QueryError:
                _remove(self._kept)  # so that a whole one can be kept again
        large = self.stamp.sizes[closure.QUADS] > LARGEST_IN_MEMORY
        if large and not self.exported and not self._distrust_kept and memory.room() >= memory.THREADS:
            from kg.answer.sets import keep_sets

            quads = closure.check(self.folder, closure.QUADS, self.stamp)
            with suppress(OSError, QueryError):  # without room on the disk the memory has to do
                EmbeddedStore.make_folder(self._kept, quads)
                with suppress(InputError):  # then the store is asked for each set
                    keep_sets(self._kept, quads, self.vocabulary)
                return EmbeddedStore.open_folder(self._kept)
        return EmbeddedStore.from_quads(closure.read(self.folder, closure.QUADS, self.stamp))

    @property
    def quads_file(self) -> Path:
        """The closure's quads on disk, for queries that run in another process, where nothing looks at their digest again.

        Raises CatalogueError (BL-C01, BL-C02) if the file is not the stamped one, also where a kept store answers without it.
        """
        return closure.check(self.folder, closure.QUADS, self.stamp)

    def raw(self, query: str, *, seconds: float = 10) -> RawResult:
        """Runs a read-only SPARQL query as it was typed: in a process of its own, or on the server if the facts lie there.

        Raises QueryError (BL-Sxx) if it is refused, wrong or too costly.
        """
        if self._given_store is not None and self._given_store.far:
            from kg.store.remote import RemoteStore

            assert isinstance(self._given_store, RemoteStore)
            return self._given_store.raw(query, seconds=seconds)
        from kg.store.sandbox import run_raw

        return run_raw(self.quads_file, query, seconds=seconds)

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
        if memory.room() < memory.THREADS:
            return
        import contextlib

        with contextlib.suppress(OSError, QueryError):
            self.store.save_folder(self._kept)
            for other in self._kept.parent.glob("store-*"):
                if other != self._kept:
                    _remove(other)

    def _mistrust(self) -> bool:
        """Drops a kept store that cannot answer, and loads the closure instead. False if no kept store was in use."""
        if self._given_store is not None or getattr(self.store, "kept", None) is None:
            return False
        self._distrust_kept = True
        self.store.close()
        for name in ("store", "context", "identifier", "rehearsal", "marker", "_holding"):
            self.__dict__.pop(name, None)  # all that reads from the store
        _remove(self._kept)
        return True

    def _trusting(self, work: Callable[[], Result]) -> Result:
        """What the work gives; once more with the closure itself if a kept store cannot answer. Raises QueryError.

        A server may send what no closure holds (BL-S10).
        """
        try:
            return work()
        except QueryError:
            if not self._mistrust():
                raise
        except (LookupError, ValueError, TypeError, AttributeError) as fault:
            if not self.store.far:
                raise
            what = f"the answer of {self.store.name} does not fit this catalogue ({type(fault).__name__})"
            raise QueryError("BL-S10", what, hint="Publish the catalogue again: boxlock publish URL") from fault
        return work()

    def _settle(self) -> None:
        """After some questions in one process whose closure keeps no facts by property: the closure into memory, which answers
        faster than the kept store on disk, and all facts and phrases at once, which otherwise are read as they are needed.

        The kept store is for short runs; loading costs about as much as it saves in thirty questions.
        """
        self._answered += 1
        if self._answered != MANY or self._columns is not None or self.store.far or self.context.large:
            return
        import gc

        self._load()
        self.vocabulary.open_all()
        self.lexicon.open_all()
        with suppress(QueryError):  # then facts go on being read as they are needed
            self.context.reader.read_all()
        gc.collect()  # what was read stays: else a later question pays for the first walk through all of it

    def _load(self) -> None:
        """The closure into memory, if a kept store is in use."""
        if getattr(self.store, "kept", None) is None:
            return
        from kg.store.embedded import EmbeddedStore

        try:
            loaded = EmbeddedStore.from_quads(closure.read(self.folder, closure.QUADS, self.stamp))
        except CatalogueError:
            return  # the kept store was made from a whole closure, and goes on answering
        kept = self.store
        self.__dict__["store"] = loaded
        self.context.use(loaded)
        kept.close()

    @cached_property
    def lexicon(self) -> Lexicon:
        """The words of the language."""
        from kg.language import Lexicon

        return Lexicon.build(self.vocabulary, self._words, self._phrases)

    @cached_property
    def _phrases(self) -> bytes | None:
        """The phrases as the closure keeps them, to be read by line; None if it does not, and they have to be placed anew."""
        if closure.PHRASES not in self.stamp.files:
            return None
        return closure.read(self.folder, closure.PHRASES, self.stamp)

    @cached_property
    def _word_data(self) -> bytes:
        return closure.read(self.folder, closure.WORDS, self.stamp)

    def check_files(self) -> None:
        """Reads the files of words, phrases and facts, for a damaged one to be found now. Raises CatalogueError (BL-C01,
        BL-C02)."""
        _ = self._word_data, self._phrases, self._columns

    @cached_property
    def _words(self) -> dict:
        """The word file and the data files, as parsed."""
        return json.loads(self._word_data)

    @cached_property
    def context(self) -> Context:
        from kg.answer import Context

        return Context(self.vocabulary, self.store, self.lexicon, self.verified_by, self._words, self._columns)

    @cached_property
    def _columns(self) -> Columns | None:
        """The facts as the closure keeps them by property; None if it does not, or if the store is another's."""
        if not {closure.FACTS, closure.PATTERNS} <= self.stamp.files.keys() or self._given_store is not None:
            return None
        from kg.columns import Columns

        by_property, by_pattern = (closure.read(self.folder, n, self.stamp) for n in (closure.FACTS, closure.PATTERNS))
        try:
            return Columns(by_property, by_pattern)
        except ValueError:
            return None  # of another form: the store is asked

    @property
    def verified_by(self) -> str:
        """The engine that verified the closure, or a plain statement that none did."""
        return self.stamp.verified_by or "not verified by HermiT"

    def parse(self, text: str) -> nodes.Question:
        """Text -> question tree, for what is to be worked with: raises QuestionError also where only a part is understood."""
        found = self.understand(text, whole=True)
        if found.doubtful is not None:
            raise found.doubtful
        return found.question

    @cached_property
    def _holding(self) -> Holding | None:
        """Which patterns hold what, for completion; None where reading it fails or would take long: nothing is counted then."""
        from kg.answer.holding import Holding

        if self.context.large:
            return None
        try:
            return Holding(self.context)
        except QueryError:
            return None

    def suggest(self, text: str, cursor: int) -> list[Suggestion]:
        """Phrases that continue ``text`` at ``cursor``, as ``kg.suggest`` does, with how many instruments each would leave.

        In a question for a list those are left out that would leave none. Never raises.
        """
        from kg.language.suggest import LIMIT, before_cursor, suggest

        found = suggest(text, cursor, self.lexicon, limit=3 * LIMIT)
        out: list[Suggestion] = []
        holding: Holding | None = None  # read when it is needed
        within: dict[int, tuple[int | None, bool, bool]] = {}
        for item in found:
            if item.kind not in ("category", "value", "part", "kind"):
                out.append(item)
                continue
            if item.start not in within:
                holding = self._holding
                expr, absent, alternatives = before_cursor(text, item.start, self.lexicon)
                bits = holding.bits(expr) if expr is not None and holding is not None else None
                within[item.start] = (bits, absent, alternatives)
            bits, absent, alternatives = within[item.start]
            if bits is None or alternatives:
                out.append(item)
                continue
            count = holding.left(bits, item.term, absent) if item.term and holding is not None else None
            if count != 0 or not text[: item.start].strip():
                out.append(item._replace(count=count))
        listing = any(bits is not None for bits, _, _ in within.values()) and bool(text.strip())
        if listing:  # in a question for a list names come after what narrows it
            out.sort(key=lambda item: item.kind == "pattern")
        return out[:LIMIT]

    def understand(
        self, text: str, after: Answer | QuestionError | None = None, *, whole: bool = False, hand: bool = True
    ) -> Understood:
        """Text -> question tree, with the words passed over or, unless ``whole``, not understood. ``hand``: whether words that
        ask for a name make a description of an instrument in the hand. Raises QuestionError."""
        from kg.language import understand

        before = self.left_by(after) if isinstance(after, QuestionError) else before_of(after)
        return understand(text, self.lexicon, lambda: self.talk, before, whole=whole, hand=hand)

    def left_by(self, error: QuestionError) -> Before | None:
        """What a refused question leaves for the next: its readings, or the instrument it names; None if it names none."""
        from kg.language.left import left_by

        return before_of(error) or left_by(error.question, self.lexicon)

    @cached_property
    def talk(self) -> Talk:
        """How people talk round a question; read when a question needs it."""
        from kg.language.talk import read_talk

        return read_talk(self.root, self.lexicon)

    def ask(
        self,
        text: str,
        *,
        limit: int = 20,
        after: Answer | QuestionError | None = None,
        page: tuple[int, int] | None = None,
    ) -> Answer:
        """Answers a question. Raises QuestionError if it is not understood, QueryError if the store fails.

        ``limit``: how many are listed of the patterns that could match. ``page``: (first, size) of the matches to be listed,
        counted from 0, for "which" and "how many" in a large catalogue: ``match_count`` then says how many there are, and no
        disputes are worked out but those of the matches listed. None: all of them.

        ``after``: the answer to the question before in a conversation, or the error of one that was refused, with its readings
        or the instrument it names: "and the curved ones?", "which of those are crushing?", "how is it sterilised?" lean on it.
        """

        from kg.asking import ask
        from kg.called import with_other_names

        return with_other_names(self.vocabulary.terms, ask(self, text, limit=limit, after=after, page=page))

    def why(self, statement: str) -> Answer:
        """Argues a statement such as "Doyen intestinal clamp is a non-crushing clamp", or contrasts two patterns ("X but not Y
        is a clamp"). Raises QuestionError."""
        from kg.language import nodes, parse_statement

        found = parse_statement(statement, self.lexicon)
        if isinstance(found, nodes.Holds):
            denied = isinstance(found.expr, nodes.Not)
            found = nodes.Why(found.pattern, found.expr.expr if denied else found.expr, denied)
        return self.answer(found, statement)

    def answer(
        self, question: nodes.Question, text: str = "", *, limit: int = 20, page: tuple[int, int] | None = None
    ) -> Answer:
        """Answers a question tree, as ``ask`` does for text."""
        from kg.answer import answer
        from kg.language import nodes, say

        self._settle()
        reading = say(question, self.lexicon)
        if isinstance(question, nodes.Identify):
            from kg.unnamed import identified

            return identified(self, question, text, reading, limit)
        return self._trusting(
            lambda: self._finished(question, answer(self.context, question, text=text, reading=reading, limit=limit, page=page))
        )

    def _finished(self, question: nodes.Question, found: Answer) -> Answer:
        """With the tree of the question; a description or comparison also with what sketches the faces of the jaws."""
        found = replace(found, tree=question)
        if found.description is None and found.comparison is None:
            return found
        named = (found.description.name,) if found.description else getattr(question, "subjects", ())
        subjects = [n for n in named if self.vocabulary.terms[n].role == "pattern"]
        if not getattr(question, "parts", ()):
            return replace(found, sketched=lambda: self._sketches(subjects))
        told = {said.literal[0] for said in found.description.parts} if found.description else set()
        return replace(found, sketched=lambda: tuple(s for s in self._sketches(subjects) if s.slot in told))

    def _sketches(self, patterns: Sequence[str]) -> tuple[JawSketch, ...]:
        """The faces of the patterns' jaws; of several only where they differ."""
        from kg.draw.sketch import jaw_sketches

        try:
            made = self._trusting(lambda: jaw_sketches(self.root, self.vocabulary, self.context.reader, patterns))
        except CatalogueError:
            return ()  # a fault of the drawing table, which ``boxlock check`` tells, keeps no answer back
        return made if len(patterns) == 1 or len({s.plain for s in made}) > 1 else ()

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
        return self._trusting(lambda: Identifier(self.vocabulary, self.lexicon, self.context.reader, settings))

    def identify(self, seen: str, *, claim: str = "", limit: int = 10, strict: bool = False) -> Identification:
        """Which pattern it is, from a description of what is seen ("ring handles, box lock, curved, about 14 cm").

        ``claim``: the name of a pattern, to be argued for and against. What is not understood is set aside and named in the
        outcome with the nearest known words, as long as anything is understood; with ``strict`` it is refused. Raises
        QuestionError (BL-Qxx) with the place of what is not understood, in the description or in the name.
        """
        named = self.identifier.pattern_named(claim) if claim else ""
        aside: list[QuestionError] = []
        observations = self.identifier.observe(seen, None if strict else aside, None if strict else self.talk.unseen)
        outcome = self.identifier.identify(observations, claim=named, limit=limit)
        near = {seen[e.span[0] : e.span[1]]: e.near[0] if e.near else "" for e in aside}
        return replace(outcome, set_aside=tuple(near), nearest=tuple(near.values())) if near else outcome

    def close(self) -> None:
        if "store" in self.__dict__:
            self.store.close()


def _remove(folder: Path) -> None:
    """Removes a kept store, which may be a plain file by mistake, as far as that can be done."""
    import contextlib
    import shutil

    shutil.rmtree(folder, ignore_errors=True)
    with contextlib.suppress(OSError):
        folder.unlink()


def before_of(after: Answer | QuestionError | None) -> Before | None:
    """What went before, as the language wants it."""
    if after is None:
        return None
    from kg.language.before import Before
    from kg.language.nodes import LookAlikes

    if isinstance(after, QuestionError):
        return Before(readings=after.readings) if after.readings else None
    names = (
        [c.name for c in after.identification.candidates]
        if after.identification is not None
        else [m.name for m in after.matches]
    )
    if after.look_alikes:
        names = [a.name for a in after.look_alikes]
    if after.kind == "telling" and after.listed:  # "how do I tell them apart?" after look-alikes, "which of them ...?"
        return Before(LookAlikes(after.tree.subject), after.listed, shown=after.listed, text=after.question)
    folded = {m.name for m in after.matches if m.variant_of in names}
    return Before(
        after.tree,
        tuple(names),
        shown=tuple(n for n in names if n not in folded),
        text=after.question,
        wider=after.wider,
        others=after.others,
        listed=after.listed,
        values=_told(after) or _ranked_first(after),
        alike=after.identification.alike if after.identification is not None else 0,
    )


def _told(after: Answer) -> tuple[str, ...]:
    """The values that an answer told as adopted; else the only one that it told, if some are made with it."""
    told = tuple(v.label for v in after.values or () if v.status == "adopted")
    return told or tuple(v.label for v in after.values or () if v.status == "made with" and len(after.values or ()) == 1)


def _ranked_first(after: Answer) -> tuple[str, ...]:
    """What a ranking names first, with all of the same rank."""
    groups = after.groups or ()
    first = after.kind == "tally" and getattr(after.tree, "pick", "") in ("most", "fewest") and bool(groups)
    return tuple(g.value for g in groups if g.count == groups[0].count) if first else ()
