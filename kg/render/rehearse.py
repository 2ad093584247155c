"""A rehearsal as blocks: questions with their model answers, or without; and a marked answer, fact by fact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from kg.rehearse import Fact, Item, Mark, Marked, Sheet
from kg.render.blocks import Block, Heading, Para, Table, para, words
from kg.render.data import csv_text
from kg.render.english import BASES, CAUTION, number
from kg.render.facts import Citations
from kg.wording import listing

CREDIT = {1.0: "said", 0.5: "in part", 0.0: "not said"}
LEARNING = "What is asked and how it is marked follows the record; whether anyone learns by it was not measured."


def sheet_blocks(sheet: Sheet, *, covered: bool = False, marked: Mapping[int, Marked] | None = None) -> list[Block]:
    """All questions of a rehearsal, one instrument after the other. ``covered``: without the answers, for a candidate.

    ``marked``: number of an item -> its marked answer, shown instead of the bare facts.
    """
    out: list[Block] = [Para((("remark", "Rehearsal on: "), ("query", sheet.reading), ("remark", f" (seed {sheet.seed})")))]
    citations = Citations()
    chain = 0
    for item in sheet.items:
        if item.chain != chain:
            chain = item.chain
            out.append(Heading(f"Instrument {chain}" if covered else f"Instrument {chain}: {item.labels[0]}"))
        out.append(question_block(item))
        if covered:
            continue
        if marked and item.number in marked:
            out += marked_blocks(marked[item.number], citations)
        else:
            out += answer_blocks(item, citations)
    if len(sheet.items) < sheet.wanted:
        out.append(para(f"The record carries {number(len(sheet.items), 'question')} on this, not {sheet.wanted}.", "remark"))
    if marked:
        out.append(total_block(list(marked.values())))
    out += citations.blocks()
    return [*out, para(LEARNING, "remark"), para(CAUTION, "caution")]


def question_block(item: Item) -> Para:
    """The question by its number."""
    return Para(words(item.prompt, "query"), 0, (("number", f"{item.number}."),))


def answer_blocks(item: Item, citations: Citations) -> list[Block]:
    """The model answer, what is marked in it and who says so, and the remarks."""
    rows = tuple(_fact_row(f, citations) for f in item.facts)
    return [
        Para(words(item.answer, "name"), 1, close=True),
        Table(("counts", "fact", "rests on", "sources"), rows),
        *(Para(words(n, "remark"), 1, close=True) for n in item.notes),
    ]


def _fact_row(fact: Fact, citations: Citations) -> tuple:
    return (
        words("1 mark" if fact.required else "welcome", "remark"),
        words(fact.text),
        words(_rests(fact), "dispute" if fact.status == "disputed" else "remark"),
        words(citations.cite(fact.sources), "number"),
    )


def _rests(fact: Fact) -> str:
    notes = ["disputed"] if fact.status == "disputed" else []
    if fact.basis:
        notes.append(BASES.get(fact.basis, fact.basis).removeprefix("rests on "))
    return ", ".join(notes)


def marked_blocks(marked: Marked, citations: Citations, *, brief: bool = False) -> list[Block]:
    """The marks, what was wrong, the model answer. ``brief``: at the prompt, without what was typed."""
    item = marked.item
    out: list[Block] = []
    if not brief:
        out.append(Para(words(marked.given or "(no answer)"), 1, (("remark", "answered:"),), close=True))
    out.append(Para(words(_score(marked), "heading"), 1, close=brief))
    rows = tuple(
        (words(CREDIT[m.credit], _style(m)), words(m.fact.text), words(citations.cite(m.fact.sources), "number"))
        for m in marked.marks
        if m.fact.required or m.credit
    )
    out.append(Table(("", "fact", "sources"), rows))
    out += [Para(words(w, "error"), 1, (("error", "not so:"),), close=True) for w in marked.wrong]
    slips = [f'"{typed}" as "{read}"' for typed, read in marked.read_as]
    if slips:
        out.append(Para(words(f"Read {listing(slips)}.", "remark"), 1, close=True))
    out.append(Para(words(item.answer, "name"), 1, (("remark", "model answer:"),), close=True))
    return [*out, *(Para(words(n, "remark"), 1, close=True) for n in item.notes)]


def _score(marked: Marked) -> str:
    extra = sum(1 for m in marked.marks if m.credit and not m.fact.required)
    more = f", and {number(extra, 'thing')} more" if extra else ""
    return f"{marked.earned:g} of {number(marked.total, 'mark')}{more}"


def _style(mark: Mark) -> str:
    return "name" if mark.credit == 1 else "dispute" if mark.credit else "error" if mark.fact.required else "remark"


def total_block(marked: Sequence[Marked]) -> Para:
    """All marks together."""
    earned, total = sum(m.earned for m in marked), sum(m.total for m in marked)
    return Para(words(f"Together: {earned:g} of {number(total, 'mark')} on {number(len(marked), 'question')}.", "heading"))


def sheet_json(sheet: Sheet, *, covered: bool = False, marked: Mapping[int, Marked] | None = None) -> dict[str, Any]:
    """``Sheet.to_json``; ``covered``: the answers empty; ``marked``: each item with ``marked``, and ``earned``, ``total``."""
    out = sheet.to_json()
    for item, record in zip(out["items"], sheet.items, strict=True):
        if covered:
            item |= {"answer": "", "facts": [], "sources": [], "notes": [], "subjects": []}
        if marked and record.number in marked:
            item["marked"] = marked[record.number].to_json()
    if marked:
        out |= {"earned": sum(m.earned for m in marked.values()), "total": sum(m.total for m in marked.values())}
    return out | {"notes": [LEARNING, CAUTION]}


def sheet_csv(sheet: Sheet, *, covered: bool = False) -> str:
    """One row a fact; ``covered``: one row a question."""
    header = ("number", "instrument", "task", "question", "answer", "fact", "counts", "rests_on", "sources")
    rows: list[tuple[object, ...]] = []
    for item in sheet.items:
        if covered:
            rows.append((item.number, item.chain, item.task, item.prompt, *[""] * 5))
            continue
        for fact in item.facts:
            counts = "1" if fact.required else "welcome"
            first = (item.number, item.labels[0], item.task, item.prompt, item.answer)
            rows.append((*first, fact.text, counts, _rests(fact), "; ".join(fact.sources)))
    return csv_text(header, rows)
