"""An answer of any kind as blocks, in a fixed order: reading, result, disputes, what is open, remarks, verification."""

from __future__ import annotations

from kg.model import Answer
from kg.render.blocks import Block, Heading, Para, para, words
from kg.render.care import care_blocks, cycle_blocks
from kg.render.describe import bench_blocks
from kg.render.english import CAUTION, number
from kg.render.facts import argument_blocks, comparison_blocks, placement_blocks, value_blocks
from kg.render.lists import disputed_blocks, group_blocks, match_blocks, match_heading, nothing_left, possible_blocks
from kg.render.sketches import with_sketches


def answer_blocks(answer: Answer, *, plain: bool = False) -> list[Block]:
    """Every block of an answer. Never empty: an answer without a result says so. ``plain``: sketches in ASCII only."""
    out = _read_and_found(answer, plain)
    notes, further = dict.fromkeys(answer.notes), answer.also
    while further is not None:
        heading = "What sources say of the reason" if further.kind == "reasons" else "And the other question"
        out += [Heading(heading), *_read_and_found(further, plain)]
        notes |= dict.fromkeys(further.notes)
        further = further.also
    if notes:
        out.append(Heading("Note" if len(notes) == 1 else "Notes"))
        out += [Para(words(note, "caution"), 1, close=True) for note in notes]
    if answer.next_questions:
        out.append(Heading("You could ask next"))
        out += [Para(words(question, "query"), 1, close=True) for question in answer.next_questions]
    if answer.verified_by:
        who = answer.verified_by
        text = f"Inferences {who}." if who.startswith("not ") else f"Inferences verified by {who}."
        out.append(para(text, "remark"))
    if CAUTION not in answer.notes:
        out.append(para(CAUTION, "caution", close=bool(answer.verified_by)))
    return out


NO_REASON = "That is what is recorded; a reason why something is made or done so is not."


def _read_and_found(answer: Answer, plain: bool) -> list[Block]:
    """How a question was read, and its result."""
    out: list[Block] = []
    if answer.reading:
        out.append(Para((("remark", "I read this as: "), ("query", answer.reading))))
    if answer.unread is not None:
        named = ", ".join(f'"{w}"' for w in answer.unread)
        start = f"Not understood: {named}. Here is" if named else "Read broadly: this is"
        out.append(Para(words(f"{start} what is recorded of what you named; it is no yes or no.", "caution")))
    if answer.verdict:
        out.append(para(answer.verdict, "name"))
    return out + with_sketches(result_blocks(answer), answer.sketches, plain)


def result_blocks(answer: Answer) -> list[Block]:
    """The blocks of the result alone, without the reading, the remarks and the cautions."""
    if answer.identification is not None:
        from kg.render.identify import identification_blocks

        return identification_blocks(answer.identification, brief=True)
    bench = bench_blocks(answer)
    if bench is not None:
        return bench
    if answer.cycles is not None:
        return cycle_blocks(answer.cycles)
    if answer.care is not None:
        recorded = [Heading("Methods on record"), *value_blocks(answer.values, answer.kind)] if answer.values else []
        return care_blocks(answer.care, len(answer.matches)) + recorded + disputed_blocks(answer.disputed, "Disputed")
    if answer.comparison is not None:
        if answer.comparison.of_set:
            from kg.render.apart import set_blocks

            return set_blocks(answer)
        return comparison_blocks(answer.comparison)
    if answer.argument is not None and answer.kind != "quantified":
        told = argument_blocks(answer.argument, answer.kind, bool(answer.disputed))
        told += disputed_blocks(answer.disputed, "Disputed")
        if answer.values:
            reasoned = answer.also is not None and answer.also.kind == "reasons"
            told += ([] if reasoned else [para(NO_REASON, "remark")]) + [
                Heading("What bears on it"),
                *value_blocks(answer.values, "value"),
            ]
        return told
    if answer.kind in ("extreme", "quantified", "tally", "weak", "gaps"):
        from kg.render.overview import overview_blocks

        return overview_blocks(answer)
    if answer.placement is not None:
        members = [] if answer.placement.impossible else _patterns(answer)
        return placement_blocks(answer.placement) + members
    if answer.kind == "disputes":
        if not answer.disputed:
            return [] if answer.verdict else [para("No dispute is recorded.", "name")]
        return disputed_blocks(answer.disputed, f"{number(len(answer.disputed), 'dispute')} recorded")
    if answer.values is not None:
        return _values(answer)
    return _patterns(answer)


def _values(answer: Answer) -> list[Block]:
    out = value_blocks(answer.values or (), answer.kind)
    if answer.matches:
        out.append(para(f"Counted over {number(len(answer.matches), 'pattern')}, variants included.", "remark"))
    return (out or [para("Nothing is recorded.", "name")]) + disputed_blocks(answer.disputed, "Disputed")


def _patterns(answer: Answer) -> list[Block]:
    heading = match_heading(answer)
    out: list[Block] = []
    if not answer.matches:
        open_too = nothing_left(answer)
        out.append(para(heading, "name"))
        out += [para(open_too, close=True)] if open_too else []
    else:
        out.append(Heading(heading))
        if answer.groups:
            out += group_blocks(answer.groups, answer.matches, "category" if answer.kind == "classify" else "value")
        else:
            out += match_blocks(answer)
    count = number(len(answer.disputed), "pattern is disputed: it", "patterns are disputed: they")
    out += disputed_blocks(answer.disputed, f"{count} would match if the side not adopted is right")
    return out + possible_blocks(answer)
