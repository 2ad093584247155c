"""Whatever is recorded of a pattern, also what no shipped pattern has, draws without a fault and stays on its page."""

from __future__ import annotations

import random
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from kg.draw import read_back
from kg.draw.make import Subject, document_of
from kg.draw.table import read_table
from kg.names import HAS_PART, LACKS_PART, OF_KIND

NUMBER = r"-?\d+(?:\.\d+)?"
ROUNDS = 60


@pytest.mark.parametrize("seed", range(6))
def test_random_facts(catalogue, ontology_folder, seed: int) -> None:
    vocabulary, table, random_ = catalogue.vocabulary, read_table(ontology_folder), random.Random(seed)
    kinds = [t.name for t in vocabulary.by_role("kind")]
    base = catalogue.context.reader.facts(["bl:KellyForceps"])["bl:KellyForceps"]
    for _ in range(ROUNDS):
        holds, varies = set(), {}
        if random_.random() < 0.9:
            kind = random_.choice(kinds)
            holds |= {(OF_KIND, k) for k in (kind, *vocabulary.ancestors(kind))}
        for feature, row in table.features.items():
            values, dice = list(row.tokens), random_.random()
            if dice < 0.25:
                holds.add((feature, random_.choice(values)))
            elif dice < 0.35:
                varies[feature] = tuple(sorted(random_.sample(values, min(len(values), random_.randint(1, 3)))))
        for part in table.parts:
            dice = random_.random()
            if dice < 0.12:
                holds.add((HAS_PART, part))
            elif dice < 0.2:
                holds.add((LACKS_PART, part))
            elif dice < 0.23:
                varies[part] = (HAS_PART,)
        low = random_.choice([None, 2.0, 150.0, 900.0])
        length = None if low is None else (low, low * random_.choice([1, 2]))
        known = replace(base.known, holds=frozenset(holds), varies=varies, length=length, inapplicable=frozenset())
        subject = Subject("bl:KellyForceps", replace(base, known=known, disputed=()), table, vocabulary)
        drawn = document_of([subject], "0")
        root = ElementTree.fromstring(drawn.svg())
        width, height = (float(n) for n in (root.get("viewBox") or "").split()[2:])
        for path in root.iter("{http://www.w3.org/2000/svg}path"):
            found = [float(n) for n in re.findall(NUMBER, path.get("d", ""))]
            assert all(0 <= x <= width for x in found[::2]) and all(0 <= y <= height for y in found[1::2])
        assert {(t.feature, t.value) for t in read_back(drawn.svg())} == {(d.feature, d.value) for d in drawn.drawn}
        shown = {(d.feature, d.value) for d in drawn.drawn}
        ways = {(v, slot) if slot in table.parts else (slot, v) for slot, values in varies.items() for v in values}
        assert shown <= holds | ways
