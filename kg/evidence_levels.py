"""Names of the graphs that say how a fact came to be known, shared by the closure's writer and its readers."""

LEVELS = {
    "graph:adopted-own": "own",
    "graph:adopted-variant": "variant",
    "graph:adopted-kind": "kind",
    "graph:derived": "derived",
    "graph:inferred": "inferred",
}
"""Graph -> level of a fact."""

BASES = {
    "graph:on-veterinary": "veterinary",
    "graph:on-makers-page": "maker's page",
    "graph:on-common-practice": "common practice",
    "graph:on-memory": "memory",
}
"""Graph -> what a fact must rest on at best, weakest last; a fact in none of them has published human witnesses."""

UNPUBLISHED = {"src:memory": "memory", "src:common-practice": "common practice"}
"""Sources that stand for having none, by the names that the ontology gives them -> what a fact then rests on."""

RESTS_ON = {
    "veterinary": "veterinary sources only",
    "common practice": "rests on common practice",
    "memory": "rests on memory",
    "maker's page": "rests on a maker's page",
}
"""What a fact must rest on at best -> how that is said beside it."""
