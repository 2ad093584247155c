"""One page has one vote: sources with the same address are one work, whoever entered them."""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path


def test_sources_with_one_address_are_one_work(ontology_folder: Path) -> None:
    works: dict[str, set[str]] = defaultdict(set)
    for path in sorted((ontology_folder / "evidence").glob("*.ttl")):
        for source in re.findall(r"^src:\S+ a bl:Source.*?\.$", path.read_text(encoding="utf-8"), flags=re.S | re.M):
            address, work = re.search(r"rdfs:seeAlso <([^>]*)>", source), re.search(r'bl:work "([^"]*)"', source)
            if address and work:
                works[address.group(1)].add(work.group(1))
    assert len(works) > 300
    assert {a: w for a, w in works.items() if len(w) > 1} == {}
