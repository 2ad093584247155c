"""Namespaces and short names: the only place that spells an IRI.

Inside Boxlock a term is its *short name*, a string such as ``"bl:KellyForceps"``; full IRIs appear only in RDF files,
in JSON answers and at the edge of the store. ``expand`` and ``shrink`` go between the two.
"""

from __future__ import annotations

import re

PREFIXES: dict[str, str] = {
    "bl": "https://boxlock.example/ns#",  # terms and patterns
    "kind": "https://boxlock.example/kind/",  # what sources call a group of patterns
    "src": "https://boxlock.example/source/",  # one source = one named graph
    "some": "https://boxlock.example/some/",  # evidence: "made with", true of some pieces of the pattern
    "not": "https://boxlock.example/not/",  # evidence: expressly denied
    "graph": "https://boxlock.example/graph/",  # the graphs of the closure
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "owl": "http://www.w3.org/2002/07/owl#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "dcterms": "http://purl.org/dc/terms/",
    "prov": "http://www.w3.org/ns/prov#",
}

TYPE = "rdf:type"
HAS_PART = "bl:hasPart"
LACKS_PART = "bl:lacksPart"
PARTS = (HAS_PART, LACKS_PART)
PATTERN = "bl:Pattern"
VARIANT_OF = "bl:variantOf"
OF_KIND = "bl:ofKind"
SIZE_CLASS = "bl:sizeClass"
INAPPLICABLE = "bl:inapplicable"
UNDECIDED = "bl:undecided"
LENGTH = "bl:length"
LENGTH_MIN = "bl:shortestLength"
LENGTH_MAX = "bl:longestLength"

_SHORT = re.compile(r"[a-z]+:[A-Za-z0-9](?:[A-Za-z0-9_-]*[A-Za-z0-9])?")


def is_short(name: str) -> bool:
    """True if ``name`` is a well-formed short name with a known prefix (it need not exist in the ontology)."""
    return bool(_SHORT.fullmatch(name)) and name.split(":", 1)[0] in PREFIXES


def expand(short: str) -> str:
    """Short name -> full IRI. Raises ValueError for anything that is not a well-formed short name."""
    if not is_short(short):
        raise ValueError(f"not a short name: {short!r}")
    prefix, local = short.split(":", 1)
    return PREFIXES[prefix] + local


def shrink(iri: str) -> str:
    """Full IRI -> short name. Raises ValueError if the IRI lies in none of our namespaces."""
    for prefix, base in PREFIXES.items():
        if iri.startswith(base):
            short = f"{prefix}:{iri[len(base) :]}"
            if is_short(short):
                return short
    raise ValueError(f"not an IRI of ours: {iri!r}")


def turtle_head(*prefixes: str) -> str:
    """The ``@prefix`` lines of these prefixes, in the order given."""
    return "".join(f"@prefix {p}: <{PREFIXES[p]}> .\n" for p in prefixes)


def shown(iri: str) -> str:
    """The short name of an IRI of ours; any other text as it is."""
    try:
        return shrink(iri)
    except ValueError:
        return iri
