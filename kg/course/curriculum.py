"""A course as its designer wrote it: objectives, sessions and what they show. Read, checked, and nothing looked up yet.

TOML and tables (CSV, XLSX) become the same rows, each cell with its place, and are checked in one place. Every fault of the
file is found before anything is refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path

from kg.errors import InputError
from kg.intake.rows import MOST_ROWS, Place, Report, Row, shorten
from kg.intake.tables import Form, count, heading

FORM = Form(
    columns={
        "objectives": ("id", "text", "question", "minimum", "weight", "session", "met by", "outside", "confirmed"),
        "sessions": ("id", "title", "shows"),
    },
    needed={"objectives": ("id",), "sessions": ("id",)},
    if_empty="The README shows how a course is written down, under Courses.",
)
COURSE_FORMATS = (".toml", ".csv", ".xlsx")
DIVIDER = "|"
MOST_MINIMUM, MOST_WEIGHT = 100_000, 1_000
_YES = {"yes": True, "true": True, "no": False, "false": False}
_ID = re.compile(r"[^\s|]{1,60}")


@dataclass(frozen=True)
class Listed:
    """A name or question that a file gives in a list, and where."""

    text: str
    place: Place


@dataclass(frozen=True)
class Objective:
    """One objective. ``minimum`` None: not given. ``met_by``: instruments that the designer says meet it. ``outside``: why it
    is no matter for the catalogue (a skill that is watched), empty if it is one. ``confirmed`` False: the question is a
    proposal that nobody has confirmed.
    """

    id: str
    text: str
    question: str
    place: Place
    minimum: int | None = None
    weight: float = 1.0
    session: str = ""
    met_by: tuple[Listed, ...] = ()
    outside: str = ""
    confirmed: bool = True
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)

    def at(self, column: str) -> Place:
        """Where a column's cell stands; the objective's own place if it has none."""
        return self.places.get(column, self.place)


@dataclass(frozen=True)
class Session:
    """One session; ``shows``: names of instruments, or questions, in the order given."""

    id: str
    title: str
    shows: tuple[Listed, ...]
    place: Place


@dataclass(frozen=True)
class Curriculum:
    """A course. Objectives and sessions in the order of the file; sessions that only objectives name come last."""

    title: str
    files: tuple[str, ...]
    objectives: tuple[Objective, ...]
    sessions: tuple[Session, ...]
    note: str = ""


def refuse(report: Report, paths: Sequence[str | Path]) -> None:
    """Raises InputError if the report has an error. Warnings alone pass."""
    if not report.failed:
        return
    found = tuple(f for f in report.findings() if f.severity == "error")
    first = found[0]
    if len(found) == 1:
        raise InputError(first.code, first.text, file=first.file, line=first.line, hint=first.fix)
    what = f"{len(found):,} things in the course are wrong, so nothing was reckoned."
    raise InputError(first.code, what, file=str(paths[0]) if len(paths) == 1 else "", findings=found)


# --- rows -> course -------------------------------------------------------------------------------------------------
def assembled(rows: Sequence[Row], head: Mapping[str, str], files: Sequence[str], report: Report) -> Curriculum:
    """The course in the rows of its tables, with findings for what cannot be. Of too many rows the first are read."""
    count(rows, report)
    sessions = _sessions([r for r in rows[:MOST_ROWS] if r.table == "sessions"], report)
    objectives = _objectives([r for r in rows[:MOST_ROWS] if r.table == "objectives"], report)
    listed = [
        item for entry in (*sessions, *objectives) for item in (entry.shows if isinstance(entry, Session) else entry.met_by)
    ]
    if len(listed) > MOST_ROWS:
        what = f"the lists of the course have {len(listed):,} names; at most {MOST_ROWS:,} are looked up"
        report.error("BL-I04", listed[MOST_ROWS].place, what, "Ask for kinds of instruments instead of naming each.")
        sessions, objectives = [], []
    if not objectives and not report.failed:
        report.error("BL-I03", Place(files[0]), "the course has no objective", FORM.if_empty)
    declared = {s.id: s for s in sessions}
    for objective in objectives:
        name = objective.session
        if not name or name in declared:
            continue
        if sessions:
            near = get_close_matches(name, list(declared), 1)
            fix = f"Did you mean {near[0]}?" if near else f"Sessions: {', '.join(shorten(s, 20) for s in list(declared)[:8])}."
            report.error("BL-I10", objective.at("session"), f'there is no session "{shorten(name)}"', fix)
        else:
            declared[name] = Session(name, "", (), Place(objective.place.file))
    title = head.get("title", "") or Path(files[0]).stem
    return Curriculum(title, tuple(files), tuple(objectives), tuple(declared.values()), head.get("note", ""))


def _sessions(rows: Sequence[Row], report: Report) -> list[Session]:
    """One session an id; in a table its list may go over several rows."""
    found: dict[str, Session] = {}
    for row in rows:
        name = _id(row, report)
        if not name:
            continue  # said by the reader
        shows = _list(row, "shows")
        title = row.text("title")
        old = found.get(name)
        if old is None:
            found[name] = Session(name, title, shows, row.place)
        elif title and old.title and title != old.title:
            what = f'the session "{shorten(name)}" has another title on line {old.place.line}'
            report.error("BL-I10", row.at("title"), what, "Give it one title.")
        else:
            found[name] = Session(name, old.title or title, old.shows + shows, old.place)
    return list(found.values())


def _objectives(rows: Sequence[Row], report: Report) -> list[Objective]:
    out: dict[str, Objective] = {}
    for row in rows:
        # An id that lacks or is used twice is an error; a makeshift one lets the rest of the row be checked as well.
        name = _id(row, report) or f"line {row.place.line}"
        if not (row.text("text") or row.text("question")):
            report.error("BL-I03", row.place, "an objective needs a text or a question", "Say what is to be learned.")
        if row.text("outside") and (row.text("question") or row.text("met by")):
            what = "an objective outside the catalogue has no question and is met by no instrument"
            report.error("BL-I10", row.at("outside"), what, "Keep one or the other.")
        if name in out:
            first = out[name].place
            where = f"{first.file}:{first.line}" if first.file != row.place.file else f"line {first.line}"
            report.error(
                "BL-I10", row.at("id"), f'the id "{shorten(name)}" is used twice, first on {where}', "Give each its own."
            )
            name = f"{name} on line {row.place.line}"
        out[name] = Objective(
            id=name,
            text=row.text("text"),
            question=row.text("question"),
            place=row.place,
            minimum=_minimum(row, report),
            weight=_weight(row, report),
            session=row.text("session"),
            met_by=_list(row, "met by"),
            outside=row.text("outside"),
            confirmed=_confirmed(row, report),
            places={column: cell.place for column, cell in row.cells.items()},
        )
    return list(out.values())


def _id(row: Row, report: Report) -> str:
    name = row.text("id")
    if name and not _ID.fullmatch(name):
        what = f'"{shorten(name, 30)}" cannot be an id: at most 60 characters, without blanks and {DIVIDER}'
        report.error("BL-I03", row.at("id"), what, "Take a short sign such as O1.")
    return name


def _list(row: Row, column: str) -> tuple[Listed, ...]:
    place = row.at(column)
    return tuple(Listed(part.strip(), place) for part in row.text(column).split(DIVIDER) if part.strip())


def _minimum(row: Row, report: Report) -> int | None:
    text = row.text("minimum")
    if not text:
        return None
    if re.fullmatch(r"-?\d{1,9}", text):
        if 1 <= int(text) <= MOST_MINIMUM:
            return int(text)
        report.error(
            "BL-I10", row.at("minimum"), f"a minimum of {text} cannot be", f"Give a number from 1 to {MOST_MINIMUM:,}."
        )
    else:
        what = f'"{shorten(text, 30)}" is no whole number'
        report.error("BL-I03", row.at("minimum"), what, "Give how many instruments meet it.")
    return None


def _weight(row: Row, report: Report) -> float:
    text = row.text("weight")
    if not text:
        return 1.0
    if re.fullmatch(r"-?\d{1,9}(\.\d{1,9})?", text):
        if 0.001 <= float(text) <= MOST_WEIGHT:
            return round(float(text), 3)
        what = f"a weight of {text} cannot be"
        report.error("BL-I10", row.at("weight"), what, f"Give a number from 0.001 to {MOST_WEIGHT:,}.")
    else:
        what = f'"{shorten(text, 30)}" is no number'
        report.error("BL-I03", row.at("weight"), what, "Give a weight such as 1, 2 or 0.5.")
    return 1.0


def _confirmed(row: Row, report: Report) -> bool:
    text = heading(row.text("confirmed"))
    if text and text not in _YES:
        report.error("BL-I03", row.at("confirmed"), f'"{shorten(text, 30)}" is neither yes nor no', "Write yes or no.")
    return _YES.get(text, True)
