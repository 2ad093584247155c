"""Yes or no before notes on care: "can carbide be autoclaved?", "should the ratchet be shut in the steriliser?".

It is said only where the notes themselves decide it, as the verdicts of ``ontology/care.toml`` put it; each is a question (may
it be, must it be, does it), the topics that it is about, and the answer. What is asked of more than these topics gets none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from kg.language import nodes

if TYPE_CHECKING:
    from kg.answer import Context
    from kg.catalogue import Catalogue
    from kg.model import Answer
    from kg.yesno import Asked

_OPPOSITE = {"yes": "no", "no": "yes"}


def on_care(ctx: Context, tree: nodes.Question | None, asked: Asked) -> str:
    """What is said before notes on care; empty where no verdict decides what was asked."""
    table: Mapping[str, Any] = ctx.tables.get("care", {})
    if not isinstance(tree, nodes.CareNotes) or tree.subject or asked.says("not"):
        return ""
    said = frozenset(
        answer
        for verdict in table.get("verdict", ())
        if _asks(asked.keys, verdict["asks"], table) and _about(tree.topics, verdict, table.get("topic", {}))
        if (answer := _answer(asked.keys, verdict, table))
    )
    return str(table.get("told", {}).get(next(iter(said)), "")) if len(said) == 1 else ""


def by_risk(catalogue: Catalogue, tree: nodes.Question | None, asked: Asked) -> str:
    """Whether disinfection is enough for an instrument, or whether it must be sterile, as its risk category has it."""
    table: Mapping[str, Any] = catalogue.context.tables.get("care", {})
    words = table.get("enough", {})
    if not isinstance(tree, nodes.Reprocessing) or asked.says("not"):
        return ""
    said = {kind: any(_stands(asked.keys, w) for w in words.get(kind, ())) for kind in words}
    which = "enough" if said.get("enough") and said.get("disinfected") else "sterile"
    obliged = _asks(asked.keys, ("must",), table)
    if which == "sterile" and (not said.get("sterile") or said.get("disinfected") or not obliged):
        return ""
    for risk in table.get("risk", ()):
        expr = nodes.And(tuple(nodes.Has(f, v) for f, v in risk["of"])) if len(risk["of"]) > 1 else nodes.Has(*risk["of"][0])
        if _is_so(catalogue, tree.subject, expr):
            return str(risk[which])
    return ""


def by_record(catalogue: Catalogue, tree: nodes.Question | None, asked: Asked) -> str:
    """Whether one family that is named may be cleaned so, as is recorded of all of its members ("can a rongeur go in the
    autoclave?"); empty where it is not, or where more is asked."""
    table: Mapping[str, Any] = catalogue.context.tables.get("care", {})
    if not isinstance(tree, nodes.CareNotes | nodes.Reprocessing) or asked.says("not"):
        return ""
    may = _asks(asked.keys, ("may",), table)
    families = {term for _, meant in asked.named("category", "pattern") for term in meant}
    if isinstance(tree, nodes.Reprocessing):
        families &= {tree.subject}
    if len(families) != 1 or asked.named("kind", "group"):
        return ""
    one = min(families)
    for each in table.get("recorded", ()):
        if not may and not any(_stands(asked.keys[: len(word.split())], word) for word in each["begins"]):
            continue
        if each["about"] not in getattr(tree, "topics", (each["about"],)) or any(
            _stands(asked.keys, w) for w in each["unless"]
        ):
            continue
        if not any(_stands(asked.keys, w) for w in each["words"]):
            continue
        if _is_so(catalogue, one, nodes.Has(*each["of"])):
            return str(each["yes"])
    return ""


def _is_so(catalogue: Catalogue, subject: str, expr: nodes.Expr) -> bool:
    """Whether something is so of an instrument, or of all of a family."""
    one = catalogue.vocabulary.terms[subject].role == "pattern"
    question = nodes.Holds(subject, expr) if one else nodes.Quantified(nodes.IsA(subject), expr, "all")
    found = catalogue.answer(question, "", limit=1).argument
    return found is not None and found.holds is True


def noted_instead(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """Notes on care, where a yes or no of all instruments of a material is not decided and the notes speak of it; else None."""
    if not isinstance(out.tree, nodes.Quantified) or out.argument is None or out.argument.holds != "not recorded":
        return None
    if not isinstance(out.tree.scope, nodes.Has):
        return None
    from kg.language.upkeep import notes_asked

    notes = notes_asked(text, catalogue.lexicon, catalogue.talk, None)
    if notes is None or notes.unread:
        return None
    found = catalogue.answer(notes.question, text, limit=limit)
    return found if found.kind == "reprocessing" else None


def _asks(keys: Sequence[str], kinds: Sequence[str], table: Mapping[str, Any]) -> bool:
    """Whether a question begins with a word of one of these kinds; what must be, with "do" and "have to" behind it, too."""
    asking = table.get("asking", {})

    def begins(words: Sequence[str]) -> bool:
        return any(_stands(keys[: len(word.split())], word) for word in words)

    if "must" in kinds and begins(asking.get("asked", ())) and any(_stands(keys, w) for w in asking.get("obliged", ())):
        return True
    return any(begins(asking.get(kind, ())) for kind in kinds)


def _about(topics: Sequence[str], verdict: Mapping[str, Any], known: Mapping[str, Mapping[str, Any]]) -> bool:
    """Whether the question is about all that a verdict is about, and about nothing else but things."""
    wanted = [frozenset(each.split("|")) for each in verdict["to"]]
    besides = {*verdict.get("with", ()), *(t for each in wanted for t in each)}
    left = [t for t in topics if t not in besides and known[t]["kind"] != "thing" and not known[t].get("any")]
    return not left and all(not each.isdisjoint(topics) for each in wanted)


def _answer(keys: Sequence[str], verdict: Mapping[str, Any], table: Mapping[str, Any]) -> str:
    """The answer of a verdict; its opposite where something is asked about as shut that is to be open; empty where a word is
    missing that it needs, or stands there that turns it round."""
    needs, unless = verdict.get("needs", ()), verdict.get("unless", ())
    if (needs and not any(_stands(keys, w) for w in needs)) or any(_stands(keys, w) for w in unless):
        return ""
    if not verdict.get("open"):
        return str(verdict["says"])
    shut, opened = (any(_stands(keys, w) for w in table.get("asking", {}).get(kind, ())) for kind in ("shut", "opened"))
    if shut == opened:
        return ""
    return _OPPOSITE[verdict["says"]] if shut else str(verdict["says"])


def _stands(keys: Sequence[str], words: str) -> bool:
    wanted = words.split()
    return any(list(keys[at : at + len(wanted)]) == wanted for at in range(len(keys) - len(wanted) + 1))


__all__ = ["by_record", "by_risk", "noted_instead", "on_care"]
