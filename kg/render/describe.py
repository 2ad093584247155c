"""Descriptions, telling signs and look-alikes as blocks: what to say aloud first, then who says so."""

from __future__ import annotations

from collections.abc import Sequence

from kg.model import Answer, Description, LookAlike, Spoken, TellingSigns
from kg.render.blocks import Block, Heading, Para, Table, para, words
from kg.render.english import number
from kg.render.facts import Citations
from kg.render.lists import disputed_blocks, possible_blocks

SHOWN_SETS = 6
SHOWN_ALIKE = 12
SHOWN_NAMES = 10
_SECTIONS = ("parts", "use", "not_used_on", "handling", "pieces", "make", "reprocessing", "standards")


def description_blocks(description: Description) -> list[Block]:
    """The spoken text as a paragraph, then a table of its facts with witnesses, the categories and the disputes."""
    citations = Citations()
    out: list[Block] = [Heading("To say aloud"), Para(words(description.spoken, "name"), 1)]
    facts = [s for section in _SECTIONS for s in getattr(description, section)]
    rows = tuple(
        (words(s.about), words(_text(s)), words(_status(s), "remark"), words(citations.cite(s.sources), "number"))
        for s in facts
    )
    if rows:
        out += [Heading("Who says so"), Table(("part", "fact", "status", "sources"), rows, key=2, blank_repeats=1)]
    if description.categories:
        belongs = tuple((words(c.label), words(c.reason)) for c in description.categories)
        out += [Heading("Categories"), Table(("category", "why"), belongs)]
    out += disputed_blocks(description.disputes, "Disputed")
    return out + citations.blocks()


def _text(said: Spoken) -> str:
    return f"{said.feature}: not recorded" if said.status == "not recorded" else said.text


def _status(said: Spoken) -> str:
    return f"{said.status}, said of {said.inherited_from}" if said.inherited_from else said.status


# --- telling signs --------------------------------------------------------------------------------------------------
def telling_blocks(signs: TellingSigns) -> list[Block]:
    """The smallest sets of signs, each as one line; then the patterns that nothing recorded tells apart."""
    if signs.open_count or (not signs.sets and not signs.inseparable):
        return _shared(signs)
    out: list[Block] = []
    if signs.sets:
        size = len(signs.sets[0])
        every = f"{number(size, 'sign')} {'tells' if size == 1 else 'together tell'} it from {_those(signs)}"
        out.append(Heading(every if len(signs.sets) == 1 else f"{every}; {len(signs.sets)} such sets"))
        shown = signs.sets[:SHOWN_SETS]
        out += [
            Para(words("; ".join(f"{f}: {v}" for f, v in found), "name"), 1, (("number", f"{n}."),), close=True)
            for n, found in enumerate(shown, 1)
        ]
        if len(signs.sets) > len(shown):
            out.append(para(f"and {len(signs.sets) - len(shown)} more", "remark", indent=1, close=True))
    else:
        out.append(para(f"Nothing recorded tells it from any of {_those(signs)}.", "name"))
    if signs.inseparable:
        out.append(Heading("Not told apart by what is recorded"))
        rest = len(signs.inseparable) - SHOWN_NAMES
        named = ", ".join(signs.inseparable[:SHOWN_NAMES]) + (f" and {rest} more" if rest > 0 else "")
        out.append(Para(words(named), 1, close=True))
    return out


def _those(signs: TellingSigns) -> str:
    separable = signs.compared - len(signs.inseparable)
    if not separable:
        return f"the {number(signs.compared, 'other')} among {signs.scope}"
    return (
        f"{separable} of {number(signs.compared, 'other')} among {signs.scope}"
        if signs.inseparable
        else (f"{number(signs.compared, 'other')} among {signs.scope}")
    )


def _shared(signs: TellingSigns) -> list[Block]:
    """A category's signs: those that no outsider can have, then those that some may have though it is not recorded."""
    if not signs.sets:
        text = f"No recorded fact is shared by all {signs.subject} and by no other pattern."
        return [para(text, "name")]
    out: list[Block] = [Heading(f"All {signs.subject} have it, and no other pattern is recorded with it")]
    for found, count in zip(signs.sets, signs.open_count, strict=True):
        remark = f" (not recorded either way for {number(count, 'other pattern')})" if count else ""
        line = "; ".join(f"{f}: {v}" for f, v in found)
        out.append(Para((("name", line), ("remark", remark)), 1, close=True))
    return out


# --- look-alikes ----------------------------------------------------------------------------------------------------
def look_alike_blocks(alike: Sequence[LookAlike]) -> list[Block]:
    """The nearest look-alikes with the signs that decide; the rest is counted."""
    if not alike:
        return [para("No look-alike is recorded: too little is recorded of it, or everything else differs more.", "name")]
    out: list[Block] = [Heading(number(len(alike), "look-alike"))]
    shown = alike if len(alike) <= SHOWN_ALIKE + 1 else alike[:SHOWN_ALIKE]
    rows = tuple(
        (words(a.label, "name"), words("; ".join(f"{f}: {here} here, {there} there" for f, here, there in a.signs) or _NONE))
        for a in shown
    )
    out.append(Table(("look-alike", "what decides"), rows))
    if len(alike) > len(shown):
        out.append(para(f"and {len(alike) - len(shown)} more", "remark", indent=1, close=True))
    return out


def alike_blocks(alike: Sequence[LookAlike]) -> list[Block]:
    """The patterns that are like a named one and fit, with what they also differ in."""
    if not alike:
        return [para("No pattern like it is known to match.", "name")]
    out: list[Block] = [Heading(number(len(alike), "pattern like it matches", "patterns like it match"))]
    rows = tuple(
        (words(a.label, "name"), words("; ".join(f"{f}: {there}, not {here}" for f, here, there in a.signs) or _NONE))
        for a in alike[:SHOWN_ALIKE]
    )
    out.append(Table(("pattern", "also differs in"), rows))
    if len(alike) > SHOWN_ALIKE:
        out.append(para(f"and {len(alike) - SHOWN_ALIKE} more", "remark", indent=1, close=True))
    return out


_NONE = "nothing recorded that can be seen"


def bench_blocks(answer: Answer) -> list[Block] | None:
    """The blocks of an answer of these kinds; None for every other kind."""
    if answer.description is not None:
        return description_blocks(answer.description)
    if answer.telling is not None:
        return telling_blocks(answer.telling)
    if answer.look_alikes is None:
        return None
    if answer.kind == "like":
        return alike_blocks(answer.look_alikes) + possible_blocks(answer)
    return look_alike_blocks(answer.look_alikes)


def bench_csv(answer: Answer) -> tuple[tuple[str, ...], list[tuple[object, ...]]] | None:
    """(header, rows) of an answer of these kinds; None for every other kind."""
    if (described := answer.description) is not None:
        rows: list[tuple[object, ...]] = [
            (section, s.about, s.feature, s.text, s.status, s.inherited_from, "; ".join(s.sources))
            for section in _SECTIONS
            for s in getattr(described, section)
        ]
        rows += [("categories", "", "", f"is {c.label} {c.reason}", "inferred", "", "") for c in described.categories]
        return ("section", "part", "feature", "text", "status", "said_of", "sources"), rows
    if answer.telling is not None:
        sets = [(n, f, v) for n, found in enumerate(answer.telling.sets, 1) for f, v in found]
        return ("set", "feature", "value"), [*sets, *(("", "not told apart", label) for label in answer.telling.inseparable)]
    if answer.look_alikes is not None:
        alike = [
            (a.label, len(a.signs), a.shared, "; ".join(f"{f}: {x} / {y}" for f, x, y in a.signs)) for a in answer.look_alikes
        ]
        return ("label", "differences", "shared", "deciding_signs"), alike
    return None
