"""A plan as blocks, tables, CSV and JSON: what was achieved, then session by session the running order, then what was split."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from kg.course.planned import Achieved, Plan, Session, Split, Step
from kg.evidence_levels import RESTS_ON
from kg.names import expand
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.data import csv_text
from kg.render.english import CAUTION, number, shortened

SPLITS_SHOWN = 8
"""So many split pairs are listed in a text; JSON lists all."""
ELSEWHERE_SHOWN = 4
MANY = 99
_COLUMNS = ("min", "instrument", "say", "point at", "ask next", "expect")
_CSV = (
    "session",
    "session_minutes",
    "order",
    "start",
    "minutes",
    "label",
    "iri",
    "shown_with",
    "say",
    "point_at",
    "ask_next",
    "expect",
    "look_alikes_elsewhere",
    "rests_on",
    "hardness",
)
ESTIMATED = (
    "The minutes are estimates of this project, measured nowhere; --each and --estimate set others. The order follows "
    "published findings on teaching what is easily confused; that learners gain by it was not tried."
)


def plan_blocks(plan: Plan, *, tables: bool = False) -> list[Block]:
    """The plan for people; with ``tables`` the running orders are tables, as a document has room for."""
    out: list[Block] = [Para((("remark", "I read this as: "), ("query", plan.reading)))] if plan.reading else []
    out += [Para(words(_head(plan), "name")), *_achieved(plan)] if plan.sessions else []
    for session in plan.sessions:
        out.append(Heading(f"Session {session.number}: {session.minutes:g} minutes, {_instruments(len(session.script))}"))
        out += _as_table(session) if tables else _as_steps(session)
    out += _split(plan)
    out += [para(note, "remark") for note in plan.notes]
    if plan.sessions:
        out.append(para(ESTIMATED, "remark"))
    out.append(para(CAUTION, "caution"))
    return out


def _instruments(count: int) -> str:
    return number(count, "instrument")


def _head(plan: Plan) -> str:
    count = sum(len(s.script) for s in plan.sessions)
    variants = sum(len(step.shown_with) for s in plan.sessions for step in s.script)
    folded = f" (with {number(variants, 'variant')} shown beside {'it' if count == 1 else 'them'})" if variants else ""
    sessions = number(len(plan.sessions), "session")
    return f"{_instruments(count)}{folded} in {sessions} of at most {number(plan.limit, 'minute')}."


def _achieved(plan: Plan) -> list[Block]:
    best = all(f.proved for f in plan.objective)
    if best:
        lead = "No better plan exists, by what counts in this order:"
    else:
        lead = f"The best plan found within {number(plan.seconds, 'second')}, by what counts in this order:"
    out: list[Block] = [para(lead, "remark", close=True)]
    for figure in plan.objective:
        of = f" of {number(plan.pairs, 'pair')}" if figure is plan.objective[0] else ""
        out.append(Para(words(f"{figure.what}: {figure.value:g}{of}{_proof(figure, best)}"), 1, close=True))
    return out


def _proof(figure: Achieved, best: bool) -> str:
    if best:
        return ""
    if figure.proved:
        return ", proved best"
    bound = f"at least {figure.at_least:g} are needed" if figure.at_least < figure.value else "no less is possible"
    if figure.at_least == figure.value:
        return ", no less is possible by itself, but a better figure above might change it"
    return f", not proved best ({bound})"


# --- running orders -------------------------------------------------------------------------------------------------
def _as_steps(session: Session) -> list[Block]:
    out: list[Block] = []
    for step in session.script:
        head: Spans = (("number", _clock(step.start)), ("", "  "), ("name", step.label))
        out.append(Para((*head, ("remark", f"  ({step.minutes:g} min{_with(step)})"))))
        out.append(_line("say", step.say))
        out.append(_line("point at", step.point_at))
        out.append(_line("ask next", f"{step.ask_next} ({step.expect.rstrip('.')})"))
        out += [Para(words(text, "remark"), 1, close=True) for text in _remarks(step)]
    out.append(
        Para((("number", _clock(_before_mixed(session))), ("", "  "), ("name", _closing(session)), ("remark", _mixed(session))))
    )
    return out


def _line(title: str, text: str) -> Para:
    return Para(words(text), 1, (("remark", f"{title}:"),), close=True)


def _as_table(session: Session) -> list[Block]:
    rows = [
        (
            words(_clock(step.start), "number"),
            (("name", step.label), *words(f" ({step.minutes:g} min{_with(step)})", "remark")),
            words(step.say),
            words(step.point_at),
            words(step.ask_next),
            words(" ".join([step.expect, *(f"[{r}]" for r in _remarks(step))])),
        )
        for step in session.script
    ]
    mixed = (words(_clock(_before_mixed(session)), "number"), (("name", _closing(session)), *words(_mixed(session), "remark")))
    rows.append((*mixed, (), (), (), ()))
    return [Table(_COLUMNS, tuple(rows), key=2)]


def _clock(minutes: float) -> str:
    """Minutes since the session began: 0:00, 3:30."""
    whole = int(minutes)
    return f"{whole}:{round((minutes - whole) * 60):02d}"


def _before_mixed(session: Session) -> float:
    return session.minutes - session.mixed_minutes


def _closing(session: Session) -> str:
    return "mixed round" if len(session.mixed) > 1 else "once more"


def _mixed(session: Session) -> str:
    how = "in the order given under the last question" if len(session.mixed) > 1 else "without help"
    return f"  ({session.mixed_minutes:g} min, {how})"


def _with(step: Step) -> str:
    return f", with {', '.join(step.shown_with)}" if step.shown_with else ""


def _remarks(step: Step) -> list[str]:
    out = []
    if step.elsewhere:
        named = [f"{label} (session {n})" for label, n in step.elsewhere[:ELSEWHERE_SHOWN]]
        more = len(step.elsewhere) - len(named)
        named += [f"and {more} more"] if more else []
        out.append(f"Look-alikes in other sessions: {', '.join(named)}")
    out += [f"{RESTS_ON.get(mark, mark).capitalize()}: {', '.join(what)}" for mark, what in step.rests_on]
    return out


# --- what was split -------------------------------------------------------------------------------------------------
def _split(plan: Plan) -> list[Block]:
    if not plan.splits:
        return []
    out: list[Block] = [Heading(f"Look-alikes in two sessions: {number(len(plan.splits), 'pair')}")]
    out += [Para(words(f"Why: {reason}."), 1, close=True) for reason in dict.fromkeys(s.reason for s in plan.splits)]
    between = Counter(s.sessions for s in plan.splits)
    counts = [f"{a} and {b}: {n}" for (a, b), n in sorted(between.items(), key=lambda item: (-item[1], item[0]))]
    out.append(Para(words(f"Between sessions {'; '.join(shortened(counts, SPLITS_SHOWN))}."), 1, close=True))
    rows = tuple(
        (
            words(f"{s.labels[0]} ({s.sessions[0]})", "name"),
            words(f"{s.labels[1]} ({s.sessions[1]})", "name"),
            words(_signs(s)),
        )
        for s in sorted(plan.splits, key=lambda s: len(s.signs) or MANY)[:SPLITS_SHOWN]
    )
    out.append(Table(("look-alike (session)", "look-alike (session)", "what decides"), rows, key=2))
    left = len(plan.splits) - len(rows)
    return (
        [*out, para(f"and {number(left, 'more pair', 'more pairs')}; JSON lists all", "remark", indent=1, close=True)]
        if left
        else out
    )


def _signs(split: Split) -> str:
    return "; ".join(f"{f}: {a}, {b}" for f, a, b in split.signs) or "nothing recorded that can be seen"


# --- data -----------------------------------------------------------------------------------------------------------
def plan_json(plan: Plan) -> dict[str, Any]:
    """``Plan.to_json`` with the standing caution among the notes."""
    out = plan.to_json()
    return out | {"notes": [*out["notes"], *([ESTIMATED] if plan.sessions else []), CAUTION]}


def plan_csv(plan: Plan) -> str:
    """One row for each instrument, in the order in which it is taught."""
    return csv_text(_CSV, [_row(session, n, step) for session in plan.sessions for n, step in enumerate(session.script, 1)])


def _row(session: Session, place: int, step: Step) -> Sequence[object]:
    return (
        session.number,
        f"{session.minutes:g}",
        place,
        f"{step.start:g}",
        f"{step.minutes:g}",
        step.label,
        expand(step.name),
        "; ".join(step.shown_with),
        step.say,
        step.point_at,
        step.ask_next,
        step.expect,
        "; ".join(f"{label} ({n})" for label, n in step.elsewhere),
        "; ".join(f"{RESTS_ON.get(mark, mark)}: {', '.join(what)}" for mark, what in step.rests_on),
        step.hardness,
    )
