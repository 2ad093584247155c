"""What a person says of the instrument in the hand -> observations. The words are those of the question language.

A description is cut at commas. Each piece is read as a description of instruments by the question language, whole if it
can be, else the longest stretches that can; words of seeing and saying ("it has", "about") are passed over. ``NAME=VALUE``
with names, labels or phrases is understood as well. What is not understood is an error with its place, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from kg import names
from kg.errors import QuestionError
from kg.identify.rows import row
from kg.identify.slots import slots_of
from kg.identify.wordings import Wordings
from kg.language import Lexicon, nodes, parse
from kg.language.entries import CONTENT
from kg.language.partial import partial
from kg.language.tokens import NUMBER, Token, scan, tokenise
from kg.truth import Form, normalise

_CUT = re.compile(r"[,;\n]")
_OPENERS = frozenset({"kw.and", "kw.but", "kw.have", "kw.be", "kw.that", "filler"})
_JOINTS = _OPENERS | {"kw.with", "kw.do", "kw.of", "kw.place", "kw.instrument"}
_ID = re.compile(r"[a-z]+:\w+|[A-Za-z]\w*")
LONGEST = 16
"""A stretch read at once has at most so many words, so that the time grows with the text and not with its square."""
MOST = 60
"""So many observations are taken; more is no description of one instrument."""
MOST_NAMED = 6
"""A word in the names of more instruments than this says too little."""
MOST_ASIDE = 12
"""A text of which more is not understood is not in this language."""


@dataclass(frozen=True)
class Observation:
    """One thing seen. ``text`` as it was said; ``slots`` what it speaks of."""

    text: str
    expr: nodes.Expr
    form: Form
    slots: tuple[str, ...]


class Speech:
    """How people speak of a thing in their hand. ``skip``: phrases passed over wherever they are no part of a term.

    ``means``: short ways of speaking, each with a description that the question language knows. ``dull``: articles and "of".
    ``wordings``: other wordings of what is recorded, heard where the question language stops short. ``alike``: rows of values
    that people do not tell apart. ``seen_before``: uses have this place in a description or a later one.
    """

    def __init__(
        self,
        lexicon: Lexicon,
        skip: Iterable[str] = (),
        means: Mapping[str, str] | None = None,
        wordings: Wordings | None = None,
        alike: Iterable[Sequence[str]] = (),
        seen_before: int = 80,
    ) -> None:
        self.lexicon = lexicon
        self.seen_before = seen_before
        self.alike = {value: tuple(row) for row in alike for value in row}
        self.wordings = wordings
        self.dull = frozenset((*lexicon.words.articles, *lexicon.words.keywords["of"]))
        self.skip = sorted({self.keys(s) for s in skip}, key=lambda k: (-len(k), k))
        self.means = {self.bare(self.keys(short)): full for short, full in (means or {}).items()}

    def keys(self, text: str) -> tuple[str, ...]:
        """The words of a text as the lexicon folds them."""
        return tuple(t.key for t in self.lexicon.keyed(tokenise(text)))

    @cached_property
    def called(self) -> dict[str, tuple[str, ...]]:
        """The last word of names of instruments -> the instruments; of "clamp with cross-hatched jaws", what stands before
        "with"."""
        out: dict[str, list[str]] = {}
        words = self.lexicon.words.keywords
        behind = {w for kind in ("with", "without", "of") for w in words[kind] if " " not in w}
        for term in self.lexicon.vocabulary.by_role("pattern"):
            names = [_before(name, behind) for name in (term.label, *term.alt)]
            for key in dict.fromkeys(self.lexicon.folder.phrase(name)[-1] for name in names):
                out.setdefault(key, []).append(term.name)
        return {key: tuple(found) for key, found in out.items()}

    @cached_property
    def in_names(self) -> dict[str, tuple[str, ...]]:
        """A word in names of instruments that is no one's name -> the instruments: "lion", "sweetheart"."""
        out: dict[str, set[str]] = {}
        people: set[str] = set()
        for term in self.lexicon.vocabulary.by_role("pattern"):
            for name in (term.label, *term.alt):
                for word in re.findall(r"[^\W\d]+", name):
                    key = self.lexicon.folder.key(word.casefold())
                    if not word.islower():
                        people.add(key)
                    elif len(word) > 3:
                        out.setdefault(key, set()).add(term.name)
        return {key: tuple(sorted(found)) for key, found in out.items() if key not in people}

    def bare(self, keys: Iterable[str]) -> tuple[str, ...]:
        """Keys without articles and "of": "the distal half of the jaw" is "distal half jaw"."""
        return tuple(k for k in keys if k not in self.dull)


def observe(
    text: str,
    lexicon: Lexicon,
    speech: Speech | None = None,
    aside: list[QuestionError] | None = None,
    vague: Container[str] | None = None,
) -> tuple[Observation, ...]:
    """The observations of a description, in order, each once. Raises QuestionError (BL-Q01 to BL-Q08) with the place.

    ``aside``: what is not understood is put there instead of being raised, as long as anything else is understood; after a
    word of absence the rest of a piece goes with it, so that "no ... teeth" never becomes "teeth". ``vague``: if given, a word
    that stands only inside the names of values means any of them ("oval"), unless it is one of these.
    """
    speech = speech or Speech(lexicon)
    found: list[Observation] = []
    tokenise(text)  # refuses what is empty, too long or full of odd characters
    start = 0
    for cut in [*_CUT.finditer(text), None]:
        end = cut.start() if cut else len(text)
        if text[start:end].strip(" .!?\t"):
            found += _Piece(text, start, end, lexicon, speech, aside, vague).read()
        start = cut.end() if cut else end
    if not found and aside:
        raise aside[0]
    if not found:
        raise QuestionError("BL-Q01", "Nothing that can be seen was said.", question=text, span=(0, len(text)), hint=_HINT)
    unique: dict[nodes.Expr, Observation] = {}
    for item in found:
        unique.setdefault(item.expr, item)
    if len(unique) > MOST:
        raise QuestionError("BL-Q07", f"That is more than {MOST} features.", question=text, span=(0, len(text)))
    return tuple(unique.values())


_HINT = "Say what you see, piece by piece, with commas between."


class _Piece:
    """One stretch of the text between commas."""

    def __init__(
        self,
        text: str,
        start: int,
        end: int,
        lexicon: Lexicon,
        speech: Speech,
        aside: list[QuestionError] | None,
        vague: Container[str] | None,
    ) -> None:
        self.text = text
        self.start, self.end = start, end
        self.lexicon = lexicon
        self.speech = speech
        self.aside = aside
        self.vague = vague

    def read(self) -> list[Observation]:
        try:
            pair = self._pair()
        except QuestionError as error:
            self._refuse(error)
            return []
        if pair is not None:
            return [self._observation(pair, self.start, self.end)]
        tokens = self._tokens()
        out: list[Observation] = []
        missing: dict[int, QuestionError] = {}
        at = 0
        while at < len(tokens):
            opened = self._joint(tokens, at, _OPENERS)
            if opened:
                at = opened
                continue
            if self.vague is not None and (each := row(tokens, at, self.lexicon, self._read)):
                out += [self._observation(e, tokens[at].start, tokens[at + len(each)].end) for e in each]
                at += len(each) + 1
                continue
            taken = self._heard(tokens, at, self._longest(tokens, at))
            if taken is None:
                past = self._joint(tokens, at, _JOINTS)
                if (
                    not past
                    and self.vague is not None
                    and (any_of := partial(tokens[at], self.lexicon, self.vague)) is not None
                ):
                    out.append(self._observation(any_of, tokens[at].start, tokens[at].end))
                    at += 1
                    continue
                if not past:
                    self._refuse(self._not_understood(tokens, at))
                    if self.aside:
                        missing[at] = self.aside[-1]
                    if self.aside and self._absence(tokens, at):
                        self.aside[-1].span, self.aside[-1].near = (tokens[at].start, tokens[-1].end), ()
                        break
                    past = at + 1
                at = past
                continue
            expr, stop = taken
            whole = isinstance(expr, nodes.Has) and expr.feature in self.lexicon.words.of_whole
            if whole and stop == at + 1 and self.lexicon.of_a_thing(tokens, at):
                at = stop
                continue
            a, b = tokens[at].start, tokens[stop - 1].end
            items = _items(expr)
            if self.vague is not None and all(o.text and isinstance(o.expr, nodes.Has) for o in out):
                items = self._made_of(tokens, at, items)
            out += [self._observation(e, a, b) for e in items]
            at = stop
        return out + self._pieced(tokens, missing)

    def _of_another(self, tokens: Sequence[Token], at: int) -> bool:
        """Whether an adjective of the whole instrument stands last before a place and says how the thing there is ("a small
        hook")."""
        last = (e for _, es in self.lexicon.matches(tokens[:at], at - 1) for e in es)
        return at < len(tokens) and any(map(self.lexicon.of_whole, last)) and self.lexicon.of_a_thing(tokens, at - 1)

    def _heard(self, tokens: Sequence[Token], at: int, read: tuple[nodes.Expr, int] | None) -> tuple[nodes.Expr, int] | None:
        """What is read from here, or another wording of what is recorded if that takes more words."""
        wordings = self.speech.wordings
        if wordings is None or self.vague is None or (heard := wordings.longest(tokens, at)) is None:
            return read
        if tokens[at].key in self.vague if heard[1] == at + 1 else self._of_another(tokens, heard[1]):
            return read  # "a curved blade on a long handle"
        return read if read is not None and read[1] >= heard[1] else heard

    def _made_of(self, tokens: Sequence[Token], at: int, items: list[nodes.Expr]) -> list[nodes.Expr]:
        """A thing that is called by a noun of what instruments are used on ("a wire with two handles") is not used on it: the
        noun then means any value or name in which it stands, or nothing."""
        features, order = self.lexicon.vocabulary.features, self.speech.seen_before
        if (at and self.text[self.start : tokens[at].start].strip()) or any(isinstance(i, nodes.IsA | nodes.Or) for i in items):
            return items
        for end, entries in self.lexicon.matches(tokens, at):
            for i, item in enumerate(items):
                if not (isinstance(item, nodes.Has) and features[item.feature].order >= order):
                    continue
                if any(e.term == item.value for e in entries) and self._noun_ends(tokens, end):
                    noun = tokens[end - 1]
                    named = self.speech.in_names.get(noun.key, ())
                    meant = [m for m in (partial(noun, self.lexicon, self.vague or ()), *map(nodes.Named, named)) if m]
                    instead = [nodes.Or(tuple(meant)) if len(meant) > 1 else meant[0]] if meant else []
                    return [*items[:i], *instead, *items[i + 1 :]]
        return items

    def _noun_ends(self, tokens: Sequence[Token], end: int) -> bool:
        """Whether a noun ends here: the piece does, or "with" or "that" follows."""
        kinds = {e.kind for _, es in self.lexicon.matches(tokens, end) for e in es} if end < len(tokens) else {"kw.with"}
        return not kinds.isdisjoint({"kw.with", "kw.that", "kw.have", "kw.whose"})

    def _pieced(self, tokens: Sequence[Token], missing: dict[int, QuestionError]) -> list[Observation]:
        """What the words that are not understood say together with others of the piece, or by themselves; they are then no
        longer missing."""
        wordings = self.speech.wordings
        if wordings is None or self.vague is None or self.aside is None:
            return []
        out: list[Observation] = []
        for expr, places in wordings.scattered(tokens, missing):
            out.append(self._observation(expr, tokens[min(places)].start, tokens[max(places)].end))
            for i in places:
                if i in missing:
                    self.aside.remove(missing.pop(i))
        for i, error in missing.items():
            named = () if tokens[i].key in self.vague else self.speech.in_names.get(tokens[i].key, ())
            if 0 < len(named) <= MOST_NAMED and error.span == (tokens[i].start, tokens[i].end):
                named_so = nodes.Or(tuple(map(nodes.Named, named))) if len(named) > 1 else nodes.Named(named[0])
                out.append(self._observation(named_so, *error.span))
                self.aside.remove(error)
        return out

    def _refuse(self, error: QuestionError) -> None:
        if self.aside is None or len(self.aside) >= MOST_ASIDE or error.code in ("BL-Q06", "BL-Q07", "BL-Q08"):
            raise error
        self.aside.append(error)

    def _absence(self, tokens: Sequence[Token], at: int) -> bool:
        """True if a word of absence stands here: what it denies is not understood, so the rest of the piece is of no use."""
        kinds = ("kw.no", "kw.not", "kw.without", "kw.neither", "kw.nor", "kw.except")
        return any(e.kind in kinds for _, entries in self.lexicon.matches(tokens, at) for e in entries)

    def _tokens(self) -> list[Token]:
        """The words of the piece with their places in the whole text, without what is passed over."""
        window = " " * self.start + self.text[self.start : self.end]
        tokens = self.lexicon.keyed(tokenise(window))
        out: list[Token] = []
        at = 0
        while at < len(tokens):
            term = next((end for end, es in self.lexicon.matches(tokens, at) if any(e.kind in CONTENT for e in es)), at)
            word = next((len(s) for s in self.speech.skip if tuple(t.key for t in tokens[at : at + len(s)]) == s), 0)
            if word and at + word >= term:
                at += word
                continue
            end = max(term, at + 1)
            out += tokens[at:end]
            at = end
        return out

    def _longest(self, tokens: Sequence[Token], at: int) -> tuple[nodes.Expr, int] | None:
        """The longest stretch from here that is a description, and where it ends."""
        for stop in range(min(len(tokens), at + LONGEST), at, -1):
            if stop > at + 1 and self._of_another(tokens, stop):
                continue
            words = self._said(tokens[at:stop])
            short = self.speech.means.get(self.speech.bare(t.key for t in tokens[at:stop]))
            if short and (expr := self._parsed(short)) is not None:
                return expr, stop
            # What is had comes first: "straight blades" are then blades that are straight, not a family of that name.
            frames = (self.lexicon.word("with") + " ", "", self.lexicon.word("instrument") + " ")
            if self._says_how(tokens, at):
                frames = ("", *frames)
            for frame in frames[:1] if self._part_or_family(tokens, at, stop) else frames:
                expr = self._parsed(frame + words)
                if expr is not None:
                    return expr, stop
        return None

    def _says_how(self, tokens: Sequence[Token], at: int) -> bool:
        """Whether a word says how something is ("light forceps") that behind "with" would be what it has ("with a light")."""
        had = scan(f"{self.lexicon.word('with')} {tokens[at].key}")
        if not all(
            any(e.kind == "value" for _, es in self.lexicon.matches(*way) for e in es) for way in ((tokens, at), (had, 0))
        ):
            return False
        before = scan(self.text[: tokens[at].start])[-1:]
        return not (before and before[0].key in self.speech.dull and at + 1 == len(tokens))

    def _part_or_family(self, tokens: Sequence[Token], at: int, stop: int) -> bool:
        """True if a word of the stretch is a part as well as an everyday name of a family: on a piece it is the part. Behind
        "with" it is a part anyway."""
        for i in range(at, stop):
            if i > at and {"kw.with", "kw.have", "kw.whose"} & {
                e.kind for _, es in self.lexicon.matches(tokens, i) for e in es
            }:
                return False
            kinds = {e.kind for end, entries in self.lexicon.matches(tokens, i) if end <= stop for e in entries}
            if {"part", "group"} <= kinds:
                return True
        return False

    def _said(self, tokens: Sequence[Token]) -> str:
        """The words of tokens as typed; words that were passed over between them are left out."""
        out, last, end = "", -1, -1
        for token in tokens:
            if token.start == last:
                continue  # a joined word gives several tokens with one place
            out += ("" if not out or token.start == end else " ") + self.text[token.start : token.end]
            last, end = token.start, token.end
        return out

    def _read(self, tokens: Sequence[Token]) -> nodes.Expr | None:
        return self._parsed(self._said(tokens))

    def _parsed(self, text: str) -> nodes.Expr | None:
        try:
            question = parse(text, self.lexicon)
        except QuestionError as error:
            if error.code == "BL-Q06":
                raise
            return None
        if not isinstance(question, nodes.Filter):
            return None
        return question.expr if not _names_pattern(question.expr) or self._plain_name(question.expr, text) else None

    def _plain_name(self, expr: nodes.Expr, text: str) -> bool:
        """Whether an instrument is called by what it is, not after anyone: "wire saw", "ear speculum"."""
        if not isinstance(expr, nodes.Named) or self.vague is None:
            return False
        phrase, said = self.lexicon.folder.phrase, self.lexicon.folder.phrase(text)
        term = self.lexicon.vocabulary.terms[expr.pattern]
        return any(n.islower() and phrase(n) == said for n in (term.label, *term.alt))

    def _joint(self, tokens: Sequence[Token], at: int, kinds: frozenset[str]) -> int:
        """The end of a function word of these kinds, which says nothing by itself; 0 if none stands here."""
        found = self.lexicon.matches(tokens, at)
        if not found or any(e.kind in CONTENT for _, entries in found for e in entries):
            return 0
        end = next((end for end, entries in found if any(e.kind in kinds for e in entries)), 0)
        # "over 14 cm" and "up to 14 cm" compare; "over the jaw" says only where.
        return 0 if end and end < len(tokens) and tokens[end].kind == NUMBER and kinds is _OPENERS else end

    def _not_understood(self, tokens: Sequence[Token], at: int) -> QuestionError:
        """The language's own error for the stretch from here, with its place in the whole text."""
        found = self.lexicon.matches(tokens, at)
        stop = found[0][0] if found else at + 1
        span = (tokens[at].start, tokens[stop - 1].end)
        shown = self.text[span[0] : span[1]]
        shown = shown if len(shown) <= 60 else shown[:60] + "…"
        if any(e.kind == "pattern" for _, entries in found for e in entries):
            return QuestionError(
                "BL-Q03",
                f'"{shown}" is the name of an instrument, not something seen on it.',
                question=self.text,
                span=span,
                hint="Say what you see. A name someone gave can be argued for and against: --claim NAME.",
            )
        words = self._said(tokens[at:])
        try:
            parse(words, self.lexicon)
        except QuestionError as error:
            if error.code == "BL-Q05":
                return self._ambiguous(error, words, tokens, at)
            first = error.span[0] == 0
            return QuestionError(
                error.code if error.code in ("BL-Q02", "BL-Q04", "BL-Q07") else "BL-Q03",
                error.message if first else f'"{shown}" is not understood as something seen.',
                question=self.text,
                span=span,
                near=error.near if first else (),
                hint=_HINT,
            )
        return QuestionError(
            "BL-Q03", f'"{shown}" is a question, not something seen.', question=self.text, span=span, hint=_HINT
        )

    def _ambiguous(self, error: QuestionError, words: str, tokens: Sequence[Token], at: int) -> QuestionError:
        before, after = self.text[: tokens[at].start], self.text[tokens[-1].end :]
        readings = tuple(f"{before}{r}{after}" for r in error.readings)
        span = (tokens[at].start, tokens[-1].end)
        return QuestionError(error.code, error.message, question=self.text, span=span, readings=readings, hint=_HINT)

    # --- NAME=VALUE ---------------------------------------------------------------------------------------------------
    def _pair(self) -> nodes.Expr | None:
        """``feature=value`` with short names, labels or phrases; None if there is no equals sign."""
        piece = self.text[self.start : self.end]
        left, sign, right = piece.partition("=")
        key, value = left.strip(), right.strip()
        if not sign or not key or not value:
            return None
        vocabulary = self.lexicon.vocabulary
        slot = self._named(key, ("feature", "part"))
        if slot is None:
            return None  # the question language may know it; if not, it says what is wrong
        at = self.start + piece.index("=") + 1
        at += len(self.text[at : self.end]) - len(self.text[at : self.end].lstrip())
        if slot == names.LENGTH:
            expr = self._parsed(value)
            if isinstance(expr, nodes.Length):
                return expr
            raise self._bad_value(value, at, key, ("14 cm",))
        if vocabulary.terms[slot].role == "part":
            return self._part_value(slot, value, at, key)
        listed = self.lexicon.values_feature(slot)
        found = self._named(value, ("value",), listed)
        if found is None:
            expr = self._parsed(f"{self.lexicon.name(slot)} {self.lexicon.word('be')} {value}")
            if isinstance(expr, nodes.Has | nodes.Not | nodes.Or):
                return expr
            labels = tuple(vocabulary.label(v) for v in vocabulary.values_of(listed))[:8]
            raise self._bad_value(value, at, key, labels)
        return nodes.Has(slot, found)

    def _part_value(self, part: str, value: str, at: int, key: str) -> nodes.Expr:
        words = self.lexicon.words.keywords
        said = value.casefold()
        if said in (*words["have"], "yes", "there", "present", "true"):
            return nodes.HasPart(part)
        if said in (*words["no"], *words["without"], "none", "absent", "false", "not there"):
            return nodes.Not(nodes.HasPart(part))
        raise self._bad_value(value, at, key, ("yes", "no"))

    def _bad_value(self, value: str, at: int, key: str, expected: tuple[str, ...]) -> QuestionError:
        return QuestionError(
            "BL-Q03",
            f'"{value[:60]}" is no value of "{key[:60]}".',
            question=self.text,
            span=(at, at + len(value)),
            near=self.lexicon.near(value.split()[0]),
            expected=expected,
        )

    def _named(self, text: str, roles: Iterable[str], feature: str = "") -> str | None:
        """The term with this short name (the prefix may be left out), label or phrase; None if there is none."""
        vocabulary, roles = self.lexicon.vocabulary, tuple(roles)

        def fits(name: str) -> bool:
            if name == names.LENGTH:
                return "feature" in roles
            term = vocabulary.terms.get(name)
            return term is not None and term.role in roles and (not feature or term.feature == feature)

        if _ID.fullmatch(text):
            for name in (text, f"bl:{text}", f"kind:{text}"):
                if fits(name):
                    return name
        found = [e.term for e in self.lexicon.resolve(e for e in self.lexicon.entries(text) if fits(e.term))]
        if not found and feature:
            # A label that several features share, or one that is no phrase of its own.
            found = [v for v in vocabulary.values_of(feature) if vocabulary.label(v).casefold() == text.casefold()]
        return found[0] if len(found) == 1 else None

    def _observation(self, expr: nodes.Expr, start: int, end: int) -> Observation:
        vocabulary = self.lexicon.vocabulary
        form = normalise(expr, vocabulary)
        said = self.text[start:end].strip()
        slots = slots_of(form, vocabulary)
        return Observation(said, expr, normalise(self._or_called(self._wider(expr), said), vocabulary), slots)

    def _or_called(self, expr: nodes.Expr, said: str) -> nodes.Expr:
        """Or an instrument whose name ends in the word that was said: a "clamp" may be one by name only."""
        match expr:
            case nodes.IsA(name) | nodes.HasPart(name) | nodes.Has(_, name):
                terms = (name,)
            case nodes.Or(items) if all(isinstance(i, nodes.IsA | nodes.HasPart | nodes.Has | nodes.Named) for i in items):
                terms = tuple(n for i in items if (n := _term(i)))
            case _:
                return expr
        label, folder = self.lexicon.vocabulary.label, self.lexicon.folder
        last = {folder.phrase(label(t))[-1:] for t in terms}
        keys = self.speech.keys(said)
        heads = {h for k in keys if (k,) in last or len(terms) > 1 for h in self.speech.called.get(k, ())}
        whole = folder.phrase(label(terms[0])) if len(terms) == 1 else ()
        if len(whole) > 1 and {*whole} <= {*keys}:  # a "nasal speculum" is no other speculum
            named = self.lexicon.vocabulary.terms
            heads = {h for h in heads if any(_ends(folder.phrase(n), whole) for n in (named[h].label, *named[h].alt))}
        return nodes.Or((expr, *map(nodes.Named, sorted(heads)))) if heads else expr

    def _alike(self, values: Sequence[str]) -> nodes.Expr | None:
        """Any of these values and of those that people do not tell from them; None if that is only one."""
        terms = self.lexicon.vocabulary.terms
        same = dict.fromkeys(v for value in values for v in self.speech.alike.get(value, (value,)) if v in terms)
        meant = [nodes.HasPart(v) if terms[v].role == "part" else nodes.Has(terms[v].feature, v) for v in same]
        return nodes.Or(tuple(meant)) if len(meant) > 1 else None

    def _wider(self, expr: nodes.Expr) -> nodes.Expr:
        """The same, as loosely as people speak: a "blade" may be any part that is called some kind of blade, and what is
        called by a family's everyday word belongs to it, whatever the definition of the family says."""
        vocabulary = self.lexicon.vocabulary
        match expr:
            case nodes.Has(_, value) | nodes.HasPart(value) if value in self.speech.alike:
                return self._alike([value]) or expr
            case nodes.Or(items) if all(isinstance(i, nodes.Has) for i in items):
                return self._alike([i.value for i in items if isinstance(i, nodes.Has)]) or expr
            case nodes.Not(inner):
                return nodes.Not(self._wider(inner))
            case nodes.And(items):
                return nodes.And(tuple(map(self._wider, items)))
            case nodes.HasPart(part):
                word = self.lexicon.folder.phrase(vocabulary.label(part))
                same = [t.name for t in vocabulary.by_role("part") if _ends(self.lexicon.folder.phrase(t.label), word)]
                return nodes.Or(tuple(map(nodes.HasPart, same))) if len(same) > 1 else expr
            case nodes.Or(items) if all(isinstance(i, nodes.IsA) for i in items):
                meant = {i.category for i in items if isinstance(i, nodes.IsA)}
                words = [w for w, terms in self.lexicon.words.groups.items() if meant == set(terms) & set(vocabulary.terms)]
                keys = [self.lexicon.folder.phrase(w) for w in words]
                called = [
                    t.name
                    for t in vocabulary.by_role("pattern")
                    if any(_ends(self.lexicon.folder.phrase(t.label), k) for k in keys)
                ]
                return nodes.Or((*items, *map(nodes.Named, called)))
        return expr


def _before(name: str, words: Container[str]) -> str:
    """What stands in a name before the first of these words, or before a comma; the whole if nothing does."""
    said = name.partition(",")[0].split()
    return " ".join(said[: next((i for i, w in enumerate(said) if i and w.casefold() in words), len(said))]) or name


def _term(expr: nodes.Expr) -> str:
    match expr:
        case nodes.IsA(name) | nodes.HasPart(name) | nodes.Has(_, name):
            return name
    return ""


def _ends(phrase: Sequence[str], word: Sequence[str]) -> bool:
    return tuple(phrase[-len(word) :]) == tuple(word)


def _items(expr: nodes.Expr) -> tuple[nodes.Expr, ...]:
    """The conditions that hold at once; "instruments" alone says nothing."""
    if isinstance(expr, nodes.Everything):
        return ()
    return expr.items if isinstance(expr, nodes.And) else (expr,)


def _names_pattern(expr: nodes.Expr) -> bool:
    match expr:
        case nodes.Named() | nodes.CalledAfter() | nodes.Begins() | nodes.Recorded():
            return True  # a name and a gap in the record are nothing that can be seen
        case nodes.Not(inner):
            return _names_pattern(inner)
        case nodes.Or(items) if len(items) > 1 and all(isinstance(i, nodes.Named) for i in items):
            return False  # a word in which the names of several end
        case nodes.And(items) | nodes.Or(items):
            return any(map(_names_pattern, items))
    return False
