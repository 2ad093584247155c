"""Recorded values, comparisons and arguments as blocks, with their witnesses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kg.model import Argument, Comparison, Difference, Placement, Reason, UsualSign, Valued
from kg.render.blocks import Block, Heading, Para, Spans, Table, Verbatim, para, words
from kg.render.english import SHOWN_SOURCES, number, shortened
from kg.render.lists import disputed_blocks
from kg.wording import article

SHOWN_EXCEPTIONS = 3
"""At most so many counter-examples of a usual sign are named; the rest is counted."""


SHOWN_PLACES = 8
"""At most so many categories are named under each head of a new category's place; JSON names all."""


class Citations:
    """Numbers for sources, so that a table can cite them shortly; the numbered list comes below it."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def cite(self, sources: Sequence[str]) -> str:
        """``1, 4 and 2 more``; the empty text for no sources."""
        named = [str(self._numbers.setdefault(s, len(self._numbers) + 1)) for s in sources[:SHOWN_SOURCES]]
        rest = len(sources) - len(named)
        return ", ".join(named) + (f" and {rest} more" if rest > 0 else "")

    def blocks(self) -> list[Block]:
        """The numbered list of the sources cited; empty if none was."""
        if not self._numbers:
            return []
        size = len(str(len(self._numbers)))
        listed = [
            Para(words(source, "source"), 1, (("number", f"{n:>{size}}"),), close=True) for source, n in self._numbers.items()
        ]
        return [Heading("Sources"), *listed]


# --- values ---------------------------------------------------------------------------------------------------------
def value_blocks(values: Sequence[Valued], kind: str) -> list[Block]:
    """A table of feature, value, status and sources, with whom each value was said of; a definition as paragraphs."""
    if not values:
        return []
    if kind == "define":
        return _definition(values)
    if all(v.status == "not recorded" for v in values):
        about = ", ".join(dict.fromkeys(v.feature for v in values if v.feature))
        text = f"Not recorded{': ' + about if about else ''}. No source in the catalogue says it; it may still be so."
        return [para(text, "name")]
    citations = Citations()
    subjects = list(dict.fromkeys(v.subject for v in values if v.subject))
    letters = {s: chr(ord("a") + i) if i < 26 else str(i) for i, s in enumerate(subjects)} if len(subjects) > 1 else {}
    rows = []
    for v in values:
        status = f"{v.status} ({letters[v.subject]})" if v.subject in letters else v.status
        style = "dispute" if v.status == "disputed" else "remark"
        sources = citations.cite(v.sources)
        rows.append((words(v.feature), words(v.label, "name"), words(status, style), words(sources, "number")))
    out: list[Block] = []
    if len(subjects) == 1:
        out.append(para(f"Said of: {subjects[0]}"))
    out.append(Table(("feature", "value", "status", "sources"), tuple(rows), key=2, blank_repeats=1, close=False))
    if letters:
        out.append(Heading("Said of"))
        out += [Para(words(s), 1, (("remark", f"({letter})"),), close=True) for s, letter in letters.items()]
    return out + citations.blocks()


def _definition(values: Sequence[Valued]) -> list[Block]:
    """The definition with its source, then what else is known of the term, each after its name."""
    out: list[Block] = []
    for v in values:
        if not out or v.feature == "definition":
            named = (("", f"{v.subject}: "),) if v.subject else ()
            out.append(Para((*named, ("name", v.label))))
        else:
            out.append(Para((("remark", f"{v.feature}: "), ("", v.label)), 1, close=True))
        out += [Para(words(s, "source"), 1, close=True) for s in v.sources]
    return out


# --- comparisons ----------------------------------------------------------------------------------------------------
def comparison_blocks(comparison: Comparison) -> list[Block]:
    """The deciding lines first, then differences by part, what is shared, what is not recorded, and disputes."""
    citations = Citations()
    subjects = comparison.subjects
    out: list[Block] = []
    if comparison.telling_signs:
        out.append(Heading("What tells them apart"))
        out += [Para(words(sign, "name"), 1, close=True) for sign in comparison.telling_signs]
    if comparison.differences:
        out.append(Heading("Differences"))
        out.append(_lines(comparison.differences, subjects, citations))
        if not any(d.decides for d in comparison.differences):
            out.append(para("No single feature decides between all of them.", "remark", indent=1))
    elif comparison.only_telling:
        out.append(para("No recorded feature decides between them. That does not mean that nothing does.", "name"))
    else:
        out.append(para("No difference is recorded. That does not mean that there is none.", "name"))
    if comparison.shared:
        rows = [(words(d.part), words(d.feature), words(", ".join(d.values[0][1]))) for d in comparison.shared]
        out += [Heading("Shared"), Table(("part", "feature", "value"), tuple(rows), key=2, blank_repeats=1)]
    if comparison.not_recorded:
        out += [Heading("Not recorded for all of them"), _lines(comparison.not_recorded, subjects, None)]
    out += _signs(comparison.usual_signs, citations)
    out += disputed_blocks(comparison.disputes, "Disputed")
    out += citations.blocks()
    if comparison.basis:
        out.append(para("Compared by " + "; ".join(comparison.basis) + ".", "remark"))
    return out


def _signs(signs: Sequence[UsualSign], citations: Citations) -> list[Block]:
    """What sources say of the kinds in general; usual signs with their exceptions, since they define nothing."""
    if not signs:
        return []
    rows = []
    for sign in signs:
        against = ", ".join(sign.counter_examples[:SHOWN_EXCEPTIONS])
        more = len(sign.counter_examples) - SHOWN_EXCEPTIONS
        against += f" and {more} more" if more > 0 else ""
        often = "of all" if sign.always else "of some"
        mark = (("number", f" [{citations.cite(sign.sources)}]"),) if sign.sources else ()
        rows.append((words(sign.category), (*words(f"{sign.feature}: {sign.value}"), *mark), words(often), words(against)))
    table = Table(("category", "sign", "said", "recorded otherwise"), tuple(rows), key=2, blank_repeats=1)
    return [Heading("Usual signs, as sources give them of the kind; they define nothing"), table]


def _lines(lines: Iterable[Difference], subjects: Sequence[str], citations: Citations | None) -> Table:
    rows = []
    for line in lines:
        sources = dict(line.sources)
        cells: list[Spans] = []
        for label, values in line.values:
            cited = citations.cite(sources.get(label, ())) if citations else ""
            mark = (("number", f" [{cited}]"),) if cited else ()
            cells.append((*words(", ".join(values)), *mark))
        rows.append((words(line.part), words(line.feature), *cells))
    return Table(("part", "feature", *subjects), tuple(rows), key=2, blank_repeats=1)


# --- arguments ------------------------------------------------------------------------------------------------------
_VERDICTS = {
    ("holds", True): "Yes.",
    ("holds", False): "No.",
    ("why", True): "It is so.",
    ("why", False): "It is not so.",
    ("why not", False): "The question supposes what is not so.",
    ("contrast", True): "It is so of the first and not of the second.",
    ("contrast", False): "The question supposes what is not so.",
}
MADE_BOTH_WAYS = "(varies: "
"""What an open condition says of a pattern of which some pieces are so and others not."""
_OPEN = {
    "not recorded": "Not recorded: the sources of the catalogue do not decide it. It may be so or not.",
    "disputed": "Disputed: the sources disagree.",
}


def argument_blocks(argument: Argument, kind: str, disputed: bool = False) -> list[Block]:
    """The verdict, then each way to it as numbered sentences with witnesses under each; or what is missing.

    ``disputed``: sources disagree on what was asked, which the verdict must not hide.
    """
    holds = argument.holds
    if argument.negated and kind == "why" and holds is False:
        kind = "why not"
    varies = holds == "not recorded" and argument.missing and all(MADE_BOTH_WAYS in m for m in argument.missing)
    verdict = (
        "Of some pieces: it is made both ways."
        if varies
        else _OPEN.get(str(holds)) or _VERDICTS.get((kind, bool(holds))) or _VERDICTS[("why", bool(holds))]
    )
    if disputed and not isinstance(holds, str):
        verdict = verdict.rstrip(".") + ", by the weight of the sources; but they disagree, see below."
    out: list[Block] = [para(verdict, "name")]
    ways = argument.justifications
    seen: set[Reason] = set()
    alone = "What makes the difference" if kind == "contrast" else "Because"
    for i, way in enumerate(ways, 1):
        title = alone if len(ways) == 1 else f"Because ({'one of ' if i == 1 else ''}{len(ways)} ways)"
        out.append(Heading(title if i == 1 else f"Or because ({i} of {len(ways)})"))
        for n, reason in enumerate(way, 1):
            out += _reason(reason, n, reason in seen)
            seen.add(reason)
    if argument.capped:
        out.append(para(f"There are more ways; {number(len(ways), 'is', 'are')} shown.", "remark"))
    if argument.missing:
        out.append(Heading(_missing_title(holds, kind)))
        out += [Para(words(m), 1, (("number", f"{n}."),), close=True) for n, m in enumerate(argument.missing, 1)]
    return out


def _missing_title(holds: bool | str, kind: str) -> str:
    if kind == "contrast":
        return "What is otherwise"
    return "What is open" if isinstance(holds, str) else "What fails or is not recorded"


def _reason(reason: Reason, number_: int, again: bool) -> list[Block]:
    mark = ((("dispute", " (disputed)"),)) if reason.disputed else ()
    out: list[Block] = [Para((("", reason.text), *mark), 1, (("number", f"{number_}."),), close=True)]
    if again and reason.sources:
        return [*out, Para(words("sources as above", "source"), 3, close=True)]
    shown = reason.sources[:SHOWN_SOURCES]
    out += [Para(words(s, "source"), 3, close=True) for s in shown]
    if len(reason.sources) > len(shown):
        out.append(Para(words(f"and {len(reason.sources) - len(shown)} more", "source"), 3, close=True))
    return out


# --- new categories ---------------------------------------------------------------------------------------------------
def placement_blocks(placement: Placement) -> list[Block]:
    """The place of a new category among the others, then its definition in OWL. Its members are listed elsewhere."""
    if placement.impossible:
        out: list[Block] = [para(f"Nothing can be {article(placement.label)}: {placement.impossible}.", "name")]
    else:
        rows = (
            ("the same as", placement.equivalent),
            ("lies within", placement.broader),
            ("includes", placement.narrower),
            ("excludes", placement.disjoint),
        )
        out = [Heading(f"Where {article(placement.label)} stands")]
        told = [(words(name, "remark"), words(", ".join(shortened(labels, SHOWN_PLACES)))) for name, labels in rows if labels]
        if told:
            out.append(Table(("", ""), tuple(told), key=1))
        else:
            out.append(para("It lies within no other category, includes none and excludes none.", close=True))
        out += [Para(words(text, "remark"), 1, close=True) for text in placement.by_members]
    out.append(Heading("In OWL"))
    out.append(Verbatim(tuple(("query", line) for line in placement.turtle.rstrip().splitlines()), close=True))
    return out
