"""The result of a raw query, and what ``check`` found, as blocks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from kg.model import Finding
from kg.render.blocks import Block, Para, Table, Verbatim, para, words
from kg.render.english import number

if TYPE_CHECKING:
    from pathlib import Path

    from kg.intake.inspect import Inspection
    from kg.store.sandbox import RawResult


def raw_blocks(result: RawResult) -> list[Block]:
    """SELECT as a table with short names, ASK as yes or no, triples as lines of N-Triples."""
    out: list[Block] = []
    if result.form == "select":
        unbound = words("-", "remark")
        rows = [tuple(words(r[v].short) if v in r else unbound for v in result.variables) for r in result.rows]
        out.append(Table(result.variables, tuple(rows)))
        out.append(para(number(len(rows), "row") if rows else "No row.", "remark"))
    elif result.form == "ask":
        out.append(para("Yes." if result.text == "true" else "No.", "name"))
    elif result.text:
        out.append(Verbatim(tuple(("", line) for line in result.text.splitlines())))
    else:
        out.append(para("No triple.", "remark"))
    if result.truncated:
        out.append(para("There are more; the limit was met. Ask for less, or page with LIMIT and OFFSET.", "caution"))
    return out


def finding_blocks(findings: Sequence[Finding], consistent: bool | None) -> list[Block]:
    """Each finding with its place, code, text and repair, then the sum. ``consistent`` None: not known."""
    out: list[Block] = []
    for f in findings:
        place = f"{f.file}:{f.line}" if f.line else f.file
        style = "error" if f.severity == "error" else "caution"
        lead = ((style, f.severity), ("", " "), ("name", place), ("code", f" [{f.code}]"))
        out.append(Para(lead))
        out.append(Para(words(f.text), 1, close=True))
        if f.fix:
            out.append(Para((("remark", "Repair: "), ("", f.fix)), 1, close=True))
    errors = sum(f.severity == "error" for f in findings)
    total = f"{number(errors, 'error')}, {number(len(findings) - errors, 'warning')}." if findings else "No findings."
    clash = any(f.code == "BL-R04" for f in findings)
    no = " The catalogue is inconsistent." if clash else " Whether it is consistent can be told when the errors are mended."
    states = {True: " The catalogue is consistent.", False: no, None: ""}
    out.append(para(total + states[consistent], "name"))
    return out


def addition_blocks(found: Inspection, folder: Path | None) -> list[Block]:
    """How much was added and which categories follow; or that nothing was written, and why."""
    if folder is None:
        why = "all of it is there already" if found.accepted else "there are errors"
        return [para(f"Nothing was added: {why}.", "name")]
    new = found.new
    parts = [number(n, word[:-1]) for word, n in new.items() if n]
    said = ", ".join(parts) or "other words for what was there"
    out: list[Block] = [para(f"Added to your own catalogue: {said}.", "name")]
    label = found.after.vocabulary.label if found.after else str
    for heading, changes in (("is now", found.gained), ("is no longer", found.lost)):
        out += [para(f"{label(p)} {heading}: {', '.join(labels)}", indent=1) for p, labels in changes.items()]
    verified = f"The patterns that changed are verified by {found.verified_by}." if found.verified_by else ""
    if found.touched and not verified:
        verified = "The patterns that changed are not verified by HermiT."
    out += [para(verified, "remark")] if verified else []
    return [*out, para(f"Your own catalogue lies in {folder}.", "remark")]
