"""What the objectives and lists of a course ask for: questions of the language, or for prose a proposal.

An objective speaks of a set of instruments. Most questions do ("artery forceps with teeth"); a comparison speaks of its
subjects, each of which has to be taught. A question about none (a sterilisation cycle) is refused.
"""

from __future__ import annotations

from dataclasses import dataclass

from kg.course.curriculum import Curriculum, Listed, Objective
from kg.course.proposals import propose
from kg.errors import QuestionError
from kg.intake.rows import Report, shorten
from kg.language import Lexicon, nodes, parse, say

SHOWN_CHOICES = 4


@dataclass(frozen=True)
class Asked:
    """What an objective asks for. ``expr``: the instruments it speaks of; ``each``: descriptions that each need one of their
    own (the subjects of a comparison); ``reading``: the question in canonical words; ``confirmed`` False: a proposal.
    """

    expr: nodes.Expr
    reading: str
    each: tuple[nodes.Expr, ...] = ()
    confirmed: bool = True
    words: tuple[str, ...] = ()


def asked_by(course: Curriculum, lexicon: Lexicon, report: Report) -> dict[str, Asked]:
    """Objective's id -> what it asks for, in the order of the course; objectives that stay unmapped are missing.

    Findings for every question that is not understood, with its place: BL-Qxx.
    """
    out: dict[str, Asked] = {}
    for objective in course.objectives:
        if objective.outside:
            continue
        found = _given(objective, lexicon, report) if objective.question else propose_for(objective, lexicon)
        if found is not None:
            out[objective.id] = found
    return out


def _given(objective: Objective, lexicon: Lexicon, report: Report) -> Asked | None:
    listed = Listed(objective.question, objective.at("question"))
    question = understood(listed, lexicon, report)
    if question is None:
        return None
    subjects = speaks_of(question, lexicon)
    if not subjects:
        what = f'"{shorten(objective.question)}" does not ask about instruments'
        report.error("BL-Q03", listed.place, what, "Ask for what the objective is met by, such as a kind of instrument.")
        return None
    whole = subjects[0] if len(subjects) == 1 else nodes.Or(subjects)
    return Asked(whole, say(question, lexicon), subjects if len(subjects) > 1 else (), objective.confirmed)


def propose_for(objective: Objective, lexicon: Lexicon) -> Asked | None:
    """A question for an objective in prose, never confirmed; None if its words name no instrument."""
    found = propose(objective.text, lexicon)
    if found is None:
        return None
    return Asked(found.expr, found.question, confirmed=False, words=found.words)


def understood(listed: Listed, lexicon: Lexicon, report: Report) -> nodes.Question | None:
    """The question that a text asks, or None with a finding."""
    try:
        return parse(listed.text, lexicon)
    except QuestionError as error:
        what = f'"{shorten(listed.text)}" is not understood: {error.message}'
        report.error(error.code, listed.place, what, _remedy(error))
        return None


def _remedy(error: QuestionError) -> str:
    if error.readings:
        return "Say which: " + "; ".join(error.readings[:SHOWN_CHOICES])
    if error.near:
        return "Did you mean: " + ", ".join(error.near[:SHOWN_CHOICES])
    if error.expected:
        return "What could stand there: " + "; ".join(error.expected[:SHOWN_CHOICES])
    return error.hint


def speaks_of(question: nodes.Question, lexicon: Lexicon) -> tuple[nodes.Expr, ...]:
    """The instruments that a question is about; several for a comparison, none for a question about no instrument."""
    match question:
        case nodes.Compare(subjects):
            return tuple(_subject(s, lexicon) for s in subjects)
        case nodes.Contrast(pattern, other):
            return nodes.Named(pattern), nodes.Named(other)
        case nodes.Value(subject) | nodes.Sources(subject) | nodes.Reprocessing(subject) | nodes.Telling(subject):
            return (_subject(subject, lexicon),)
        case nodes.CareNotes(_, subject) if subject:
            return (nodes.Named(subject),)
        case nodes.Holds(pattern) | nodes.Why(pattern) | nodes.Describe(pattern) | nodes.LookAlikes(pattern):
            return (nodes.Named(pattern),)
        case nodes.Classify(category):
            return (nodes.IsA(category),)
        case nodes.Define(term):
            role = lexicon.vocabulary.terms[term].role
            return (_subject(term, lexicon),) if role in ("category", "pattern") else ()
        case nodes.Filter(expr) | nodes.Count(expr) | nodes.Group(expr) | nodes.Disputes(expr) | nodes.NewCategory(_, expr):
            return (expr,)
        case nodes.Differences(expr):
            return (expr,)
    return ()


def _subject(name: str, lexicon: Lexicon) -> nodes.Expr:
    return nodes.IsA(name) if lexicon.vocabulary.terms[name].role == "category" else nodes.Named(name)


def one_pattern(question: nodes.Question, lexicon: Lexicon) -> str:
    """The pattern that a text names ("Kelly forceps"), empty if it asks for more than that."""
    match question:
        case nodes.Value(subject, ()) | nodes.Describe(subject) | nodes.Define(subject):
            return subject if lexicon.vocabulary.terms[subject].role == "pattern" else ""
    return ""
