"""Evidence from outside: read, checked as a whole, and only then part of somebody's own catalogue.

    files --read_*--> rows (every cell with its place) --resolve--> names --checks--> findings, or a staging
    staging + catalogue --adoption, in-process rules, HermiT on the neighbourhood--> what would change

One idea a module: ``rows`` (places, rows, findings), ``text`` (bytes to text), ``read_csv``, ``read_xlsx``, ``read_rdf``,
``tables`` (the documented form), ``resolve`` (words to names), ``contradictions``, ``shapes`` (SHACL made from the
vocabulary), ``inspect`` (all of it in order), ``template`` (the sheet to fill in). Nothing here writes
to a catalogue; ``kg.overlay`` does.
"""
