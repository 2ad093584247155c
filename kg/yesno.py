"""Yes or no in words, where a question wants one and its answer is a comparison, a definition, a list or a table: "are the
Kocher and the Ochsner one and the same?", "do writers agree on the serration of the Kelly?".

It is said only of what the answer itself shows; where that does not decide, nothing is said. The words stand in ``[yesno]`` of
the word file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from kg import names
from kg.language import nodes
from kg.language.in_what import left_aside
from kg.language.parse import parser_for
from kg.model import VARIES
from kg.ofnamed import at_the_end, of_both, of_neither, of_those_named, sole
from kg.outnumbers import outnumbers
from kg.relative import known_of
from kg.saidof import of_families, of_halves, of_last_name, of_namesakes, of_values
from kg.wording import capital, listing

if TYPE_CHECKING:
    from kg.answer import Context
    from kg.catalogue import Catalogue
    from kg.language.parse_forms import FormParser
    from kg.model import Answer, Comparison, Difference, Valued

MOST_SHARED = 8
MOST_LINES = 4
"""Of more lines of a comparison than these it is not told at once how they stand."""
_UNSOURCED = ("common practice", "memory")
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

    @property
    def joins_all(self) -> bool:
        """Whether it joins what it asks about by "and" alone: "do the Kelly and the Crile have teeth?" """
        return self.opens("verbs") and not self.opens("bidding") and self.says("and") and not self.says("or")

    @property
    def counts_most(self) -> bool:
        """Whether it asks of most of a family ("are most clamps curved?", not "are the most delicate clamps curved?")."""
        tokens, light = self.parser.tokens, self._lexicon.words.articles
        if self.says("not"):
            return False
        for phrase in self._words.get("most", ()):
            keys = self._lexicon.keys(phrase)
            for at in range(len(tokens) - len(keys)):
                if tuple(t.key for t in tokens[at : at + len(keys)]) == keys:
                    after = next((i for i in range(at + len(keys), len(tokens)) if tokens[i].key not in light), len(tokens))
                    if after < len(tokens) and any(e.kind in _NAMED for _, es in self.parser.phrases(after) for e in es):
                        return True
        return False

    @property
    def bounds_behind_a_name(self) -> bool:
        """Whether "only" stands behind the name of an instrument: not "only the Kelly", nor "the only one"."""
        tokens, articles = self.parser.tokens, self._lexicon.words.articles
        named = [
            end for at in range(len(tokens)) for end, es in self.parser.phrases(at)[:1] if any(e.kind in _NAMED for e in es)
        ]
        at = next((i for i, t in enumerate(tokens) if t.key == self._lexicon.keys("only")[0]), 0)
        return bool(at and named and min(named) <= at and tokens[at - 1].key not in articles)

    def _places(self, name: str) -> Iterator[int]:
        for phrase in self._words.get(name, ()):
            keys = self._lexicon.keys(phrase)
            for at in range(len(self.keys) - len(keys) + 1):
                if self.keys[at : at + len(keys)] == keys:
                    yield at

    def terms(self, besides: Iterable[str] = ()) -> list[tuple[str, str]]:
        """The (kind, name) of values, features and parts it speaks of besides the names of instruments, first to last; not
        those that only stand in the names ``besides``."""
        out: list[tuple[str, str]] = []
        inside = {key for name in besides for key in self._lexicon.keys(name)}
        at = 0
        while at < len(self.parser.tokens):
            end, entries = next(iter(self.parser.phrases(at)), (at + 1, ()))
            said = {t.key for t in self.parser.tokens[at:end]}
            kinds = {e.kind for e in entries}
            if not said <= inside and (not kinds & _NAMED or (inside and said.isdisjoint(inside))):
                out += [(e.kind, e.term) for e in entries if e.kind in _SAID and not e.negated]
            at = end if kinds & (_NAMED | _SAID) else at + 1
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
        "gaps": _missing,
        "holds": _made,
        "quantified": _of_all,
        "reprocessing": _cared,
        "tally": outnumbers,
    }.get(out.kind)
    asked = Asked(catalogue, text)
    if out.kind == "compare" and (aside := left_aside(text, catalogue.lexicon, catalogue.talk)):
        asked = Asked(catalogue, text.replace(aside, "", 1))
    if out.kind == "compare" and (halves := of_halves(catalogue, out, asked, text)):
        return halves
    if out.kind == "describe" and out.unread is not None:
        return of_last_name(catalogue, out, asked)
    if out.kind == "filter" and out.unread:
        return of_namesakes(catalogue, out, asked)
    if out.unread == () and out.kind == "value" and asked.wants and not asked.says("only"):
        return of_values(catalogue, out, asked)
    broadly = out.unread == () and out.kind == "value" and asked.says("only")
    if made is None or (out.unread is not None and not broadly):
        return ""
    if out.kind == "sources" and asked.opens("how_many"):
        return _how_many(catalogue, out, asked)
    alone = out.kind == "filter" and asked.says("sole") and not asked.parser.says("kw.except")
    return made(catalogue, out, asked) if asked.wants or out.kind == "compare" or alone else ""


def _cared(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    from kg.allowed import by_record, by_risk, on_care

    told = on_care(catalogue.context, out.tree, asked)
    return told or by_risk(catalogue, out.tree, asked) or by_record(catalogue, out.tree, asked)


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
    terms = out.tree.terms if isinstance(out.tree, nodes.DefineAll) else (out.tree.term,)
    names = [terms[0] in meant for _, meant in asked.named("pattern")]
    named_again = asked.opens("verbs") and names == [True, True] and not asked.says("mixed")
    if not (asked.says("same") or asked.says("differ") or named_again) or asked.says("not"):
        return ""
    sure = "No" if asked.says("differ") and not asked.says("same") else "Yes"
    label = catalogue.vocabulary.label
    if len(terms) == 1:
        others = [(said, meant) for said, meant in asked.named("pattern") if terms[0] not in meant]
        if others and catalogue.vocabulary.terms[terms[0]].role == "pattern":
            said, meant = others[0]
            return f"No: {said} is a name of {label(min(meant))}." if len(meant) == 1 and sure == "Yes" else ""
        typed = [
            said for said, meant in asked.named("pattern", "category", "kind", "value", "part", "feature") if terms[0] in meant
        ]
        many = len({t.casefold() for t in typed})
        return f"{sure}: {'both' if many == 2 else 'all'} are names of {label(terms[0])}." if many > 1 else ""
    for one, other in ((terms[0], terms[-1]), (terms[-1], terms[0])):
        inner, outer = (catalogue.lexicon.keys(label(t)) for t in (one, other))
        if any(outer[i : i + len(inner)] == inner for i in range(len(outer))):
            return f"Yes: it is short for {label(other)}." if asked.says("short") else ""
    if asked.says("short") or not asked.says("same"):
        return ""
    return "No: each has a meaning of its own here."


# --- comparisons -----------------------------------------------------------------------------------------------------
def _compared(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    if out.comparison is None or not isinstance(out.tree, nodes.Compare):
        return ""
    if len(out.tree.subjects) != 2 or asked.says("not"):
        return ""
    lines = lines_asked(catalogue.context, out.comparison, asked)
    if asked.says("common") and not lines:
        return _in_common(out.comparison)
    if lines and len(lines) <= MOST_LINES:
        return _side_by_side(out.comparison, lines, asked) or _with_a_part(catalogue, out.tree.subjects, lines, asked)
    if lines or not asked.wants or asked.terms(out.comparison.subjects):
        return ""
    if asked.says("mixed"):
        return _mixed_up(catalogue, out, *out.tree.subjects)
    if asked.says("same"):  # "does it have the same grip?" asks for more than a name
        return "" if asked.says("having") else _two(catalogue, out, *out.tree.subjects)
    if not asked.says("differ"):
        return ""
    if all(catalogue.vocabulary.terms[t].role == "pattern" for t in out.tree.subjects):
        return _apart(out.comparison)
    told = _two(catalogue, out, *out.tree.subjects)
    return told.replace("No: ", "Yes: ", 1) if told.startswith("No: ") else capital(told.removeprefix("Not quite: "))


def _in_common(comparison: Comparison) -> str:
    if not comparison.shared:
        return "Nothing in common is recorded."
    told = [f"{d.feature} ({', '.join(d.values[0][1])})" for d in comparison.shared]
    more = len(told) - MOST_SHARED
    return f"In common: {', '.join(told[:MOST_SHARED])}{f' and {more} more' if more > 0 else ''}."


def lines_asked(ctx: Context, comparison: Comparison, asked: Asked) -> list[Difference]:
    """The lines of a comparison on what the question speaks of."""
    features, parts = set(), set()
    terms = asked.terms(comparison.subjects)
    for kind, term in terms:
        features.add(ctx.label(ctx.vocabulary.terms[term].feature if kind == "value" else term))
        if kind == "part":
            parts.add(ctx.label(term))
    if asked.says("length"):
        features.add(ctx.label(names.LENGTH))
    lines = (*comparison.differences, *comparison.shared, *comparison.not_recorded)
    words = set(asked.keys)
    spoken = [line for line in lines if line.feature in features or (terms and _speaks_of(line.feature, words, ctx))]
    apart = [line for line in spoken if line in comparison.differences]
    if parts and not any(line.feature not in parts for line in apart or spoken):
        of_it = [line for line in comparison.differences if line.part in parts]
        for among in (of_it, comparison.shared, comparison.not_recorded):
            if found := [line for line in among if line.part in parts and line.feature not in parts]:
                return found
        return spoken
    return [line for line in spoken if line.feature not in parts] or spoken


def _speaks_of(feature: str, words: set[str], ctx: Context) -> bool:
    """Whether the last word of the name of a feature is used ("serration" of its pattern and of its extent)."""
    return ctx.lexicon.keys(feature)[-1] in words


def _side_by_side(comparison: Comparison, lines: Sequence[Difference], asked: Asked) -> str:
    each = " ".join(_line(line, comparison) for line in lines)
    if not asked.wants or asked.says("only"):
        return each
    differ, alike = asked.says("differ"), asked.says("same")
    if differ == alike:
        return each
    if any(line in comparison.not_recorded for line in lines):
        if any(line.part == line.feature for line in lines):
            return ""
        if len(lines) == 1:
            return f"Not decided: it is not recorded of both. {each}"
        known = [line for line in lines if line not in comparison.not_recorded]
        if known and all(line in comparison.shared for line in known):
            return f"{'No' if differ else 'Yes'}, as far as is recorded of both. {each}"
        return f"{'Yes' if differ else 'No'}. {each}" if any(line.decides for line in known) else each
    if any(line.decides for line in lines):
        return f"{'Yes' if differ else 'No'}. {each}"
    if all(line in comparison.shared for line in lines):
        return f"{'No' if differ else 'Yes'}. {each}"
    return f"In part. {each}"


def _with_a_part(catalogue: Catalogue, subjects: Sequence[str], lines: Sequence[Difference], asked: Asked) -> str:
    """Whether one of two has a part that is recorded of the other only member by member, or not at all."""
    told = f"Not decided: it is not recorded of both. {' '.join(f'{capital(line.feature)}.' for line in lines)}"
    parts = [t for kind, t in asked.terms() if kind == "part"]
    if len(lines) != 1 or len(parts) != 1:
        return told
    each = []
    for subject in subjects:
        scope = nodes.Named(subject) if catalogue.vocabulary.terms[subject].role == "pattern" else nodes.IsA(subject)
        found = catalogue.answer(nodes.Quantified(scope, nodes.HasPart(parts[0])), "", limit=1).argument
        if found is not None and isinstance(found.holds, bool):
            each.append((subject, found.holds))
    if len(each) < 2:
        return told
    label = catalogue.vocabulary.label
    said = "; ".join(f"{label(s)} {'there' if has else 'absent'}" for s, has in each)
    same = each[0][1] == each[1][1]
    return f"{'Yes' if same == asked.says('same') else 'No'}. {lines[0].feature.capitalize()}: {said}."


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
    return "Not by what is recorded: they are not among each other's look-alikes."


def _two(catalogue: Catalogue, out: Answer, one: str, other: str) -> str:
    """That two are not the same, and how they stand to each other."""
    vocabulary = catalogue.vocabulary
    label, terms = vocabulary.label, vocabulary.terms
    for inner, outer in ((one, other), (other, one)):
        if terms[inner].role == terms[outer].role == "pattern" and outer in vocabulary.ancestors(inner):
            return f"Not quite: {label(inner)} is a variant of {label(outer)}."
    if terms[one].role == terms[other].role == "pattern":
        apart = [d.feature for d in out.comparison.differences if d.decides]
        if apart:
            return f"No: they are two patterns, told apart by {listing([f'the {f}' for f in apart[:MOST_LINES]])}."
        return "No: sources describe two patterns" + (
            "." if out.comparison.differences else ", though no difference is recorded."
        )
    for inner, outer in ((one, other), (other, one)):
        if terms[inner].role == "pattern":
            return _one_of_many(catalogue, inner, outer)
        if terms[outer].role == terms[inner].role == "category" and (
            (names.TYPE, outer) in catalogue.context.engine.types_only([(names.TYPE, inner)])
        ):
            return f"Not quite: every {label(inner)} is a {label(outer)}, but not the other way round."
    return "No: they are two families."


def _apart(comparison: Comparison) -> str:
    """Whether there is a difference between two."""
    decides = [d.feature for d in comparison.differences if d.decides]
    if decides:
        return f"Yes: they are told apart by {listing([f'the {f}' for f in decides[:MOST_LINES]])}."
    return "Yes, though no one feature tells them apart for certain." if comparison.differences else "None is recorded."


def _one_of_many(catalogue: Catalogue, pattern: str, family: str) -> str:
    found = catalogue.answer(nodes.Holds(pattern, nodes.IsA(family)), "", limit=1).argument
    label = catalogue.vocabulary.label
    if found is None or isinstance(found.holds, str):
        return ""
    many = catalogue.lexicon.name(family, many=True)
    return (
        f"Not quite: {label(pattern)} is one of the {many}." if found.holds else f"No: {label(pattern)} is none of the {many}."
    )


# --- what is recorded ------------------------------------------------------------------------------------------------
def _recorded(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether something is recorded; of a use, whether it is, or is denied."""
    if not isinstance(out.tree, nodes.Value):
        return of_families(catalogue, out, asked)
    rows = out.values or ()
    denials = {f.name: f.denies for f in catalogue.vocabulary.features.values() if f.denies}
    if set(out.tree.features) == {*denials, *denials.values()}:
        return _use(catalogue, out, asked, denials)
    if asked.says("all_of_it") and not out.tree.features:
        gaps = catalogue.answer(nodes.Gaps(nodes.Named(out.tree.subject)), "", limit=1) if _pattern(catalogue, out) else None
        if gaps is None:
            return ""
        lacking = [g.value for g in gaps.groups or ()]
        return f"No: not recorded are {', '.join(lacking)}." if lacking else "All that is usually recorded is."
    if asked.says("only") and not asked.says("or") and len(out.tree.features) == 1 and _pattern(catalogue, out):
        return _nothing_else(catalogue, out, asked)
    if asked.says("known") and len(out.tree.features) == 1:
        return "No." if all(v.status == "not recorded" for v in rows) else "Yes."
    return of_values(catalogue, out, asked)


def _nothing_else(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether one value is the only one recorded of an instrument ("are iris scissors only made straight?")."""
    vocabulary = catalogue.vocabulary
    asked_for = [t for kind, t in asked.terms() if kind == "value" and vocabulary.terms[t].feature == out.tree.features[0]]
    if not asked.bounds_behind_a_name:
        return ""
    said = {t for kind, t in asked.terms() if kind == "value"}
    if len(asked_for) != 1 or said != set(asked_for) or asked.says("not") or out.disputed:
        return ""
    rows = [v.label for v in out.values or () if v.status in ("adopted", "inferred", "made with")]
    within = {vocabulary.label(t) for t in vocabulary.subtree(asked_for[0])}
    others = list(dict.fromkeys(label for label in rows if label not in within))
    if others:
        are = "is" if len(others) == 1 else "are"
        return f"No: {listing(others)} {are} recorded {'too' if len(others) < len(set(rows)) else 'instead'}."
    return "Yes, as far as is recorded." if rows else ""


def _pattern(catalogue: Catalogue, out: Answer) -> bool:
    return catalogue.vocabulary.terms[out.tree.subject].role == "pattern"


def _use(catalogue: Catalogue, out: Answer, asked: Asked, denials: Mapping[str, str]) -> str:
    vocabulary, rows = catalogue.vocabulary, out.values or ()
    places = [t for kind, t in asked.terms() if kind == "value" and vocabulary.terms[t].feature in denials.values()]
    if len(places) != 1:
        return ""
    place = vocabulary.label(places[0])
    wider = {vocabulary.label(t) for t in (places[0], *vocabulary.ancestors(places[0]))}
    within = {vocabulary.label(t) for t in vocabulary.subtree(places[0])}
    never = {vocabulary.label(f) for f in denials}
    said = [v for v in rows if v.label in wider | within and v.status in ("adopted", "inferred", "made with")]
    denied = any(v.feature in never and v.label in wider for v in said)
    quoted = {p for d in out.disputed for q in d.also_said for p in q.value.removeprefix("not ").split("; ")}
    if quoted & (wider | within):
        return f"The sources disagree on use on {place}, see below."
    if denied:
        return f"No, by what is recorded: it is never used on {place}."
    if any(v.feature not in never and v.label in within for v in said):
        if asked.says("kept"):
            return f"Use on {place} is recorded; whether on such as is kept is not."
        return f"Yes, by what is recorded: it is used on {place}."
    return f"Not recorded: no source of the catalogue speaks for use on {place} or against it."


def _witnessed(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether any source says what the question says."""
    if not isinstance(out.tree, nodes.Sources):
        return ""
    vocabulary = catalogue.vocabulary
    if asked.says("not") or asked.says("none") or not asked.opens("any"):
        return ""
    said = _saying(catalogue, out, asked)
    if said is None:
        return ""
    if not said:
        single = all(vocabulary.features[f].single for f in out.tree.features if f in vocabulary.features)
        return "No: no source of the catalogue says so." if single else "No source of the catalogue says so in so many words."
    return "Yes." if len(dict.fromkeys(s for v in said for s in v.sources)) > 1 else "Yes: one does."


def _how_many(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """How many sources say what the question says, or anything of what it asks about."""
    said = _saying(catalogue, out, asked) if asked.terms() else out.values
    if said is None or asked.says("not") or asked.says("none"):
        return ""
    count = len({s for v in said for s in v.sources if not s.startswith(_UNSOURCED)})
    return f"{count:,} {'source' if count == 1 else 'sources'} of the catalogue."


def _saying(catalogue: Catalogue, out: Answer, asked: Asked) -> list[Valued] | None:
    """The statements that say the one value that the question says; None if it says none, or several."""
    vocabulary, ctx = catalogue.vocabulary, catalogue.context
    values = [t for kind, t in asked.terms() if kind == "value" and vocabulary.terms[t].feature in out.tree.features]
    if len(values) != 1:
        return None
    feature = vocabulary.terms[values[0]].feature
    clauses = {ctx.clause((feature, t)) for t in vocabulary.subtree(values[0])}
    itself = ctx.label(out.tree.subject)
    of_it = [v for v in out.values or () if v.subject == itself or not v.label.startswith("some: ")]
    return [v for v in of_it if v.label.removeprefix("some: ") in clauses]


def _there(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether there is any such instrument."""
    if asked.says("neither"):
        return of_neither(catalogue, out)
    if (asked.says("both") and any(of_those_named(out))) or (asked.joins_all and any(of_those_named(out))):
        return of_both(catalogue, out)
    if not asked.opens("there") and not asked.says("exist"):
        if asked.says("only") and asked.says("or") and not asked.says("not") and out.matches:
            return f"Not only: {len(out.matches):,} {'is' if len(out.matches) == 1 else 'are'} made so too, as listed."
        return sole(out) if asked.says("sole") else ""
    if out.matches or out.match_count:
        return "Yes."
    if out.possible_count or out.disputed:
        some = any(p.only_as(VARIES) and "; " not in p.reason for p in out.possible)
        if not some and not any(p.only_as(VARIES) for p in out.possible) and not out.disputed:
            if any("some sizes" in p.reason for p in out.possible):
                return "Yes, in some sizes."
            return f"Not for certain: none is recorded to be so; of {out.possible_count:,} it is not decided."
        return "Yes, of some pieces: it is made both ways." if some else ""
    return "No: none is recorded."


def _longer(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether the one named first is the longer, or the shorter, of two."""
    if not isinstance(out.tree, nodes.Extreme):
        return ""
    expr = out.tree.expr
    if out.tree.by != "length" or not asked.says("than"):
        return at_the_end(catalogue, out, [terms for _, terms in asked.named("pattern")])
    if not isinstance(expr, nodes.Or):
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
    if out.argument is None:
        return ""
    holds, missing = out.argument.holds, out.argument.missing
    varies = holds == "not recorded" and missing and all(BOTH_WAYS in m for m in missing)
    if varies and asked.says("always"):
        return "No, not always."
    if varies and (asked.opens("there") or asked.opens("may")):
        return "Yes."
    if asked.says("agree") and isinstance(holds, bool):
        if out.disputed:
            return "No: the sources disagree."
        return "Yes, as far as is recorded." if holds else "No: it is recorded otherwise, without a dispute."
    return ""


def _missing(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Whether anything usual is not recorded; whether all of it is."""
    return "Yes." if bool(out.groups) != asked.says("all_of_it") else "No."


def _so_far(out: Answer) -> str:
    """Of how many of a family it is recorded, where it is denied of none and not recorded of the rest."""
    yes, no = (next((g.count for g in out.groups or () if g.value == which), 0) for which in ("yes", "no"))
    whole = sum(g.count for g in out.groups or ())
    return f"Some are, as far as is recorded: {yes:,} of {whole:,}; of the rest it is not decided." if yes and not no else ""


def _of_all(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    if out.argument is None:
        return ""
    if asked.counts_most:
        yes, no = (next((g.count for g in out.groups or () if g.value == which), 0) for which in ("yes", "no"))
        whole = sum(g.count for g in out.groups or ())
        if 2 * yes > whole:
            return f"Yes, most: {yes:,} of {whole:,}."
        return f"No: {yes:,} of {whole:,}." if 2 * no >= whole else f"Not decided: it is recorded of {yes:,} of {whole:,}."
    if out.argument.holds == "not recorded" and not asked.says("not") and not out.tree.quantifier:
        return _so_far(out)
    if out.argument.holds != "some":
        return ""
    return "No, not always." if asked.says("always") else "Yes, some of them." if asked.opens("may") else ""
