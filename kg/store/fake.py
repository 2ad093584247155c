"""A store that asks a function: for tests, ours and other people's, that need no data."""

from __future__ import annotations

from collections.abc import Callable

from kg.errors import QueryError
from kg.store.base import Rows, Store


class FakeStore(Store):
    """Answers every query with ``answer(query)``.

    The function returns ``Rows`` for SELECT, a ``bool`` for ASK and N-Triples text for CONSTRUCT; anything
    else raises QueryError, as a store does that is asked for the wrong form. ``queries`` holds the texts
    received, oldest first.
    """

    def __init__(self, answer: Callable[[str], Rows | bool | str], *, name: str = "the fake store") -> None:
        self.name = name
        self.queries: list[str] = []
        self._answer = answer

    def _select(self, query: str) -> Rows:
        result = self._call(query)
        if isinstance(result, Rows):
            return result
        raise self._wrong("rows")

    def _ask(self, query: str) -> bool:
        result = self._call(query)
        if isinstance(result, bool):
            return result
        raise self._wrong("yes or no")

    def _construct(self, query: str) -> str:
        result = self._call(query)
        if isinstance(result, str):
            return "".join(sorted(set(result.splitlines(keepends=True))))
        raise self._wrong("triples")

    def _call(self, query: str) -> Rows | bool | str:
        self.queries.append(query)
        return self._answer(query)

    def _wrong(self, wanted: str) -> QueryError:
        return QueryError("BL-S05", f"{self.name} was asked for {wanted}, but the query has another form")
