"""Answers over a whole set as blocks: rankings, all or any, counts by category or source, weakly supported facts."""

from __future__ import annotations

from kg.language.nodes import EACH, PAIR, ROWS, SHARED
from kg.model import Answer, Grouped
from kg.render.blocks import Block, Heading, Table, para, words
from kg.render.english import number, short_form, shortened
from kg.render.facts import Citations
from kg.render.lists import group_blocks, match_blocks

SHOWN = 30
_RESTS_ON = {
    "": "memory or common practice",
    "one": "one source alone",
    "several": "more than one published source",
    "maker": "a maker's page at best",
    "veterinary": "veterinary sources at best",
    "textbook": "a textbook",
    "journal": "a journal article",
    "standard": "a standard",
    "museum": "a museum's record",
}
_VERDICTS = {True: "Yes.", False: "No.", "some": "Some are, some are not.", "not recorded": "Not decided by what is recorded."}


def overview_blocks(answer: Answer) -> list[Block]:
    """The blocks of an answer of the kinds extreme, quantified, tally, weak and gaps."""
    made = {"extreme": _extreme, "quantified": _quantified, "tally": _tally, "weak": _weak, "gaps": _gaps}
    return made[answer.kind](answer)


def _extreme(answer: Answer) -> list[Block]:
    rows = answer.values or ()
    if not answer.matches:
        return [para("No length is recorded for any that fit." if rows else "No pattern is known to match.", "name")]
    citations = Citations()
    table = tuple(
        (words(v.subject, "name"), words(v.label), words(v.status, "remark"), words(citations.cite(v.sources), "number"))
        for v in rows
    )
    if len({v.status for v in rows if v.status in ("longest", "shortest")}) > 1:  # both the longest and the shortest
        firsts = {v.status: v for v in reversed(rows)}
        heading = "; ".join(f"{status}: {v.subject}, {v.label}" for status, v in reversed(firsts.items()))
    elif len(answer.matches) == 1 or answer.pattern_count == 1:
        row = next((v for v in rows if v.subject == answer.matches[0].label), rows[0])
        heading = f"{row.subject}: {row.label}"
    else:
        heading = f"{number(len(answer.matches), 'pattern')} alike"
    return [para(heading, "name"), Table(("pattern", "length", "", "sources"), table, close=False), *citations.blocks()]


def _quantified(answer: Answer) -> list[Block]:
    assert answer.argument is not None
    out: list[Block] = [para(_VERDICTS[answer.argument.holds], "name")]
    rows = tuple(
        (words(g.value, "name"), words(f"{g.count:,}", "number"), words(", ".join(shortened(list(g.labels), SHOWN))))
        for g in answer.groups or ()
    )
    return [*out, Table(("", "number", "patterns, variants included"), rows, close=False)] if rows else out


def _tally(answer: Answer) -> list[Block]:
    if not answer.groups:
        bounded = getattr(answer.tree, "pick", "") not in ("", "most", "fewest")
        return [
            para(
                "None: by what is recorded, none has so many." if bounded else "Nothing is recorded that could be counted.",
                "name",
            )
        ]
    if getattr(answer.tree, "by", "").startswith(ROWS):
        each = tuple((words(g.value, "name"), words("; ".join(g.labels))) for g in answer.groups)
        return [Table(("pattern", "recorded"), each, close=False)]
    if any(g.labels for g in answer.groups):
        rows = tuple(
            (words(name, "name"), words(f"{g.count:,}", "number"), words(", ".join(shortened(list(g.labels), 6))))
            for name, g in _with_variants(answer)
        )
        return [Table(("", "number", _counted(answer)), rows, close=False)]
    return group_blocks(answer.groups, (), "")


def _with_variants(answer: Answer) -> list[tuple[str, Grouped]]:
    """(name, group) of each row of a ranking; a variant of which the same is told as of its parent is named in its row."""
    groups = answer.groups or ()
    of_label = {g.value: g for g in groups}
    label_of = {m.name: m.label for m in answer.matches}
    parents = {m.label: label_of[m.variant_of] for m in answer.matches if m.variant_of in label_of}
    same = {v: p for v, p in parents.items() if of_label[v].labels == of_label[p].labels}
    named: dict[str, list[str]] = {}
    for variant, parent in same.items():
        named.setdefault(parent, []).append(short_form(variant, parent))
    rows = [g for g in groups if g.value not in same]
    return [(f"{g.value} ({', '.join(named[g.value])})" if g.value in named else g.value, g) for g in rows]


def _counted(answer: Answer) -> str:
    by = getattr(answer.tree, "by", "")
    if by.startswith(PAIR) or by in ("sign", "basis"):
        return "what tells them apart" if by.startswith(PAIR) else "share"
    if by.startswith(EACH):
        if SHARED in by:
            return "in common"
        counted = {"name": "other names", "source": "sources", "category": "categories", "eponym": "names"}
        return counted.get(by.removeprefix(EACH), "values")
    return {"alike": "look-alikes", "eponym": "patterns, variants left out", "source": "of these patterns"}.get(
        by, "patterns, variants included"
    )


def _gaps(answer: Answer) -> list[Block]:
    if not answer.count:
        return [para("No pattern is known to match.", "name")]
    one = answer.count == 1
    looked = "1 pattern looked at" if one else f"{number(answer.count, 'pattern')}, variants included, looked at"
    if not answer.groups:
        return [para(f"{looked}: nothing that is usually recorded is missing.", "name")]
    if one:
        return [para(f"Not recorded: {', '.join(g.value for g in answer.groups)}.", "name")]
    rows = tuple(
        (words(g.value, "name"), words(f"{g.count:,}", "number"), words(", ".join(shortened(list(g.labels), 6))))
        for g in answer.groups
    )
    return [para(f"{looked}; not recorded of them:", "name"), Table(("not recorded", "of", "patterns"), rows, close=False)]


def _weak(answer: Answer) -> list[Block]:
    count, patterns = answer.count or 0, answer.pattern_count or 0
    basis = _RESTS_ON[getattr(answer.tree, "basis", "")]
    text = f"{number(count, 'fact rests', 'facts rest')} on {basis}"
    out: list[Block] = [para(f"{text}, of {number(patterns, 'pattern')}." if count else f"{text}.", "name")]
    citations = Citations()
    rows = tuple(
        (words(v.feature), words(v.label), words(" ".join(filter(None, (v.status, citations.cite(v.sources)))), "remark"))
        for v in answer.values or ()
    )
    if rows:
        out.append(Table(("", "", ""), rows, key=1, blank_repeats=1))
        out += citations.blocks()
    if answer.matches:
        out.append(Heading("Without any published witness"))
        out += match_blocks(answer)
    return out
