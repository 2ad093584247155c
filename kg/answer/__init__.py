"""Question tree -> answer. ``answer`` dispatches on the kind of question; each kind has its module,
imported when it is asked for: an import of all of them would be felt in a one-shot answer.
"""

from __future__ import annotations

from kg import names
from kg.answer.context import Context
from kg.answer.filters import Page, answer_count, answer_filter, answer_group
from kg.language import nodes
from kg.model import Answer
from kg.records import replace

__all__ = ["Context", "answer"]


AFTER_PEOPLE = "Told by the name used here: a proper name in it that is no place. Who the person was is not recorded."


def answer(
    ctx: Context, question: nodes.Question, *, text: str, reading: str, limit: int = 20, page: Page | None = None
) -> Answer:
    """The answer to a question tree. ``text`` is what was typed, ``reading`` the question in canonical words.

    ``limit`` is how many of the patterns that could match are listed; ``page`` (first, size) which of those that do, in
    answers to "which" and "how many". Raises QueryError if the store cannot answer.
    """
    match question:
        case nodes.Filter(expr):
            out = answer_filter(ctx, expr, limit=limit, page=page)
        case nodes.Count(expr):
            out = answer_count(ctx, expr, limit=limit, page=page)
        case nodes.Counts(exprs):
            from kg.answer.survey import answer_counts

            out = answer_counts(ctx, exprs)
        case nodes.Gaps(expr):
            from kg.answer.survey import answer_gaps

            out = answer_gaps(ctx, expr)
        case nodes.Filed(pattern):
            from kg.answer.survey import answer_filed

            out = answer_filed(ctx, pattern)
        case nodes.Group(expr, names.LENGTH, down):
            from kg.answer.extremes import answer_ranked

            out = answer_ranked(ctx, expr, limit, down=down)
        case nodes.Group(expr, feature):
            out = answer_group(ctx, expr, feature, limit=limit)
        case nodes.Extreme(expr, _, "ends"):
            from kg.answer.extremes import answer_ends

            out = answer_ends(ctx, expr)
        case nodes.Extreme(expr, most, by, listed, place):
            from kg.answer.extremes import answer_extreme

            out = answer_extreme(ctx, expr, most, by, listed, place)
        case nodes.Quantified(scope, expr, quantifier):
            from kg.answer.extremes import answer_quantified

            out = answer_quantified(ctx, scope, expr, quantifier, reading)
        case nodes.Tally(by, pick, scope, number):
            from kg.answer.tally import answer_tally

            out = answer_tally(ctx, by, pick, scope, number)
        case nodes.Weak(expr, basis):
            from kg.answer.weak import answer_resting, answer_weak

            out = answer_resting(ctx, expr, basis) if basis else answer_weak(ctx, expr)
        case nodes.DefineAll(terms):
            from kg.answer.values import answer_define_all

            out = answer_define_all(ctx, terms)
        case nodes.PartOf(part, subject):
            from kg.answer.values import answer_part_of

            out = answer_part_of(ctx, part, subject)
        case nodes.Value(subject, features):
            from kg.answer.values import answer_value

            out = answer_value(ctx, subject, features)
        case nodes.Compare(subjects, telling):
            from kg.answer.compare import answer_compare

            out = answer_compare(ctx, subjects, telling=telling)
        case nodes.Differences(expr):
            from kg.answer.differences import answer_differences

            out = answer_differences(ctx, expr, limit=limit)
        case nodes.Describe(pattern, parts):
            from kg.answer.describe import answer_describe

            out = answer_describe(ctx, pattern, parts)
        case nodes.Telling(subject, scope):
            from kg.answer.telling import answer_telling

            out = answer_telling(ctx, subject, scope)
        case nodes.LookAlikes(pattern):
            from kg.answer.lookalikes import answer_look_alikes

            out = answer_look_alikes(ctx, pattern)
        case nodes.Alike(pattern, expr, size):
            from kg.answer.alike import answer_alike

            out = answer_alike(ctx, pattern, expr, size)
        case nodes.Holds(pattern, expr):
            from kg.answer.reasons import argue

            out = argue(ctx, pattern, expr, reading, kind="holds")
        case nodes.Why(pattern, expr, negated):
            from kg.answer.reasons import argue

            out = argue(ctx, pattern, expr, reading, kind="why", negated=negated)
        case nodes.Contrast(pattern, other, expr):
            from kg.answer.contrast import answer_contrast

            out = answer_contrast(ctx, pattern, other, expr, reading)
        case nodes.NewCategory(name, expr, span):
            from kg.answer.newcategory import answer_new_category

            out = answer_new_category(ctx, name, expr, span, text, limit=limit)
        case nodes.Define(term):
            from kg.answer.values import answer_define

            out = answer_define(ctx, term)
        case nodes.Classify(category):
            from kg.answer.values import answer_classify

            out = answer_classify(ctx, category)
        case nodes.Sources(subject, features):
            from kg.answer.values import answer_sources

            out = answer_sources(ctx, subject, features)
        case nodes.Disputes(expr, features):
            from kg.answer.values import answer_disputes

            out = answer_disputes(ctx, expr, features)
        case nodes.Cycles():
            from kg.answer.cycles import answer_cycles

            out = answer_cycles(ctx, question)
        case nodes.Reprocessing(subject):
            from kg.answer.reprocess import answer_reprocessing

            out = answer_reprocessing(ctx, subject)
        case nodes.CareNotes(topics, subject):
            from kg.answer.upkeep import answer_care_notes

            out = answer_care_notes(ctx, topics, subject)
        case nodes.ReasonNotes(wanted):
            from kg.answer.grounds import answer_reason_notes

            out = answer_reason_notes(ctx, wanted)
        case _:
            raise TypeError(f"not a question: {question!r}")
    if _after_people(question):
        out = replace(out, notes=(*out.notes, AFTER_PEOPLE))
    return replace(out, question=text, reading=reading)


def _after_people(part: object) -> bool:
    """Whether a question speaks of names of people in general ("named after a person")."""
    match part:
        case nodes.CalledAfter():
            return bool(part.but)
        case nodes.Filter(expr) | nodes.Count(expr) | nodes.Not(expr) | nodes.Holds(_, expr):
            return _after_people(expr)
        case nodes.And(items) | nodes.Or(items) | nodes.Counts(items):
            return any(map(_after_people, items))
    return False
