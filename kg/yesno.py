"""Yes or no in words, where a question wants one and its answer is a comparison, a definition, a list or a table: "are the Kocher
and the Ochsner one and the same?", "do writers agree on the serration of the Kelly?".

It is said only of what the answer itself shows; where that does not decide, nothing is said. The words stand in ``[yesno]`` of the
word file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from kg import names
from kg.language import nodes
from kg.language.parse import parser_for
from kg.model import VARIES
from kg.relative import known_of
from kg.wording import capital, listing

if TYPE_CHECKING:
    from kg.answer import Context
    from kg.catalogue import Catalogue
    from kg.language.parse_forms import FormParser
    from kg.model import Answer, Comparison, Difference, Valued

MOST_LINES = 4
"""Of more lines of a comparison than these it is not told at once how they stand."""
BOTH_WAYS = f"({VARIES}: "
_SAID = frozenset({"value", "feature", "part"})
_NAMED = frozenset({"pattern", "category", "kind", "group"})


class Asked:
    """What a question says, as far as a yes or a no depends on it."""

    def __init__(self, catalogue: Catalogue, text: str) -> None:
        self.parser: FormParser = parser_for(text, catalogue.lexicon)
        self.keys = tuple(t.key for t in catalogue.lexicon.keyed(self.parser.tokens) if t.key.isalnum())
        self._words: Mapping[str, Sequence[str]] = catalogue.lexicon.words.yesno
        self._lexicon = catalogue.lexicon

    def says(self, name: str) -> bool:
        """Whether any of the phrases of a name stands in it."""
        return any(True for _ in self._places(name))

    def opens(self, name: str) -> bool:
        """Whether it begins with one of the phrases of a name, but for words that only lead to a question."""
        leading = self._words.get("leading", ())
        start = next((i for i, key in enumerate(self.keys) if key not in leading), 0)
        return start in self._places(name)

    @property
    def wants(self) -> bool:
        """Whether it wants a yes or a no."""
        return (self.opens("verbs") and not self.opens("bidding")) or self.says("tags")

    def _places(self, name: str) -> Iterator[int]:
        for phrase in self._words.get(name, ()):
            keys = self._lexicon.keys(phrase)
            for at in range(len(self.keys) - len(keys) + 1):
                if self.keys[at : at + len(keys)] == keys:
                    yield at

    def terms(self) -> list[tuple[str, str]]:
        """The (kind, name) of values, features and parts it speaks of besides the names of instruments, first to last."""
        out: list[tuple[str, str]] = []
        at = 0
        while at < len(self.parser.tokens):
            end, entries = next(iter(self.parser.phrases(at)), (at + 1, ()))
            if not any(e.kind in _NAMED for e in entries):
                out += [(e.kind, e.term) for e in entries if e.kind in _SAID and not e.negated]
            at = end
        return list(dict.fromkeys(out))

    def named(self, *kinds: str) -> list[tuple[str, frozenset[str]]]:
        """The names in it, first to last: as typed, and what each may mean."""
        out: list[tuple[str, frozenset[str]]] = []
        at = 0
        while at < len(self.parser.tokens):
            end, entries = next(iter(self.parser.phrases(at)), (at + 1, ()))
            if terms := frozenset(e.term for e in entries if e.kind in kinds):
                out.append((self.parser.quote(at, end), terms))
            at = end
        return out


def told(catalogue: Catalogue, out: Answer, text: str) -> str:
    """The yes or no of an answer, or the lines of a comparison that were asked for; empty if none is to be said."""
    made = {
        "disputes": _disputes,
        "define": _one_thing,
        "compare": _compared,
        "value": _recorded,
        "sources": _witnessed,
        "filter": _there,
        "extreme": _longer,
        "holds": _made,
        "quantified": _of_all,
    }.get(out.kind)
    if made is None or out.unread is not None:
        return ""
    asked = Asked(catalogue, text)
    return made(catalogue, out, asked) if asked.wants or out.kind == "compare" else ""


# --- disputes --------------------------------------------------------------------------------------------------------
def _disputes(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    if asked.says("not"):
        return ""
    count = len(out.disputed)
    many = f"{count:,} {'dispute is' if count == 1 else 'disputes are'} recorded"
    if count:
        return f"{'No' if asked.says('agree') else 'Yes'}: {many}."
    if (silent := _nothing_said(catalogue, out.tree)) is not None:
        return f"No dispute is recorded, and nothing is recorded of {silent} either."
    return "Yes, as far as is recorded: no dispute is." if asked.says("agree") else "No: no dispute is recorded."


def _nothing_said(catalogue: Catalogue, tree: nodes.Disputes) -> str | None:
    """The features of one instrument of which nothing is recorded, where disputes about them are asked for; None if anything
    is."""
    if not isinstance(tree.expr, nodes.Named) or not tree.features:
        return None
    ctx = catalogue.context
    found = catalogue.answer(nodes.Value(tree.expr.pattern, tree.features), "", limit=1).values or ()
    if any(v.status != "not recorded" for v in found):
        return None
    return f"the {listing([ctx.label(f) for f in tree.features])}"


# --- one and the same ------------------------------------------------------------------------------------------------
def _one_thing(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """That two names are of one thing, where it is asked; that they are of two."""
    if not asked.says("same") or asked.says("not"):
        return ""
    terms = out.tree.terms if isinstance(out.tree, nodes.DefineAll) else (out.tree.term,)
    label = catalogue.vocabulary.label
    if len(terms) == 1:
        typed = [said for said, meant in asked.named("pattern", "category", "kind", "value", "part", "feature") if terms[0] in meant]
        return f"Yes: both are names of {label(terms[0])}." if len(dict.fromkeys(typed)) > 1 else ""
    for one, other in ((terms[0], terms[-1]), (terms[-1], terms[0])):
        inner, outer = (catalogue.lexicon.keys(label(t)) for t in (one, other))
        if any(outer[i : i + len(inner)] == inner for i in range(len(outer))):
            return f"Yes: it is short for {label(other)}." if asked.says("short") else ""
    return ""


# --- comparisons -----------------------------------------------------------------------------------------------------
def _compared(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    assert out.comparison is not None and isinstance(out.tree, nodes.Compare)
    if len(out.tree.subjects) != 2 or asked.says("not"):
        return ""
    lines = _lines_asked(catalogue.context, out.comparison, asked)
    if lines and len(lines) <= MOST_LINES:
        return _side_by_side(out.comparison, lines, asked)
    if lines or not asked.wants or asked.terms():
        return ""
    if asked.says("mixed"):
        return _mixed_up(catalogue, out, *out.tree.subjects)
    return _two(catalogue, out, *out.tree.subjects) if asked.says("same") else ""


def _lines_asked(ctx: Context, comparison: Comparison, asked: Asked) -> list[Difference]:
    """The lines of a comparison on what the question speaks of."""
    features, parts = set(), set()
    for kind, term in asked.terms():
        features.add(ctx.label(ctx.vocabulary.terms[term].feature if kind == "value" else term))
        if kind == "part":
            parts.add(ctx.label(term))
    lines = (*comparison.differences, *comparison.shared, *comparison.not_recorded)
    return [line for line in lines if line.feature in features] or [line for line in lines if line.part in parts]


def _side_by_side(comparison: Comparison, lines: Sequence[Difference], asked: Asked) -> str:
    each = " ".join(_line(line, comparison) for line in lines)
    if not asked.wants or asked.says("only"):
        return each
    differ, alike = asked.says("differ"), asked.says("same")
    if differ == alike:
        return each
    if any(line in comparison.not_recorded for line in lines):
        return f"Not recorded of both. {each}" if len(lines) == 1 else each
    if any(line.decides for line in lines):
        return f"{'Yes' if differ else 'No'}. {each}"
    if all(line in comparison.shared for line in lines):
        return f"{'No' if differ else 'Yes'}. {each}"
    return f"In part. {each}"


def _line(line: Difference, comparison: Comparison) -> str:
    if line in comparison.shared:
        return f"{capital(line.feature)}: the same, {', '.join(line.values[0][1])}."
    each = (f"{label} {', '.join(values)}" for label, values in line.values)
    return f"{capital(line.feature)}: {'; '.join(each)}."


def _mixed_up(catalogue: Catalogue, out: Answer, one: str, other: str) -> str:
    terms = catalogue.vocabulary.terms
    if any(terms[t].role != "pattern" for t in (one, other)):
        return ""
    from kg.answer.lookalikes import look_alike_pairs

    roots = tuple(sorted((*catalogue.vocabulary.ancestors(t), t)[0] for t in (one, other)))
    if roots in set(look_alike_pairs(catalogue.context)):
        return "Yes: they are look-alikes, which differ in little that can be seen."
    return ""


def _two(catalogue: Catalogue, out: Answer, one: str, other: str) -> str:
    """That two are not the same, and how they stand to each other."""
    vocabulary = catalogue.vocabulary
    label, terms = vocabulary.label, vocabulary.terms
    for inner, outer in ((one, other), (other, one)):
        if terms[inner].role == terms[outer].role == "pattern" and outer in vocabulary.ancestors(inner):
            return f"Not quite: {label(inner)} is a variant of {label(outer)}."
    if terms[one].role == terms[other].role == "pattern":
        assert out.comparison is not None
        apart = [d.feature for d in out.comparison.differences if d.decides]
        if apart:
            return f"No: they are two patterns, told apart by {listing([f'the {f}' for f in apart[:MOST_LINES]])}."
        return "No: sources describe two patterns" + ("." if out.comparison.differences else ", though no difference is recorded.")
    for inner, outer in ((one, other), (other, one)):
        if terms[inner].role == "pattern":
            return _one_of_many(catalogue, inner, outer)
        if terms[outer].role == "category" and outer in vocabulary.ancestors(inner):
            return f"Not quite: every {label(inner)} is a {label(outer)}, but not the other way round."
    return "No: they are two families."


def _one_of_many(catalogue: Catalogue, pattern: str, family: str) -> str:
    found = catalogue.answer(nodes.Holds(pattern, nodes.IsA(family)), "", limit=1).argument
    label = catalogue.vocabulary.label
    if found is None or isinstance(found.holds, str):
        return ""
    many = catalogue.lexicon.name(family, many=True)
    return f"Not quite: {label(pattern)} is one of the {many}." if found.holds else f"No: {label(pattern)} is none of the {many}."


# --- what is recorded ------------------------------------------------------------------------------------------------
def _recorded(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether something is recorded; of a use, whether it is, or is denied."""
    assert isinstance(out.tree, nodes.Value)
    rows = out.values or ()
    denials = {f.name: f.denies for f in catalogue.vocabulary.features.values() if f.denies}
    if asked.says("uses") and set(out.tree.features) == {*denials, *denials.values()}:
        return _use(catalogue, rows, asked, denials)
    if asked.says("known") and len(out.tree.features) == 1:
        return "No." if all(v.status == "not recorded" for v in rows) else "Yes."
    return ""


def _use(catalogue: Catalogue, rows: Sequence[Valued], asked: Asked, denials: Mapping[str, str]) -> str:
    vocabulary = catalogue.vocabulary
    places = [t for kind, t in asked.terms() if kind == "value" and vocabulary.terms[t].feature in denials.values()]
    if len(places) != 1:
        return ""
    place = vocabulary.label(places[0])
    wider = {vocabulary.label(t) for t in (places[0], *vocabulary.ancestors(places[0]))}
    within = {vocabulary.label(t) for t in vocabulary.subtree(places[0])}
    never = {vocabulary.label(f) for f in denials}
    said = [v for v in rows if v.label in wider | within and v.status in ("adopted", "inferred", "made with")]
    if any(v.feature in never and v.label in wider for v in said):
        return f"No, by what is recorded: it is never used on {place}."
    if any(v.feature not in never and v.label in within for v in said):
        return f"Yes, by what is recorded: use on {place} is."
    return f"Not recorded: no source of the catalogue speaks for use on {place} or against it."


def _witnessed(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether any source says what the question says."""
    assert isinstance(out.tree, nodes.Sources)
    vocabulary, ctx = catalogue.vocabulary, catalogue.context
    if asked.says("not") or asked.says("none") or not asked.says("witness"):
        return ""
    values = [t for kind, t in asked.terms() if kind == "value" and vocabulary.terms[t].feature in out.tree.features]
    if len(values) != 1:
        return ""
    feature = vocabulary.terms[values[0]].feature
    clauses = {ctx.clause((feature, t)) for t in vocabulary.subtree(values[0])}
    said = [v for v in out.values or () if v.label.removeprefix("some: ") in clauses]
    if not said:
        return "No: no source of the catalogue says so."
    return "Yes." if len(dict.fromkeys(s for v in said for s in v.sources)) > 1 else "Yes: one does."


def _there(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether there is any such instrument."""
    if not asked.opens("there"):
        return ""
    if out.matches or out.match_count:
        return "Yes."
    if out.possible_count or out.disputed:
        some = out.possible and all(p.only_as(VARIES) for p in out.possible)
        return "Yes, of some pieces: it is made both ways." if some else ""
    return "No: none is recorded."


def _longer(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether the one named first is the longer, or the shorter, of two."""
    assert isinstance(out.tree, nodes.Extreme)
    expr = out.tree.expr
    if not isinstance(expr, nodes.Or) or out.tree.by != "length" or not asked.says("than"):
        return ""
    both = [i.pattern for i in expr.items if isinstance(i, nodes.Named)]
    named = [terms for _, terms in asked.named("pattern")]
    if len(both) != 2 or len(named) != 2 or len(expr.items) != 2:
        return ""
    first = [p for p in both if p in named[0] and p not in named[1]]
    if len(first) != 1:
        return ""
    other = both[1 - both.index(first[0])]
    one, two = (known_of(catalogue, p, names.LENGTH_MIN).length for p in (first[0], other))
    if one is None or two is None:
        return "Not recorded: of one of them no length is."
    more = out.tree.most
    if one == two:
        return "No: the recorded lengths are the same."
    if (one[0] > two[1]) if more else (one[1] < two[0]):
        return "Yes."
    if (one[1] <= two[0]) if more else (one[0] >= two[1]):
        return "No."
    ends = one[0] >= two[0] and one[1] >= two[1]
    below = one[0] <= two[0] and one[1] <= two[1]
    usual = "Mostly: it is made in longer sizes" if ends else "Mostly not: it is made in shorter sizes" if below else ""
    if not more:
        usual = "Mostly: it is made in shorter sizes" if below else "Mostly not: it is made in longer sizes" if ends else ""
    return f"{usual}, but the recorded lengths overlap." if usual else "It depends on the size: the recorded lengths overlap."


def _made(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """What "always" and "is there" make of what some pieces are and others are not; whether sources agree that it is so."""
    assert out.argument is not None
    holds, missing = out.argument.holds, out.argument.missing
    varies = holds == "not recorded" and missing and all(BOTH_WAYS in m for m in missing)
    if varies and asked.says("always"):
        return "No, not always."
    if varies and asked.opens("there"):
        return "Yes."
    if asked.says("agree") and isinstance(holds, bool):
        if out.disputed:
            return "No: the sources disagree."
        return "Yes, as far as is recorded." if holds else "No: it is recorded otherwise, without a dispute."
    return ""


def _of_all(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    assert out.argument is not None
    return "No, not always." if out.argument.holds == "some" and asked.says("always") else ""
