"""A set of instruments narrowed or changed by what a reply says: a family takes the place of the one before, a value that of
another of its feature.
"""

from __future__ import annotations

from collections.abc import Sequence

from kg import names
from kg.language import nodes
from kg.language.joining import conj, disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse_forms import FormParser


def joined(old: Expr, new: Expr, narrowed: bool, lexicon: Lexicon) -> Expr:
    """The set before, narrowed. A family in the new words takes the place of the one before, whose further conditions stay
    ("toothed artery forceps", "what about thumb forceps?"); a value takes the place of another of its feature."""
    items = list(old.items) if isinstance(old, nodes.And) else [old]
    added = list(new.items) if isinstance(new, nodes.And) else [new]
    if not narrowed or not any(is_family(i) for i in added):
        items = [part for i in items for part in parted_by(i, added, lexicon, by_name=not narrowed)]
    if not narrowed and any(is_family(i) for i in added):
        items = [kept for i in items for kept in (conditions(i, lexicon) if is_family(i) else [i])]
    if not narrowed:
        added = [_of_one_before(_of_the_same(i, items, lexicon), items) for i in added]
    if not narrowed and len(items) == 1 and all(_where(i, lexicon) for i in (*items, *added)):
        return new  # "instruments for mastoidectomy", "and for the womb?"
    features = lexicon.vocabulary.features
    said = {i.feature for i in added if isinstance(i, nodes.Has) and i.feature in features}
    # "with narrow jaws", "how about broad ones?"; but what is made for one task may be used for another besides
    single = {f for f in said if features[f].single and f not in lexicon.words.besides} if narrowed else said
    if not narrowed:  # "the straight haemostats" after curved ones
        single |= {c.feature for i in added if is_family(i) for c in conditions(i, lexicon) if isinstance(c, nodes.Has)}
    items = [i for i in items if not (isinstance(i, nodes.Has) and i.feature in single)]
    # "with a ratchet", "the same without one": what is denied takes the place of what was asked
    items = [i for i in items if opposite(i) not in added and not any(_same_choice(i, j) for j in added)]
    if not narrowed and isinstance(old, nodes.Named):  # "rib approximator?", "what about cutting ribs?"
        return new if any(is_family(i) for i in added) else conj([*called(old, lexicon), *added])
    if not narrowed:  # "used on bowel", "and for the skin?": another value takes the place of one
        items = [i for i in items if not any(_rivals(i, j, lexicon) for j in added)]
    if not narrowed and any(isinstance(i, nodes.Length) for i in added):
        items = [i for i in items if not isinstance(i, nodes.Length) or any(other_end(i, j) for j in added)]
    return conj([*items, *added]) if items else new


def in_its_place(found: Question, old: Expr) -> Question:
    """ "Which cut sutures?", "and which ones cut tissue?": what is said of the same feature takes the place of what was"""
    if not isinstance(found, nodes.Filter | nodes.Count):
        return found
    before = old.items if isinstance(old, nodes.And) else (old,)
    new = [i for i in (found.expr.items if isinstance(found.expr, nodes.And) else (found.expr,)) if i not in before]
    said = {f for i in new for f in features_of(i)}
    kept = [i for i in before if not features_of(i) & said]
    return type(found)(conj([*kept, *new])) if new and len(kept) < len(before) and kept else found


def of_those_too(parser: FormParser) -> bool:
    """Whether a text speaks of those of a list, or of what is so as well: then it only narrows the list."""
    as_well = parser.lexicon.words.as_well
    return parser.says("kw.them", "kw.it") or any(t.key in as_well for t in parser.tokens)


def _where(expr: Expr, lexicon: Lexicon) -> bool:
    """Whether a condition only says in which operation, by whom or on which part of the body something is used."""
    each = expr.items if isinstance(expr, nodes.Or) else (expr,)
    features = lexicon.words.set_features | lexicon.words.set_places
    return all(isinstance(i, nodes.Has) and i.feature in features for i in each)


def parted(family: Expr, lexicon: Lexicon) -> list[Expr]:
    """A family of instruments that are so ("curved artery forceps") as the family and what it says of them; any other
    description as it is."""
    more = conditions(family, lexicon)
    if not more or not isinstance(family, nodes.IsA):
        return [family]
    wider = [value for prop, value in lexicon.vocabulary.definitions[family.category] if prop == names.TYPE]
    return [*(nodes.IsA(w, family.span) for w in wider), *(nodes.Has(m.feature, m.value, family.span) for m in more)]


def parted_by(item: Expr, added: Sequence[Expr], lexicon: Lexicon, *, by_name: bool) -> list[Expr]:
    """A family in its parts, where another value of what it says is added: "curved haemostats", "and the straight ones?"
    ``by_name``: or of what its name says: "self-retaining retractors", "and the hand-held ones?" """
    spoken = {f for i in added for f in features_of(i.expr if isinstance(i, nodes.Not) else i)}
    for parts in (parted(item, lexicon), _by_its_name(item, lexicon) if by_name else []):
        if any(features_of(p) & spoken for p in parts):
            return parts
    return [item]


def _by_its_name(item: Expr, lexicon: Lexicon) -> list[Expr]:
    """A family whose name is a value and a wider family ("self-retaining retractor"), as these two; nothing for any other."""
    if not isinstance(item, nodes.IsA):
        return []
    words = lexicon.vocabulary.label(item.category).split()
    for at in range(1, len(words)):
        value = [e for e in lexicon.entries(" ".join(words[:at])) if e.kind == "value"]
        wider = [e for e in lexicon.entries(" ".join(words[at:])) if e.kind == "category"]
        if len(value) == 1 and len(wider) == 1:
            feature = lexicon.vocabulary.terms[value[0].term].feature
            return [nodes.IsA(wider[0].term, item.span), nodes.Has(feature, value[0].term, item.span)]
    return []


def called(named: nodes.Named, lexicon: Lexicon) -> list[nodes.IsA]:
    """The family by whose noun an instrument is called: "spring scissors", "and the ring-handled ones?" """
    words = lexicon.vocabulary.label(named.pattern).split()
    for at in range(1, len(words)):
        found = [e for e in lexicon.entries(" ".join(words[at:])) if e.kind == "category"]
        if len(found) == 1:
            return [nodes.IsA(found[0].term, named.span)]
    return []


def other_end(one: Expr, two: Expr) -> bool:
    """Whether two lengths bound a range from its two ends: "longer than 18 cm", "and shorter than 25?" """
    if not isinstance(one, nodes.Length) or not isinstance(two, nodes.Length):
        return False
    low, high = (one, two) if one.op in (">", ">=") else (two, one)
    return low.op in (">", ">=") and high.op in ("<", "<=") and low.low < high.low


def features_of(expr: Expr) -> set[str]:
    """The features of a condition, or of alternatives of nothing but conditions; none of anything else."""
    each = expr.items if isinstance(expr, nodes.Or) else (expr,)
    return {i.feature for i in each if isinstance(i, nodes.Has)} if all(isinstance(i, nodes.Has) for i in each) else set()


def _rivals(one: Expr, two: Expr, lexicon: Lexicon) -> bool:
    """Whether a place takes the place of another: after "used in tonsillectomy", "and the tongue?" says one thing more. So does
    one effect on tissue of another ("that crush", "and the gentle ones?")."""
    old, new, words = features_of(one), features_of(two), lexicon.words
    places = words.set_features | words.set_places
    either = isinstance(one, nodes.Or) or isinstance(two, nodes.Or)
    alike = (words.set_features, words.set_places, words.effects, *((places,) if either else ()))
    if either and old & new:
        return True  # "made for cutting sutures or also used for it", "and for cutting wire?"
    return bool(old & new & places) or (bool(old) and bool(new) and any(old | new <= group for group in alike))


def _same_choice(one: Expr, two: Expr) -> bool:
    """Whether two words of several features are each other's rivals ("sharp", "blunt")."""
    return (
        isinstance(one, nodes.Or) and isinstance(two, nodes.Or) and one != two and len(features_of(one) & features_of(two)) > 1
    )


def opposite(expr: Expr) -> Expr:
    return expr.expr if isinstance(expr, nodes.Not) else nodes.Not(expr)


def _of_the_same(new: Expr, old: Sequence[Expr], lexicon: Lexicon) -> Expr:
    """A value in the words of one before: after "with a curved edge", "the straight one" has a straight edge."""
    terms = lexicon.vocabulary.terms
    if not isinstance(new, nodes.Has) or new.feature not in lexicon.vocabulary.features:
        return new
    others = [terms[v].label for v in lexicon.vocabulary.values_of(new.feature) if v != new.value]
    for item in old:
        if isinstance(item, nodes.Has) and item.feature not in (new.feature, names.OF_KIND):
            words = terms[item.value].label.split()
            for other in others:
                if other in words:
                    said = " ".join(terms[new.value].label if w == other else w for w in words)
                    for entry in lexicon.entries(said):
                        if entry.kind == "value" and terms[entry.term].feature == item.feature:
                            return nodes.Has(item.feature, entry.term, new.span)
    return new


def _of_one_before(new: Expr, old: Sequence[Expr]) -> Expr:
    """What a word says of several features ("blunt") as it says it of the one feature that the list before has ("with sharp
    prongs", "and blunt ones?"); as it is where the list has none of them, or several."""
    if not isinstance(new, nodes.Or) or len(features_of(new)) < 2:
        return new
    spoken = {i.feature for i in old if isinstance(i, nodes.Has)} & features_of(new)
    same = [i for i in new.items if isinstance(i, nodes.Has) and i.feature in spoken]
    return disj(same) if len(spoken) == 1 and same else new


def conditions(family: Expr, lexicon: Lexicon) -> list[nodes.Has]:
    """What a category says beyond the family that it lies in; nothing for a family of its own."""
    defined = lexicon.vocabulary.definitions.get(family.category, ()) if isinstance(family, nodes.IsA) else ()
    if not any(prop == names.TYPE for prop, _ in defined):
        return []
    return [nodes.Has(prop, value) for prop, value in defined if prop in lexicon.vocabulary.features]


def is_family(expr: Expr) -> bool:
    return isinstance(expr, nodes.IsA) or (isinstance(expr, nodes.Or) and all(isinstance(i, nodes.IsA) for i in expr.items))


__all__ = [
    "called",
    "conditions",
    "features_of",
    "in_its_place",
    "is_family",
    "joined",
    "of_those_too",
    "opposite",
    "other_end",
    "parted",
    "parted_by",
]
