"""Who says so, asked of a list: sources are told of one instrument at a time, so those of its first two, and how many more
there are to ask of."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.follow import NOT_OF_A_LIST
from kg.language.joining import conj, names_family
from kg.language.parse import parser_for
from kg.language.say import say_expr
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer

LISTS = (nodes.Filter, nodes.Count)
TOLD = 2
"""Of so many instruments of a list the sources are told."""


def of_a_list(
    catalogue: Catalogue, refused: QuestionError, text: str, after: Answer | QuestionError | None, limit: int
) -> Answer | None:
    """The sources of what the first of a list were listed for; None if something else was refused."""
    if refused.message != NOT_OF_A_LIST or after is None or isinstance(after, QuestionError):
        return None
    question = after.tree
    if not isinstance(question, LISTS) or not after.matches:
        return None
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    said = [i for i in items if not names_family(i)] or [*items]
    features = parser_for(text, catalogue.lexicon).features_of(conj(said))
    found = []
    for match in after.matches[:TOLD]:
        with suppress(QuestionError):
            found.append(catalogue.answer(nodes.Sources(match.name, features), text, limit=limit))
    if not found:
        return None
    first = found[0]
    many = max(after.match_count or 0, len(after.matches))
    name = say_expr(nodes.Named(after.matches[min(TOLD, many) - 1].name), catalogue.lexicon)
    told = f"Told are the first {len(found)} of {many}; ask of another by its name, such as: sources for {name}."
    note = f"{refused.message} {told}"
    also = found[1] if len(found) > 1 else None
    return replace(first, also=also, notes=(note, *first.notes))


__all__ = ["of_a_list"]
