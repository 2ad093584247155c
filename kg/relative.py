"""A list by what an instrument has in common with a named one ("clamps with the same joint as the Kelly"), or by its length
("scissors longer than a Mayo"): what is recorded of the one named is put in its place, and told.

Only where the grammar does not read the text as it stands: "is the Kelly longer than the Crile?" compares the two. The words
stand in ``[relative]`` of the word file.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from kg.errors import QuestionError
from kg.language import nodes, parse
from kg.language.lexicon import LENGTH, Lexicon
from kg.language.phrasing import Phrasing
from kg.language.tokens import Token, scan
from kg.vocabulary import Vocabulary
from kg.wording import plural

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer
    from kg.truth import Known

_YES_OR_NO = frozenset({"kw.be", "kw.do", "kw.have"})
_OPS = {">": 1, "<": 0, ">=": 0, "<=": 1}
"""Comparison -> which end of the named one's lengths it is meant of: longer than its longest size."""


class Put(NamedTuple):
    """``text``: the question with what is recorded in the place of the name; ``told``: what was put there."""

    text: str
    told: str


class _Named(NamedTuple):
    """The instrument that a comparison names; ``start`` and ``end`` in characters, the words of the comparison with it."""

    pattern: str
    start: int
    end: int


def put_in_place(catalogue: Catalogue, text: str, *, after: Answer | None = None) -> Put | None:
    """The question with what is recorded of the named instrument; None if it compares with none, or asks for a yes or no.
    ``after``: the answer that it follows.

    Raises QuestionError (BL-Q11) if nothing is recorded of it to compare with.
    """
    lexicon = catalogue.lexicon
    words = lexicon.words.relative
    tokens = lexicon.keyed(scan(text))
    keys = [t.key for t in tokens]
    same, measuring = set(words.get("same", ())), set(words.get("measuring", ()))
    if same.isdisjoint(keys) and measuring.isdisjoint(keys):
        return None
    first = {e.kind for _, es in lexicon.matches(tokens, 0) for e in es} if tokens else {""}
    if not first or (first & _YES_OR_NO and "kw.exist" not in first) or _read(text, lexicon):
        return None
    it = _spoken_of(after, lexicon) if after is not None else ""
    for at, key in enumerate(keys):
        if key in same and at and (found := _shared(catalogue, text, tokens, at, it, after is not None and not it)) is not None:
            return found
        if at and (found := _measured(catalogue, text, tokens, at, it)) is not None:
            return found
    return None


def _read(text: str, lexicon: Lexicon) -> bool:
    try:
        parse(text, lexicon)
    except QuestionError:
        return False
    return True


def _measured(catalogue: Catalogue, text: str, tokens: Sequence[Token], at: int, it: str) -> Put | None:
    """ "longer than a Mayo" at token ``at``: with its length in the place of the name."""
    lexicon = catalogue.lexicon
    measuring = lexicon.words.relative.get("measuring", ())
    for phrase in lexicon.words.relative.get("equal", ()):
        end = at + len(key := lexicon.keys(phrase))
        if tuple(t.key for t in tokens[at:end]) == key and (named := _name(lexicon, text, tokens, end, it)) is not None:
            length = known_of(catalogue, named.pattern, LENGTH).length
            if length is None:
                raise _not_recorded(lexicon, LENGTH, named, text)
            return Put(
                f"{text[: tokens[at].start]}{_between(length, lexicon)}{text[named.end :]}",
                length_told(lexicon, named.pattern, length),
            )
    for end, entries in lexicon.matches(tokens, at):
        ops = [e.term for e in entries if e.kind.startswith("op.") and e.term in _OPS]
        if (
            not ops
            or tokens[at].key in lexicon.words.relative.get("bare", ())
            or tokens[end - 1].key not in measuring
            or (named := _name(lexicon, text, tokens, end, it)) is None
        ):
            continue
        length = known_of(catalogue, named.pattern, LENGTH).length
        if length is None:
            raise _not_recorded(lexicon, LENGTH, named, text)
        size = f"{length[_OPS[ops[0]]]:g} {lexicon.words.units['mm'].phrases[0]}"
        return Put(f"{text[: tokens[end - 1].end]} {size}{text[named.end :]}", length_told(lexicon, named.pattern, length))
    return None


def _between(length: tuple[float, float], lexicon: Lexicon) -> str:
    unit, (low, high) = lexicon.words.units["mm"].phrases[0], (f"{n:g}" for n in length)
    return f"{lexicon.words.lengths['between'][0]} {low} {unit} {lexicon.words.lengths['to'][0]} {high} {unit}"


def length_told(lexicon: Lexicon, pattern: str, length: tuple[float, float]) -> str:
    """ "Kelly forceps: length 127 to 177.8 mm, over all sizes made." """
    made = f"{length[0]:g} mm" if length[0] == length[1] else f"{length[0]:g} to {length[1]:g} mm, over all sizes made"
    return f"{lexicon.vocabulary.label(pattern)}: {lexicon.vocabulary.label(LENGTH)} {made}."


def _shared(catalogue: Catalogue, text: str, tokens: Sequence[Token], at: int, it: str, after: bool) -> Put | None:
    """ "the same joint as the Kelly", with "same" at token ``at``: with the joint of the Kelly in its place."""
    lexicon = catalogue.lexicon
    words = lexicon.words.relative
    for end, features in _features(lexicon, tokens, at + 1):
        if end >= len(tokens) or tokens[end].key not in words.get("as", ()):
            continue
        named = _name(lexicon, text, tokens, end + 1, it)
        if named is None:
            continue
        facts = [(f, known_of(catalogue, named.pattern, f)) for f in features]
        feature, found = next(((f, x) for f, x in facts if _values(f, x, lexicon.vocabulary)), facts[0])
        if feature == LENGTH and (length := found.length) is not None:
            before = _before(lexicon, text, tokens, at, after)
            return Put(f"{before} {_between(length, lexicon)}{text[named.end :]}", length_told(lexicon, named.pattern, length))
        values = _values(feature, found, lexicon.vocabulary)
        if not values:
            raise _not_recorded(lexicon, feature, named, text)
        each = [nodes.Has(feature, v) for v in values]
        clause = Phrasing(lexicon).clause(each[0] if len(each) == 1 else nodes.Or(tuple(each)))
        told = ", ".join(lexicon.vocabulary.label(v) for v in values)
        label = lexicon.vocabulary.label
        return Put(
            f"{_before(lexicon, text, tokens, at, after)} {clause}{text[named.end :]}",
            f"{label(named.pattern)}: {label(feature)} {told}.",
        )
    return None


def _spoken_of(after: Answer, lexicon: Lexicon) -> str:
    """The one instrument that an answer is about; empty if there is none."""
    name = getattr(after.tree, "pattern", "") or getattr(after.tree, "subject", "")
    term = lexicon.vocabulary.terms.get(name) if isinstance(name, str) else None
    return name if term is not None and term.role == "pattern" else ""


def _features(lexicon: Lexicon, tokens: Sequence[Token], at: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    """(end, features) of the phrases at token ``at`` that name a feature, longest first; behind words such as "kind of"."""
    relative = lexicon.words.relative
    while at < len(tokens) and not any(e.kind == "feature" for _, es in lexicon.matches(tokens, at) for e in es):
        if tokens[at].key in relative.get("features", {}) or tokens[at].key not in relative.get("kinds", ()):
            break
        at += 1
    if at >= len(tokens):
        return
    vague = tokens[at].key in relative.get("vague", ())
    if vague and not any(t.key in relative.get("doing", ()) for t in tokens[:at]):
        return  # "the same thing as a Kelly" is that instrument; what does the same thing is used alike
    spoken = relative.get("features", {})
    if tokens[at].key in spoken:
        yield at + 1, tuple(spoken[tokens[at].key])
    for end, entries in lexicon.matches(tokens, at):
        if found := tuple(dict.fromkeys(e.term for e in entries if e.kind == "feature")):
            yield end, found


def _name(lexicon: Lexicon, text: str, tokens: Sequence[Token], at: int, it: str) -> _Named | None:
    """The one instrument named at token ``at``, behind an article: by its name, or by one that several bear if the family
    named before it, or what is usually meant, tells which; ``it``: what "it" stands for, or empty."""
    vocabulary = lexicon.vocabulary
    while at < len(tokens) and tokens[at].key in lexicon.words.articles | {*lexicon.words.relative.get("of", ())}:
        at += 1
    if at >= len(tokens):
        return None
    for end, entries in lexicon.matches(tokens, at):
        if it and any(e.kind == "kw.it" for e in entries):
            return _Named(it, tokens[at].start, tokens[end - 1].end)
        patterns = list(dict.fromkeys(e.term for e in lexicon.resolve(e for e in entries if e.kind == "pattern")))
        if not patterns:
            continue
        before = {t.key for t in tokens[:at]}
        kin = [p for p in patterns if lexicon.folder.phrase(vocabulary.label(p))[-1] in before]
        usual = lexicon.usual(text[tokens[at].start : tokens[end - 1].end])
        one = patterns if len(patterns) == 1 else kin if len(kin) == 1 else [usual] if usual else []
        return _Named(one[0], tokens[at].start, tokens[end - 1].end) if one else None
    return None


def _before(lexicon: Lexicon, text: str, tokens: Sequence[Token], at: int, after: bool) -> str:
    """What stands before "with the same", without the words that only lead to it; where only a word that asks is left, the
    word for all instruments, or for those of the answer before."""
    lead = set(lexicon.words.relative.get("lead", ())) | lexicon.words.articles
    while at > 1 and tokens[at - 1].key in lead:
        at -= 1
    first = text[: tokens[at - 1].end]
    if at == 1 and any(e.kind in ("kw.which", "kw.whatis") for _, es in lexicon.matches(tokens, 0) for e in es):
        those = f"{lexicon.word('of')} {lexicon.word('them')}" if after else plural(lexicon.word("instrument"))
        first = f"{lexicon.word('which')} {those}"
    return first


def known_of(catalogue: Catalogue, pattern: str, feature: str) -> Known:
    """What is known of one feature, or of the length, of a pattern."""
    return catalogue.context.reader.facts([pattern], [feature])[pattern].known


def _values(feature: str, found: Known, vocabulary: Vocabulary) -> list[str]:
    """The narrowest values that are recorded of a feature, or those of which some pieces have one and some another."""
    if feature == LENGTH:
        return ["mm"] if found.length is not None else []
    held = [v for f, v in sorted(found.holds) if f == feature]
    broader = {b for v in held for b in vocabulary.ancestors(v)}
    return [v for v in held if v not in broader] or sorted(found.varies.get(feature, ()))


def _not_recorded(lexicon: Lexicon, feature: str, named: _Named, text: str) -> QuestionError:
    label = lexicon.vocabulary.label
    return QuestionError(
        "BL-Q11",
        f"Of {label(named.pattern)} no {label(feature)} is recorded, so nothing can be compared with it.",
        question=text,
        span=(named.start, named.end),
        hint=f'Ask what is recorded ("describe {label(named.pattern)}"), or compare with another instrument.',
    )
