"""How a catalogue lies on a server: which graphs it is made of, and how one sees whether all of it is there.

Beside the graphs of the closure (``kg.quads``) there are two small ones, both about ``graph:published``:

    graph:manifest    what is there or on its way: the digest of each graph, empty while it is sent or removed
    graph:published   which closure it is; written last and removed first, so without it nothing is to be relied on
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from kg.errors import QueryError
from kg.names import PREFIXES, expand
from kg.store.base import Store

PUBLISHED, MANIFEST = "graph:published", "graph:manifest"
OURS = (PREFIXES["graph"], PREFIXES["src"])
"""A graph of ours lies in one of these namespaces; no other is ever written or removed."""
_CLOSURE, _RUN, _DIGEST = "bl:closureDigest", "bl:publishingRun", "bl:contentDigest"
_PUBLISH = "Run: boxlock publish URL, with the address of the server's graph store."


@dataclass(frozen=True)
class Manifest:
    """``closure``: digest of the closure's quads; ``run``: marks one run of ``publish``; ``graphs``: full IRI -> digest of its
    content, empty if it may hold anything. All empty: there is none."""

    closure: str = ""
    run: str = ""
    graphs: Mapping[str, str] = field(default_factory=dict)

    def text(self) -> str:
        """As N-Triples, sorted."""
        about = f"<{expand(PUBLISHED)}>"
        lines = [f'{about} <{expand(_CLOSURE)}> "{self.closure}" .', f'{about} <{expand(_RUN)}> "{self.run}" .']
        return "\n".join(lines + entries(self.graphs)) + "\n"


def entries(graphs: Mapping[str, str]) -> list[str]:
    """The lines of a manifest for these graphs (full IRI -> digest), sorted."""
    return [f'<{graph}> <{expand(_DIGEST)}> "{digest}" .' for graph, digest in sorted(graphs.items())]


def stamp_text(closure: str) -> str:
    """The content of ``graph:published`` for a closure with this digest, as N-Triples."""
    return f'<{expand(PUBLISHED)}> <{expand(_CLOSURE)}> "{closure}" .\n'


def read_manifest(triples: Iterable[tuple[str, str, str]]) -> Manifest:
    """The manifest in triples (full IRIs; texts without quotation marks). Two digests of one graph count as none."""
    closure = run = ""
    graphs: dict[str, set[str]] = {}
    for subject, predicate, value in triples:
        if predicate == expand(_CLOSURE):
            closure = value
        elif predicate == expand(_RUN):
            run = value
        elif predicate == expand(_DIGEST):
            graphs.setdefault(subject, set()).add(value)
    certain = {g: next(iter(d - {""})) if len(d - {""}) == 1 else "" for g, d in graphs.items()}
    return Manifest(closure, run, {g: d for g, d in certain.items() if g.startswith(OURS)})


def published(store: Store) -> str:
    """The digest of the closure that is published in a store, by one query.

    Raises QueryError (BL-S11) if none is, or if one is not there as a whole; else as ``Store.select``.
    """
    about, closure = f"<{expand(PUBLISHED)}>", f"<{expand(_CLOSURE)}>"
    graphs = f"<{expand(PUBLISHED)}> <{expand(MANIFEST)}>"
    query = f"SELECT ?g ?o WHERE {{ VALUES ?g {{ {graphs} }} GRAPH ?g {{ {about} {closure} ?o }} }}"
    found = {row["g"].short: row["o"].value for row in store.select(query)}
    if PUBLISHED in found:
        return found[PUBLISHED]
    if MANIFEST in found:
        what = f"{store.name} holds only part of a catalogue: it is being published, or that was broken off"
        raise QueryError("BL-S11", what, hint=f"Wait until it is done, or finish it. {_PUBLISH}")
    raise QueryError("BL-S11", f"no catalogue has been published to {store.name}", hint=_PUBLISH)


def other_closure(store: Store, there: str, here: Iterable[str]) -> QueryError:
    """The error for a store whose closure (digest) is none of those at hand."""
    mine = ", ".join(sorted({digest[:12] for digest in here}))
    what = f"{store.name} holds another catalogue ({there[:12]}) than this installation ({mine})"
    hint = f"Its answers would not fit the words known here. Install the release it was published from, or: {_PUBLISH[5:]}"
    return QueryError("BL-S11", what, hint=hint)


def listed(store: Store) -> list[str]:
    """The full IRIs of the graphs of the published closure, sorted. Raises QueryError as ``Store.select``."""
    query = f"SELECT ?s WHERE {{ GRAPH <{expand(MANIFEST)}> {{ ?s <{expand(_DIGEST)}> ?o }} }}"
    return sorted({row["s"].value for row in store.select(query) if row["s"].value.startswith(OURS)})
