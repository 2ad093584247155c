"""The contract of every store: SPARQL 1.1 text in, typed rows, a truth value or triples out.

A back end implements ``_select``, ``_ask``, ``_construct`` and ``close``; callers use the public methods,
which turn every fault of the library or the network below into ``QueryError``, so that no foreign exception
leaves this package. A store only reads. Queries name their graphs with ``GRAPH``; the default graph is empty.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Literal, NamedTuple, Self, TypeVar

from kg.errors import BoxlockError, QueryError
from kg.names import shown
from kg.records import Record, field, record

T = TypeVar("T")
CellKind = Literal["iri", "literal", "blank"]


short = lru_cache(maxsize=65_536)(shown)
"""Every row names the same few thousand IRIs again and again."""


class Cell(NamedTuple):
    """One bound value of a row.

    ``value`` is the full IRI, the text of a literal, or the label of a blank node without ``_:``.
    ``datatype`` is the full IRI of a literal's datatype and ``lang`` its language tag in lower case; both are
    empty where they do not apply.
    """

    kind: CellKind
    value: str
    datatype: str = ""
    lang: str = ""

    @property
    def short(self) -> str:
        """The short name of an IRI of ours; any other IRI; a literal's text; ``_:label`` of a blank node."""
        if self.kind == "iri":
            return short(self.value)
        return f"_:{self.value}" if self.kind == "blank" else self.value


@record
class Rows(Record):
    """The result of a SELECT query, in the order the query gives.

    ``variables`` holds the names without ``?``, in the order of the query. A row lacks the variables that are
    not bound in it. No rows means that nothing matched.
    """

    variables: tuple[str, ...]
    rows: list[dict[str, Cell]] = field(default_factory=list)

    def __iter__(self) -> Iterator[dict[str, Cell]]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def column(self, variable: str) -> list[Cell]:
        """The bound values of one variable, row by row. KeyError if the query has no such variable."""
        if variable not in self.variables:
            raise KeyError(variable)
        return [row[variable] for row in self.rows if variable in row]


class Store(ABC):
    """A place that answers SPARQL 1.1 queries. ``name`` says in messages which one it is.

    ``far``: a query costs a way there and back, so that few large ones are better than many small ones.
    """

    name: str = "the store"
    closed: bool = False
    far: bool = False

    def select(self, query: str) -> Rows:
        """Run a SELECT query. Raises QueryError: BL-S01 if it does not parse, BL-S05 for other faults."""
        return self._guarded(self._select, query)

    def texts(self, query: str) -> list[tuple[str, ...]]:
        """Run a SELECT query for the bare values: a row has one text a variable, in the order of the query, "" if unbound.

        IRIs in full, literals without language and datatype: for answers of very many rows. Raises QueryError as ``select``.
        """
        return self._guarded(self._texts, query)

    def ask(self, query: str) -> bool:
        """Run an ASK query. Raises QueryError as ``select`` does."""
        return self._guarded(self._ask, query)

    def construct(self, query: str) -> str:
        """Run a CONSTRUCT or DESCRIBE query; the triples as N-Triples, one a line, sorted, without doubles.

        No triples give the empty text. Raises QueryError as ``select`` does.
        """
        return self._guarded(self._construct, query)

    def close(self) -> None:
        """Give back what the store holds. Later queries raise QueryError; closing twice is harmless."""
        self.closed = True

    @abstractmethod
    def _select(self, query: str) -> Rows: ...

    def _texts(self, query: str) -> list[tuple[str, ...]]:
        rows = self._select(query)
        return [tuple(row[v].value if v in row else "" for v in rows.variables) for row in rows]

    @abstractmethod
    def _ask(self, query: str) -> bool: ...

    @abstractmethod
    def _construct(self, query: str) -> str: ...

    def _guarded(self, run: Callable[[str], T], query: str) -> T:
        if self.closed:
            raise QueryError("BL-S05", f"{self.name} is closed")
        try:
            return run(query)
        except BoxlockError:
            raise
        except Exception as fault:  # whatever a library below raises must not reach the user as a traceback
            raise QueryError("BL-S05", f"{self.name} could not answer: {plain(fault)}") from fault

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc_info: object) -> None:
        self.close()


def plain(fault: BaseException) -> str:
    """The message of a foreign exception on one line of at most 300 characters, else its class name."""
    text = " ".join(str(fault).split()) or type(fault).__name__
    return text if len(text) <= 300 else text[:299] + "…"
