"""What is recorded for one thing and not for another: "used in thyroidectomy but not in laparotomy".

A denial of a use, a place or an operation is known only where a source denies it, which hardly any source does; such a list
would nearly always be empty. Where something else is said of the instruments, those are listed that fit the rest and of which
nothing is on record under what is denied, and the answer says so. So too behind "except" a family that is told by what it is
made for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg import names
from kg.language import nodes
from kg.language.joining import conj, disj, family_in
from kg.records import replace

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kg.catalogue import Catalogue
    from kg.language.lexicon import Lexicon
    from kg.language.nodes import Expr
    from kg.model import Answer

MOST, ALL = 200, 5000
"""Of more patterns than the first the list says nothing; no catalogue read here has more than the second."""
MOST_DENIED = 8
"""So many denials are looked at one by one."""


def of_no_record(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """A list or count with those among its matches that fit all but what is denied, and have no record of that; as it was
    where nothing is denied so, or where all that is said beside a family is denied and not excepted ("forceps other than those
    used on bone") and is no branch of surgery or operation."""
    tree = out.tree
    if not isinstance(tree, nodes.Filter | nodes.Count) or not isinstance(tree.expr, nodes.And) or out.match_count is not None:
        return out
    lexicon = catalogue.lexicon
    items = [one for i in tree.expr.items for one in _one_by_one(i, lexicon)]
    denied = [i.expr for i in items if isinstance(i, nodes.Not) and _left_open(i.expr, lexicon)]
    rest = [i for i in items if not (isinstance(i, nodes.Not) and i.expr in denied)]
    all_open = bool(denied) and not any(isinstance(i, nodes.Not) for i in rest)
    if not out.matches and not all_open and (parted := _denied_of_none(catalogue, tree.expr.items)) is not None:
        denied, rest = parted
    from kg.language.parse import parser_for

    families = all(isinstance(e, nodes.IsA) for e in denied) or parser_for(text, lexicon).says("kw.except", "kw.beside")
    bare = not families and all(isinstance(i, nodes.Everything | nodes.Not) or family_in(i) for i in rest)
    bare = bare and any(_left_open(e, lexicon) for e in denied)
    told = _told_elsewhere(denied, lexicon) if bare and any(family_in(i) for i in rest) else None
    if not denied or all(isinstance(i, nodes.Everything | nodes.Not) for i in rest) or (bare and told is None):
        return out
    from kg.answer.filters import answer_filter
    from kg.language.say import say_expr
    from kg.model import VARIES

    context = catalogue.context
    fit = answer_filter(context, conj([*rest, told] if told is not None else rest), limit=ALL).matches
    with_it = answer_filter(context, conj([*rest, disj([*denied, *_so_too(denied, lexicon)])]), limit=ALL)
    held = {m.name for m in with_it.matches}.union(p.name for p in with_it.possible if p.only_as(VARIES))
    known = {m.name for m in out.matches}
    called = tuple(w for e in denied for w in _families(e, lexicon))
    more = tuple(m for m in fit if m.name not in held and m.name not in known and not _bears(m.label, called))
    if not 0 < len(more) <= MOST:
        return out
    meant = [m for m in out.matches if not _bears(m.label, called)]
    listed = tuple(sorted((*meant, *more), key=lambda m: m.label.casefold()))
    added = {m.name for m in more}
    left = tuple(p for p in out.possible if p.name not in added)
    said = "; ".join(f'"{w}"' for e in denied for w in (_families(e, lexicon) or (say_expr(e, lexicon),)))
    note = f"Listed is what fits the rest and is not on record under {said}; that it never is so is seldom recorded."
    return replace(
        out,
        matches=listed,
        possible=left,
        possible_count=out.possible_count - len(more),
        count=None if out.count is None else len(listed),
        pattern_count=None,
        notes=(note, *out.notes),
    )


def _denied_of_none(catalogue: Catalogue, items: Sequence[Expr]) -> tuple[list[Expr], list[Expr]] | None:
    """(what is denied and known to be lacking of none of what fits the rest, the rest) where a list is empty for that: "used in
    hip replacement but has no cutting edge". None if no denial is so, or if all the rest is a family."""
    from kg.answer.filters import answer_filter

    each = [one for i in items for one in _each_denied(i, catalogue.lexicon)]
    denials = [i for i in each if isinstance(i, nodes.Not) and isinstance(i.expr, nodes.Has | nodes.HasPart | nodes.Or)]
    said = [i for i in each if i not in denials]
    if not said or len(denials) > MOST_DENIED or any(isinstance(i, nodes.Not) for i in said):
        return None
    lacking = [bool(answer_filter(catalogue.context, conj([*said, i]), limit=1).matches) for i in denials]
    kept = [i for i, known in zip(denials, lacking, strict=True) if known]
    seldom = [i.expr for i, known in zip(denials, lacking, strict=True) if not known]
    if any(isinstance(e, nodes.Has) for e in seldom):
        return None  # of what it is made, how it is shaped: silence tells nothing
    if not seldom or (not kept and all(isinstance(i, nodes.Everything) or family_in(i) for i in said)):
        return None
    return seldom, [*said, *kept]


def _so_too(denied: Sequence[Expr], lexicon: Lexicon) -> list[Expr]:
    """What else shows that a denied adjective is true of something: what cuts is sharp."""
    terms = lexicon.vocabulary.terms
    out: list[Expr] = []
    said = [{i.value for i in e.items if isinstance(i, nodes.Has)} for e in denied if isinstance(e, nodes.Or)]
    for word, more in lexicon.words.so_too.items():
        if set(lexicon.words.wide.get(word, ())) in said:
            known = [terms[t] for t in more if t in terms]
            out += [nodes.Has(t.feature, t.name) if t.feature else nodes.HasPart(t.name) for t in known]
    return out


def _each_denied(expr: Expr, lexicon: Lexicon) -> tuple[Expr, ...]:
    """Each of several things that are denied at once, what one adjective stands for together ("sharp")."""
    if not isinstance(expr, nodes.Not) or not isinstance(expr.expr, nodes.Or):
        return (expr,)
    left = list(expr.expr.items)
    out: list[Expr] = []
    for terms in sorted(lexicon.words.wide.values(), key=len, reverse=True):
        one = [i for i in left if isinstance(i, nodes.Has) and i.value in terms]
        if len(one) == len(terms) > 1:
            out.append(nodes.Not(disj(one), expr.span))
            left = [i for i in left if i not in one]
    return (*out, *(nodes.Not(i, expr.span) for i in left))


def _one_by_one(expr: Expr, lexicon: Lexicon) -> tuple[Expr, ...]:
    """Each of several things that are denied at once by itself, where a record tells of some and none would of others."""
    if isinstance(expr, nodes.Not) and isinstance(expr.expr, nodes.Or) and not _left_open(expr.expr, lexicon):
        return tuple(nodes.Not(i, expr.span) for i in expr.expr.items)
    return (expr,)


def _told_elsewhere(denied: list[Expr], lexicon: Lexicon) -> Expr | None:
    """That something is on record under a feature that is denied some value, where all that is denied is a branch of surgery
    or an operation, or a place with all that it stands for ("retractors that are not abdominal", "curettes not for bone"):
    such a family is known by where it is used. None for anything else."""
    said = [i for e in denied for i in (e.items if isinstance(e, nodes.Or) else (e,))]
    features = [i.feature for i in said if isinstance(i, nodes.Has)]
    words = lexicon.words
    places = words.set_features | words.set_places
    wide = any(isinstance(e, nodes.Or) and len({f for i in e.items for f in [getattr(i, "feature", "")]}) > 1 for e in denied)
    if len(features) < len(said) or not (wide or any(f in words.set_features for f in features)):
        return None
    if not all(f in places | {*words.besides, *words.besides.values()} for f in features) or places.isdisjoint(features):
        return None
    return disj([nodes.Recorded(f) for f in dict.fromkeys(features) if f in places])


def _left_open(expr: Expr, lexicon: Lexicon) -> bool:
    """Whether nothing but a denial on record would show that a description is not so: of what can have several values, or of a
    family that is told by what it is made for."""
    if isinstance(expr, nodes.Or) and all(isinstance(i, nodes.IsA | nodes.Named) for i in expr.items):
        return any(_left_open(i, lexicon) for i in expr.items)
    if isinstance(expr, nodes.Or | nodes.And):
        said = [i for i in expr.items if not isinstance(i, nodes.Everything | nodes.Named)]  # "(instruments for the bowel)"
        if isinstance(expr, nodes.Or) and any(_left_open(i, lexicon) for i in said):
            said = [i for i in said if not (isinstance(i, nodes.Has) and i.feature in lexicon.words.besides)]
        return bool(said) and all(_left_open(i, lexicon) for i in said)
    if isinstance(expr, nodes.IsA):
        return _by_purpose(expr.category, lexicon)
    if not isinstance(expr, nodes.Has):
        return False
    feature = lexicon.vocabulary.features.get(expr.feature)
    return feature is not None and not feature.single and not lexicon.feature(expr.feature).patterns


def _by_purpose(category: str, lexicon: Lexicon) -> bool:
    """Whether a family is told by what it is made for, or by what sources call it, with a part or a handle beside it or not."""
    told = lexicon.vocabulary.definitions.get(category, ())
    telling = {*lexicon.words.besides, names.OF_KIND}
    return any(prop in telling or prop == names.TYPE for prop, _ in told) and all(
        value == names.PATTERN or _by_purpose(value, lexicon) if prop == names.TYPE else prop in telling | lexicon.words.built
        for prop, value in told
    )


def _families(expr: Expr, lexicon: Lexicon) -> tuple[str, ...]:
    """The families in a description by name, those that one word stands for by that word; none if it says anything else."""
    each = [i for i in (expr.items if isinstance(expr, nodes.Or) else (expr,)) if not isinstance(i, nodes.Named)]
    left = [i.category for i in each if isinstance(i, nodes.IsA)]
    if len(left) < len(each):
        return ()
    said: list[str] = []
    for word, terms in lexicon.words.groups.items():
        if left and len(terms) > 1 and set(terms) <= set(left):
            said.append(word)
            left = [t for t in left if t not in terms]
    return (*(lexicon.vocabulary.label(t) for t in left), *said)


def _bears(label: str, families: tuple[str, ...]) -> bool:
    """Whether a name ends in that of a family: such an instrument is no instrument of another family."""
    return any(f" {label}".casefold().endswith(f" {f}".casefold()) for f in families)
