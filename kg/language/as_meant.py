"""A question as it is meant, once it is read: what a row of names, an "only", a contrast or a name that holds its own family
says beyond the words one by one."""

from __future__ import annotations

from kg.language import nodes
from kg.language.acted_on import acted_on
from kg.language.atodds import held_gently, not_held, picked_up
from kg.language.bladed import as_part
from kg.language.branches import of_either
from kg.language.contrasted import contrasted
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.listed import each_by_itself, one_of_both, the_members, without_itself
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.set_right import set_right
from kg.language.several import any_of_a_row
from kg.language.solely import bounded

LEAST_SAID = 4
"""So many words a question has for a value by its feature ("which finish is matt")."""


def as_meant(text: str, question: Question, lexicon: Lexicon) -> Question:
    """The question, or what its text means by it."""
    if isinstance(question, nodes.Holds) and named_twice(text, question.pattern, lexicon):
        return nodes.Define(question.pattern)
    if isinstance(question, nodes.Define) and (members := the_members(text, question, lexicon)) is not None:
        return members
    if (value := the_value(text, question, lexicon)) is not None:
        return value
    question = of_the_whole(acted_on(text, question, lexicon))
    asked = as_part(text, set_right(text, question, lexicon), lexicon)
    asked = bounded(text, any_of_a_row(text, asked, lexicon), lexicon)
    asked = held_gently(each_by_itself(text, one_of_both(without_itself(contrasted(asked, lexicon)))), lexicon)
    return of_either(text, picked_up(not_held(asked, lexicon), text, lexicon), lexicon)


def the_value(text: str, question: Question, lexicon: Lexicon) -> Question | None:
    """The value that is asked for by its feature, and no list ("which finish is non-reflecting?"); None if none is."""
    if not isinstance(question, nodes.Filter) or not isinstance(question.expr, nodes.Has):
        return None
    parser = parser_for(text, lexicon)
    if len(parser.tokens) < LEAST_SAID or "kw.which" not in parser.kinds(0):
        return None
    ends = [end for end, es in parser.phrases(1) if any(e.kind == "feature" and e.term == question.expr.feature for e in es)]
    return nodes.Define(question.expr.value) if any("kw.be" in parser.kinds(end) for end in ends) else None


def of_the_whole(question: Question) -> Question:
    """What is asked of all of a family, without the same in the family ("are all needle holders locked by a ratchet?", where
    "locked" says as much as the rest); any other question as it is."""
    if not isinstance(question, nodes.Quantified) or not isinstance(question.scope, nodes.And):
        return question
    left = [i for i in question.scope.items if i != question.expr]
    if not left or len(left) == len(question.scope.items):
        return question
    return nodes.Quantified(conj(left), question.expr, question.quantifier)


def named_twice(text: str, pattern: str, lexicon: Lexicon) -> bool:
    """Whether a question says of an instrument no more than another name that it has ("is the Gigli saw a wire saw?")."""
    parser = parser_for(text.rstrip(" ?.!"), lexicon)
    names: list[tuple[str, ...]] = []
    at = 0
    while at < len(parser.tokens):
        ends = [end for end, entries in parser.phrases(at) if any(e.kind == "pattern" and e.term == pattern for e in entries)]
        if ends:
            names.append(tuple(t.key for t in parser.tokens[at : max(ends)]))
            at = max(ends)
        elif "kw.be" in parser.kinds(at) or parser.tokens[at].key in lexicon.words.articles:
            at += 1
        else:
            return False
    return len(names) == 2 and names[0] != names[1]
