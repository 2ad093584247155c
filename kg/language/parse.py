"""Text -> question. The public functions are ``parse`` and ``parse_statement``.

    question = "how many" description | description "by" feature | "compare" subject "and" subject
             | "compare" description | "why is" pattern predicate | "is" pattern predicate | "what is the" feature "of" subject
             | "what is" term | "define" term | "classify" category | "sources for" subject
             | "disputes about" description | [ "which" ] description
             | "sterilisation cycles" conditions | "reprocessing of" subject

All words stand in the word file. Every word of a question is either understood or an error; only the fillers named
there are passed over.
"""

from __future__ import annotations

from contextvars import ContextVar

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import depth, named_in
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse_forms import FormParser
from kg.language.tokens import MAX_NESTING, tokenise, too_deep

REMEMBERED = 1_024
"""So many sentences are remembered, and so many that are none."""
MOST_READ = 300
"""So many texts are read for one question: of those that are understood one in two hundred needs more than a hundred."""
READ: ContextVar[set[str] | None] = ContextVar("read", default=None)
"""The texts read for one question so far; unbounded if nothing is said. ``kg.language.understand`` looks at a text and its
pieces in many wordings, of which a bound keeps one in many pieces from taking seconds. What is remembered from another question
counts too: an answer does not depend on what was asked before."""


def parser_for(text: str, lexicon: Lexicon) -> FormParser:
    """A parser at the start of a question. Raises QuestionError as ``tokens.tokenise`` does."""
    return FormParser(text, lexicon.keyed(tokenise(text)), lexicon)


def parse(text: str, lexicon: Lexicon) -> Question:
    """The question that ``text`` asks; remembered with the lexicon, since what is read back was often just typed.

    Raises QuestionError and nothing else: BL-Q01 empty, BL-Q02 an unknown word, BL-Q03 a known word in a wrong
    place, BL-Q04 brackets, BL-Q05
    several readings, BL-Q06 advice, BL-Q07 too long or too deep, BL-Q08 characters that cannot be part of a question.
    """
    read = READ.get()
    if read is not None and text not in read:
        if len(read) >= MOST_READ:
            raise QuestionError("BL-Q03", "This is not looked at any further.", question=text, span=(0, len(text)))
        read.add(text)
    known = lexicon.parsed.get(text)
    if known is not None:
        return known
    refused = lexicon.refused.get(text)
    if refused is not None:
        raise refused.with_traceback(None)
    try:
        parser = parser_for(text, lexicon)
        parser.refuse_advice()
        question = _checked(text, _understood(parser, parser.question), lexicon)
    except QuestionError as error:
        if len(lexicon.refused) >= REMEMBERED:
            lexicon.refused.clear()
        lexicon.refused[text] = error
        raise
    if len(lexicon.parsed) >= REMEMBERED:
        lexicon.parsed.clear()
    lexicon.parsed[text] = question
    return question


def parse_statement(text: str, lexicon: Lexicon) -> nodes.Holds | nodes.Why | nodes.Contrast:
    """A statement about one instrument ("the Doyen intestinal clamp is a non-crushing clamp"), or about two ("X but not Y is
    a clamp"); a question that begins with "why" is taken as it is. Raises as ``parse`` does."""
    parser = parser_for(text, lexicon)
    parser.refuse_advice()
    statement = _understood(parser, parser.statement)
    _checked(text, statement, lexicon)
    return statement


def pattern_named(text: str, lexicon: Lexicon) -> str:
    """The pattern that a name means ("the Kelly forceps"). Raises QuestionError as ``parse`` does."""
    parser = parser_for(text, lexicon)

    def named() -> str | None:
        entry = parser.subject("pattern")
        return entry.term if entry is not None and parser.ended() else None

    return _understood(parser, named)


def _understood(parser: FormParser, rule):  # type: ignore[no-untyped-def]
    try:
        found = rule()
    except QuestionError as error:
        # An unknown word explains more than a choice or a place that hinges on it.
        unknown = parser.unknown() if error.code in ("BL-Q03", "BL-Q05") else None
        raise (unknown or error) from None
    if found is None:
        raise parser.failure()
    return found


def _no_group(expr: nodes.Expr, lexicon: Lexicon) -> nodes.Expr:
    """A description, or nothing at all where it is the everyday word for several families and instruments ("a curette")."""
    items = expr.items if isinstance(expr, nodes.Or) else ()
    terms = tuple(getattr(i, "category", "") or getattr(i, "pattern", "") for i in items)
    return nodes.Everything() if terms in {tuple(v) for v in lexicon.words.groups.values()} else expr


def _checked(text: str, question: Question, lexicon: Lexicon) -> Question:
    expr = getattr(question, "expr", None)
    if expr is not None:
        if depth(expr) > MAX_NESTING:
            raise too_deep(text, expr.span)
        if isinstance(question, nodes.Holds | nodes.Why | nodes.Contrast) and (named := named_in(_no_group(expr, lexicon))):
            raise QuestionError(
                "BL-Q03",
                f'"{text[named.span[0] : named.span[1]]}" is one instrument, not something that an instrument can be.',
                question=text,
                span=named.span,
                expected=lexicon.words.expected.get("category", ()),
                hint="To set two instruments side by side, ask to compare them.",
            )
    return question
