"""The store on a server: SPARQL 1.1 Protocol over HTTP, the query sent by POST, the answer as JSON or N-Triples.

It answers as the embedded store does. Nothing here is loaded unless a server was named.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

from kg.errors import QueryError
from kg.store.address import Address
from kg.store.base import Cell, Rows, Store, plain
from kg.store.refusals import not_read, refusal, wrong_type
from kg.store.results import MEDIA_TYPE, read_results
from kg.store.web import Limits, Link, Reply

if TYPE_CHECKING:
    from kg.store.sandbox import RawResult

_TRIPLES = "application/n-triples"
_AS_ROWS = f"{MEDIA_TYPE}, application/json;q=0.9, {_TRIPLES};q=0.1"
_AS_TRIPLES = f"{_TRIPLES}, {MEDIA_TYPE};q=0.1"
"""Both forms are accepted, the wanted one rather, so that a query of another form is answered and can be told from a fault."""


class RemoteStore(Store):
    """``link`` is the connection; its ``requests`` and ``received`` say what answers cost."""

    far = True

    def __init__(self, address: Address, limits: Limits | None = None) -> None:
        self.link = Link(address, limits)
        self.name = self.link.name

    def close(self) -> None:
        super().close()
        self.link.close()

    def _select(self, query: str) -> Rows:
        return self._rows(self._send(query, _AS_ROWS))

    def _ask(self, query: str) -> bool:
        return self._truth(self._send(query, _AS_ROWS))

    def _construct(self, query: str) -> str:
        return self._triples(self._send(query, _AS_TRIPLES))

    def raw(self, text: str, *, seconds: float = 10, max_rows: int = 10_000, max_bytes: int = 20_000_000) -> RawResult:
        """Checks a query that a person typed, and has the server run it over the published graphs alone, as
        ``kg.store.sandbox.run_raw`` does here: they are its named graphs and, merged, its default graph, unless it names some
        with FROM. An answer above ``max_bytes`` is an error: what a server sends cannot be cut and still be read.

        Raises QueryError: BL-S01 to BL-S03 as ``kg.store.guard.check``, BL-S04 if the server has not answered after
        ``seconds``, BL-S05 to BL-S10 as any query.
        """
        from kg.store.guard import QueryForm, check
        from kg.store.publication import listed
        from kg.store.sandbox import RawResult

        checked = check(text)
        graphs = [] if checked.names_graphs else listed(self)
        fields = [("query", checked.text)]
        fields += [(key, graph) for key in ("default-graph-uri", "named-graph-uri") for graph in graphs]
        triples = checked.form in (QueryForm.CONSTRUCT, QueryForm.DESCRIBE)
        headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": _AS_TRIPLES if triples else _AS_ROWS}

        def run(_: str) -> RawResult:
            body = urlencode(fields).encode("ascii")
            reply = self._answer(self.link.request("POST", body=body, headers=headers, whole=seconds, most=max_bytes))
            if triples:
                lines = self._triples(reply).splitlines(keepends=True)
                return RawResult(checked.form, truncated=len(lines) > max_rows, text="".join(lines[:max_rows]))
            if checked.form is QueryForm.ASK:
                return RawResult(checked.form, text="true" if self._truth(reply) else "false")
            found = self._rows(reply)
            cut = found.rows[:max_rows]  # before they are sorted, as where the query stops there
            if not checked.ordered:
                cut.sort(key=lambda row: _sort_key(row, found.variables))
            return RawResult(checked.form, found.variables, cut, len(found) > max_rows)

        try:
            return self._guarded(run, text)
        except QueryError as error:
            if error.code != "BL-S07":
                raise
            hint = "Ask for less: name more of the terms, or add a LIMIT to an inner SELECT."
            raise QueryError("BL-S04", f"the query was given up after {seconds:g} seconds", hint=hint) from error

    # --- sending and reading ------------------------------------------------------------------------------------------
    def _send(self, query: str, accept: str) -> Reply:
        headers = {"Content-Type": "application/sparql-query", "Accept": accept}
        return self._answer(self.link.request("POST", body=query.encode("utf-8"), headers=headers))

    def _answer(self, reply: Reply) -> Reply:
        if reply.status == 400:
            raise not_read(self.link, reply)
        if reply.status != 200:
            raise refusal(self.link, reply, "query")
        return reply

    def _rows(self, reply: Reply) -> Rows:
        found = self._results(reply, "rows")
        if isinstance(found, Rows):
            return found
        raise self._other_form("rows")

    def _truth(self, reply: Reply) -> bool:
        found = self._results(reply, "yes or no")
        if isinstance(found, bool):
            return found
        raise self._other_form("yes or no")

    def _results(self, reply: Reply, wanted: str) -> Rows | bool:
        if reply.kind == _TRIPLES:
            raise self._other_form(wanted)
        if reply.kind not in (MEDIA_TYPE, "application/json"):
            raise wrong_type(self.link, reply, "query results", "query")
        return read_results(reply.body, self.name)

    def _triples(self, reply: Reply) -> str:
        if reply.kind == MEDIA_TYPE:
            raise self._other_form("triples")
        if reply.kind != _TRIPLES:
            raise wrong_type(self.link, reply, "triples", "query")
        import pyoxigraph as ox

        from kg.store.embedded import ntriples

        try:
            return ntriples(quad.triple for quad in ox.parse(reply.body, format=ox.RdfFormat.N_TRIPLES))
        except (SyntaxError, ValueError) as fault:
            raise QueryError("BL-S10", f"the answer of {self.name} is not N-Triples: {plain(fault)}") from fault

    def _other_form(self, wanted: str) -> QueryError:
        return QueryError("BL-S05", f"{self.name} was asked for {wanted}, but the query has another form")


def _sort_key(row: dict[str, Cell], names: tuple[str, ...]) -> list[list[str]]:
    """The order of rows that have none of their own, as the sandbox sorts them."""
    return [[c.kind, c.value, c.datatype, c.lang] if (c := row.get(name)) else [] for name in names]
