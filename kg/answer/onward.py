"""What one would naturally ask next: one or two questions that follow from an answer, in words that are understood."""

from __future__ import annotations

from kg.language import Lexicon, nodes, say
from kg.language.nodes import Question
from kg.model import Answer

MOST = 2


def next_questions(lexicon: Lexicon, answer: Answer) -> tuple[str, ...]:
    """At most two questions that follow from an answer, likeliest first; none where nothing follows."""
    found = [q for q in _follow(lexicon, answer) if q != answer.tree]
    texts: list[str] = []
    for question in dict.fromkeys(found):
        text = say(question, lexicon)
        if "(" not in text and len(text) <= 90 and text != answer.reading:
            texts.append(text)
        if len(texts) == MOST:
            break
    return tuple(texts)


def _follow(lexicon: Lexicon, answer: Answer) -> list[Question]:
    question, terms = answer.tree, lexicon.vocabulary.terms
    found = {m.name for m in answer.matches}
    roots = [m.name for m in answer.matches if m.variant_of not in found]
    match question:
        case nodes.Filter() if len(roots) > 1:
            return [nodes.Compare((roots[0], roots[1])), nodes.Describe(roots[0])]
        case nodes.Filter() if roots:
            return [nodes.Describe(roots[0]), nodes.LookAlikes(roots[0])]
        case nodes.Filter(expr) if answer.disputed:
            return [nodes.Disputes(expr)]
        case nodes.Gaps(expr):
            return [nodes.Weak(expr), nodes.Disputes(expr)]
        case nodes.Differences(expr):
            if len(roots) == 1 and not answer.comparison:
                return [nodes.Telling(roots[0]), nodes.LookAlikes(roots[0])]
            return [*([nodes.Compare((roots[0], roots[1]))] if len(roots) > 1 else []), nodes.Filter(expr)]
        case nodes.Filed(pattern):
            return [nodes.Describe(pattern), nodes.Sources(pattern, ())]
        case nodes.Count(expr) | nodes.Extreme(expr) | nodes.Group(expr):
            return [nodes.Filter(expr), *([nodes.Describe(roots[0])] if roots else [])]
        case nodes.Quantified(scope, expr):
            return [nodes.Filter(nodes.And((scope, nodes.Not(expr)))), nodes.Filter(nodes.And((scope, expr)))]
        case nodes.Value(subject, features) if terms[subject].role == "pattern":
            return [nodes.Sources(subject, features), nodes.Describe(subject)]
        case nodes.Value(subject) | nodes.Classify(subject) | nodes.Telling(subject, None) if terms[subject].role == "category":
            return [nodes.Define(subject), nodes.Filter(nodes.IsA(subject))]
        case nodes.Holds(pattern, expr):
            holds = answer.argument.holds if answer.argument else None
            inner = expr.expr if isinstance(expr, nodes.Not) else expr
            why = [nodes.Why(pattern, inner, (holds is True) is isinstance(expr, nodes.Not))] if isinstance(holds, bool) else []
            return [*why, nodes.Describe(pattern)]
        case nodes.Why(pattern) | nodes.Sources(pattern):
            return [*([nodes.Disputes(nodes.Named(pattern))] if answer.disputed else []), nodes.Describe(pattern)]
        case nodes.Contrast(pattern, other) | nodes.Compare((pattern, other), True):
            return [nodes.Compare((pattern, other))]
        case nodes.Compare((pattern, *_)) if terms[pattern].role == "pattern":
            return [nodes.LookAlikes(pattern), nodes.Describe(pattern)]
        case nodes.Disputes(nodes.Named(pattern)):
            return [nodes.Sources(pattern, ())]
        case nodes.Describe(pattern, parts) if parts:
            return [nodes.Describe(pattern), nodes.LookAlikes(pattern)]
        case nodes.Describe(pattern):
            return [nodes.LookAlikes(pattern), nodes.Reprocessing(pattern)]
        case nodes.LookAlikes(pattern) | nodes.Alike(pattern) if answer.look_alikes:
            return [nodes.Compare((pattern, answer.look_alikes[0].name)), nodes.Telling(pattern)]
        case nodes.Telling(pattern):
            return [nodes.LookAlikes(pattern), nodes.Describe(pattern)]
        case nodes.Reprocessing(subject) | nodes.PartOf(_, subject) if terms[subject].role == "pattern":
            return [nodes.Describe(subject)]
        case nodes.CareNotes(_, subject) if subject:
            return [nodes.Reprocessing(subject), nodes.Describe(subject)]
        case nodes.Define(term):
            return _of_term(lexicon, term)
        case nodes.Identify() if answer.identification is not None:
            first = [c.name for c in answer.identification.candidates[:2]]
            return [nodes.Compare(tuple(first)), nodes.Describe(first[0])] if len(first) > 1 else []
    return []


def _of_term(lexicon: Lexicon, term: str) -> list[Question]:
    record = lexicon.vocabulary.terms.get(term)
    match record.role if record else "":
        case "category":
            return [nodes.Filter(nodes.IsA(term)), nodes.Classify(term)]
        case "part":
            return [nodes.Filter(nodes.HasPart(term))]
        case "value" if record:
            return [nodes.Filter(nodes.Has(record.feature, term))]
        case "pattern":
            return [nodes.Describe(term), nodes.LookAlikes(term)]
    return []
