"""No instead of "not recorded": what an instrument cannot be, since being it would make it something that it is recorded not to
be. A retractor that somebody must hold is none that is made to hold a wound open, though no source says so in these words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg import names
from kg.language import nodes
from kg.model import VARIES
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.nodes import Expr
    from kg.model import Answer

_DECIDES = "fails: "
BOTH = f"({VARIES}: "


def taken_for(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The yes of one instrument where the word asked about is recorded of another of its parts ("is the Deaver curved?": its
    blade is); None where nothing of the kind holds, and for what an instrument is made for."""
    tree, argument = out.tree, out.argument
    if not isinstance(tree, nodes.Holds) or argument is None or argument.holds is True or argument.holds == "disputed":
        return None
    if isinstance(tree.expr, nodes.And) and argument.holds is False:
        return _used_besides(catalogue, out, text, limit)
    words, vocabulary = catalogue.lexicon.words, catalogue.vocabulary
    if (
        not isinstance(tree.expr, nodes.Has)
        or tree.expr.feature in words.besides
        or out.disputed
        or BOTH in str(argument.missing)
    ):
        return None
    for name in words.kin.get(tree.expr.value, ()):
        term = vocabulary.terms.get(name)
        if term is None or term.role in ("category", "part") or term.feature in (tree.expr.feature, ""):
            continue
        found = catalogue.answer(nodes.Holds(tree.pattern, nodes.Has(term.feature, name)), text, limit=limit)
        if found.argument is not None and found.argument.holds is True:
            note = f'"{vocabulary.label(tree.expr.value)}" is taken for "{vocabulary.label(name)}", which is recorded.'
            return replace(found, notes=(note, *found.notes))
    return None


def _used_besides(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The answer about one that is made for something else but used for this as well, where only what it is made for makes it a
    no ("is a mouth mirror used to retract the cheek?"); None where it stays a no."""
    from kg.language.atodds import or_besides

    items = tuple(or_besides(i, catalogue.lexicon) for i in out.tree.expr.items)
    if items == out.tree.expr.items:
        return None
    found = catalogue.answer(replace(out.tree, expr=replace(out.tree.expr, items=items)), text, limit=limit)
    return found if found.argument is not None and found.argument.holds is not False else None


def ruled_out(catalogue: Catalogue, out: Answer) -> Answer:
    """An answer of one instrument that is a no by what follows from what was asked; as it was where nothing decides it."""
    tree, argument = out.tree, out.argument
    if not isinstance(tree, nodes.Holds) or argument is None or argument.holds != "not recorded":
        return out
    for feature, value in _asked(catalogue, tree.expr):
        told = _against(catalogue, tree.pattern, feature, value)
        if told:
            label = catalogue.vocabulary.label(value)
            return replace(
                out,
                argument=replace(argument, holds=False, missing=(told, *argument.missing)),
                notes=(f'"{label}" is not recorded in so many words; it would need what fails.', *out.notes),
            )
    return out


def _asked(catalogue: Catalogue, expr: Expr) -> list[tuple[str, str]]:
    """The values that a description needs, all of them; also those that define a family."""
    if isinstance(expr, nodes.And):
        return [each for item in expr.items for each in _asked(catalogue, item)]
    if isinstance(expr, nodes.Has):
        return [(expr.feature, expr.value)]
    if isinstance(expr, nodes.IsA):
        told = catalogue.vocabulary.definitions.get(expr.category, ())
        return [c for c in told if c[0] in catalogue.vocabulary.features]
    return []


def _against(catalogue: Catalogue, pattern: str, feature: str, value: str) -> str:
    """What follows from a value, or is needed by it, and is recorded not to be so, as it is told; empty if nothing is."""
    part = catalogue.lexicon.words.needing.get(value, ())
    follows = catalogue.context.engine.types_only([(feature, value)])
    features = catalogue.vocabulary.features
    needs: list[Expr] = [nodes.HasPart(p) for p in part]
    needs += [nodes.Has(f, v) for f, v in sorted(follows) if f in features and f != feature]
    needs += [nodes.HasPart(v) for f, v in sorted(follows) if f == names.HAS_PART]
    for need in needs:
        found = catalogue.answer(nodes.Holds(pattern, need), "", limit=1).argument
        if found is not None and found.holds is False:
            return next((m for m in found.missing if _DECIDES in m), "")
    return ""


__all__ = ["ruled_out", "taken_for"]
