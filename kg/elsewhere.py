"""What people say of the jaws, asked of an instrument that has none: the teeth of a retractor are its prongs. Which part is
meant stands in ``[elsewhere]`` of the word file. Asked once the answer is "no" or says nothing; kept if it has the part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.records import replace
from kg.wording import listing

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.nodes import Expr, Question
    from kg.model import Answer


def told_elsewhere(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The answer about the part that is meant instead; None where there is none or the instrument lacks it."""
    table, tree = catalogue.lexicon.words.elsewhere, out.tree
    if (used := _on_which(catalogue, out, text, limit)) is not None:
        return used
    if isinstance(tree, nodes.Value) and len(tree.features) == 1:
        about = {catalogue.vocabulary.terms[value].feature: meant for value, meant in table.items()}
        meant = about.get(tree.features[0], ())
        if not meant or not _holds(catalogue, nodes.Holds(tree.subject, _part(meant[0])), text, limit):
            return None
        return catalogue.answer(replace(tree, features=tuple(meant[1:])), text, limit=limit)
    if isinstance(tree, nodes.PartOf) and tree.part in catalogue.lexicon.words.by_feature:
        return _by_feature(catalogue, tree, text, limit)
    if isinstance(tree, nodes.PartOf) and tree.part in table:  # "what is the groove on a grooved director for?"
        there = _holds(catalogue, nodes.Holds(tree.subject, _part(table[tree.part][0])), text, limit)
        return catalogue.answer(replace(tree, part=table[tree.part][0]), text, limit=limit) if there is not None else None
    if isinstance(tree, nodes.Holds | nodes.Why | nodes.Quantified):
        if isinstance(tree, nodes.Holds) and isinstance(tree.expr, nodes.Not) and out.argument is not None:
            return _not_without(catalogue, out, text, limit)
        if out.argument is None or out.argument.holds in (True, "some") or getattr(tree, "negated", False):
            return None
        if (isinstance(tree, nodes.Quantified) and tree.quantifier != "any") or isinstance(tree.expr, nodes.Not):
            return None
        other = _instead(tree.expr, table) if _plainly(catalogue, tree.expr, text) else None
        return None if other is None else _holds(catalogue, replace(tree, expr=other), text, limit)
    if isinstance(tree, nodes.Filter) and isinstance(tree.expr, nodes.And) and out.matches:
        return _without_both(catalogue, out, tree, text)
    return None


def _by_feature(catalogue: Catalogue, tree: nodes.PartOf, text: str, limit: int) -> Answer | None:
    """What the narrowest value of a feature is for, where a part is asked for by a word that it shares with that feature, and
    the instrument lacks the part: "what is the lock of the Kielland forceps for?"; else None."""
    feature, word = catalogue.lexicon.words.by_feature[tree.part]
    vocabulary = catalogue.vocabulary
    if vocabulary.terms[tree.subject].role != "pattern" or word not in catalogue.lexicon.keys(text):
        return None
    if _holds(catalogue, nodes.Holds(tree.subject, nodes.Not(_part(tree.part))), text, limit) is None:
        return None
    has = [
        v
        for v in vocabulary.values_of(feature)
        if _holds(catalogue, nodes.Holds(tree.subject, nodes.Has(feature, v)), text, limit)
    ]
    wider = {broad for v in has for broad in vocabulary.ancestors(v)}
    own = [v for v in has if v not in wider]
    return catalogue.answer(replace(tree, part=own[0]), text, limit=limit) if len(own) == 1 else None


def _on_which(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """What it is used on, asked of an instrument for such by words that may mean a part of it: "cowhorns - which teeth?"."""
    table, tree = catalogue.lexicon.words.on_which, out.tree
    if not isinstance(tree, nodes.Value | nodes.Holds) or not table:
        return None
    keys = catalogue.lexicon.keys(text)
    said = {" ".join(keys[at : at + 2]) for at in range(len(keys))}
    asks = any(" ".join(catalogue.lexicon.keys(words)) in said for words in table["said"])
    if not asks or {key for words in table["unless"] for key in catalogue.lexicon.keys(words)} & set(keys):
        return None
    terms = catalogue.vocabulary.terms
    subject = tree.subject if isinstance(tree, nodes.Value) else tree.pattern
    for value, (feature, used) in ((v, t) for v, t in table.items() if v in terms):
        if isinstance(tree, nodes.Value):
            meant = terms[value].feature in tree.features
        else:
            meant = isinstance(tree.expr, nodes.Has) and tree.expr.value == value
        there = nodes.Has(feature, used)
        if meant and _holds(catalogue, nodes.Holds(subject, there), text, limit) is not None:
            return catalogue.answer(nodes.Value(subject, (feature,)), text, limit=limit)
    return None


def _holds(catalogue: Catalogue, question: Question, text: str, limit: int) -> Answer | None:
    found = catalogue.answer(question, text, limit=limit)
    return found if found.argument is not None and found.argument.holds in (True, "some") else None


def _not_without(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The no to "has it no blade?", where it has the part that is meant instead; else None."""
    inner = out.tree.expr.expr
    if not isinstance(inner, nodes.HasPart) or out.argument.holds is not True or not _plainly(catalogue, inner, text):
        return None
    other = _instead(inner, catalogue.lexicon.words.elsewhere)
    if other is None or _holds(catalogue, replace(out.tree, expr=other), text, limit) is None:
        return None
    return catalogue.answer(replace(out.tree, expr=nodes.Not(other)), text, limit=limit)


def _plainly(catalogue: Catalogue, expr: Expr, text: str) -> bool:
    """Whether a part is called by its plain name: a "cutting blade" is no retracting one."""
    if not isinstance(expr, nodes.HasPart):
        return True
    from kg.yesno import Asked

    keys = catalogue.lexicon.keys
    words = [w for w in catalogue.lexicon.words.elsewhere.get(expr.part, ()) if ":" not in w]  # a lock may be a latch
    plain = [keys(w) for w in words or (catalogue.vocabulary.label(expr.part),)]
    return any(keys(typed) in plain for typed, meant in Asked(catalogue, text).named("part") if expr.part in meant)


def _part(name: str) -> Expr:
    return nodes.HasPart(name)


def _instead(expr: Expr, table: dict[str, tuple[str, ...]]) -> Expr | None:
    if isinstance(expr, nodes.HasPart) and expr.part in table:  # the blade of a speculum is a part of its own
        parts = tuple(_part(name) for name in table[expr.part] if ":" in name)
        return nodes.Or(parts) if len(parts) > 1 else parts[0]
    return _part(table[expr.value][0]) if isinstance(expr, nodes.Has) and expr.value in table else None


def _without_both(catalogue: Catalogue, out: Answer, tree: nodes.Filter, text: str) -> Answer | None:
    """ "Retractors without teeth" are none of those that have prongs; the answer without these, and a note that says so."""
    items = tree.expr.items
    inner = [
        e for i in items if isinstance(i, nodes.Not) for e in (i.expr.items if isinstance(i.expr, nodes.Or) else (i.expr,))
    ]
    denied = [_instead(e, catalogue.lexicon.words.elsewhere) for e in inner if _plainly(catalogue, e, text)]
    more = [p for part in denied if part is not None for p in (part.items if isinstance(part, nodes.Or) else (part,))]
    if not more:
        return None
    having = catalogue.answer(nodes.Filter(nodes.And((*items, nodes.Or(tuple(more))))), text, limit=1000)
    names = {m.name for m in having.matches}
    kept = tuple(m for m in out.matches if m.name not in names)
    if len(kept) == len(out.matches):
        return None
    left = listing([m.label for m in out.matches if m.name in names])
    said = listing([catalogue.vocabulary.label(p.part) for p in more])
    note = f"Left out, since they have {said} instead: {left}."
    total = None if out.match_count is None else out.match_count - len(out.matches) + len(kept)
    return replace(out, matches=kept, match_count=total, notes=(note, *out.notes))
