"""A course from its files to the whole report: read, understood, covered; with smallest lists and changes if asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from kg.answer.context import Context
from kg.course.coverage import cover, understand
from kg.course.curriculum_sheet import read_curriculum
from kg.course.matching import Matcher
from kg.course.records import Coverage, Status
from kg.intake.rows import Report


def look(
    ctx: Context,
    files: Sequence[str | Path],
    against: Sequence[str | Path] = (),
    *,
    smallest: bool = False,
    every_value: bool = False,
    more: int = 0,
    among_course: bool = False,
    work: float | None = None,
) -> Coverage:
    """As ``Catalogue.coverage``, which says what the arguments mean and what is raised."""
    report, before = Report(), Report()
    curriculum = read_curriculum(files, report)
    older = read_curriculum(against, before) if against else None
    matcher = Matcher(ctx)
    course = understand(ctx, curriculum, matcher, report)
    found = cover(ctx, course)
    if older is not None:
        from kg.course.compare_curricula import changes

        found = replace(found, changes=changes(cover(ctx, understand(ctx, older, matcher, before)), found))
    if found.of(Status.UNCONFIRMED) and (smallest or more):
        note = "The smallest list, and what more would buy, take proposals as if they were confirmed."
        found = replace(found, notes=(*found.notes, note))
    if smallest or every_value or more:
        from kg.course import smallest as lists

        how = {} if work is None else {"work": work}
        of_values = lists.of_values(ctx, matcher.table) if every_value else []
        if smallest:
            demands = lists.of_objectives(course)
            found = replace(found, smallest=lists.smallest(course, demands, lists.OBJECTIVES, among_course=among_course, **how))
        if every_value:
            every = lists.smallest(course, of_values, lists.VALUES, among_course=among_course, **how)
            found = replace(found, every_value=every)
        if more:
            goal = lists.VALUES if every_value and not smallest else lists.OBJECTIVES
            demands = of_values if goal == lists.VALUES else lists.of_objectives(course)
            found = replace(found, more=lists.more(course, demands, goal, more, **how))
    return found
