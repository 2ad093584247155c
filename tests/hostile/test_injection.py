"""Text from outside never becomes part of a query; see ``tests.bench.injections`` for the 10,000 attempts of the full run."""

from __future__ import annotations

import csv
import io
import random
from pathlib import Path

import pytest

from kg import build, closure, load, names, overlay
from kg.build import contents, release, stage
from kg.catalogue import Catalogue
from kg.errors import BoxlockError
from kg.sparql import terms
from kg.store.embedded import EmbeddedStore
from tests.bench import injections


def test_attempts_through_every_hole_change_nothing(ontology_folder: Path) -> None:
    found = injections.run(ontology_folder, 130, seed=7)
    assert found.faults == []
    assert found.before == found.after
    assert found.queries > 0 and len({hole for hole, _ in found.outcomes}) == 13


def test_the_looking_can_fail() -> None:
    assert injections._unsafe("INSERT DATA { <urn:a> <urn:b> <urn:c> }")
    assert injections._unsafe("SELECT * WHERE { SERVICE <http://127.0.0.1:9/> { ?s ?p ?o } }")
    assert not injections._unsafe("SELECT * WHERE { ?s ?p ?o }")


@pytest.mark.parametrize("seed", range(5))
def test_only_names_become_terms(seed: int) -> None:
    rng = random.Random(seed)
    for number in range(400):
        text = injections.attempt(rng, f"Zq{number}")
        for name in (text, f"bl:{text}", f"bl:A{text}", f"{text}:A"):
            if names.is_short(name):
                assert name.isascii() and name.replace(":", "").replace("-", "").replace("_", "").isalnum()
                continue
            with pytest.raises(ValueError, match="not a short name"):
                terms.term(name)
    for number in (float("nan"), float("inf"), float("-inf")):
        with pytest.raises(ValueError, match="finite"):
            terms.decimal(number)


def test_labels_of_a_catalogue_from_outside(ontology_folder: Path, staged, tmp_path: Path) -> None:
    """Labels that are pieces of queries are asked for, described and compared: none stands in a query."""
    head = "".join(f"@prefix {p}: <{names.PREFIXES[p]}> .\n" for p in ("bl", "src", "rdfs", "dcterms"))
    rng = random.Random(3)
    labels = {}
    for number in range(40):
        text = " ".join(injections.attempt(rng, f"Zq{number}x").replace("\ud800", "").split())[:80]
        labels[f"Evil{number}"] = f"{text} Zq{number}x"
    patterns, said = head, head + 'src:bad a bl:Source ; bl:sourceKind "textbook" ; dcterms:title "Zq\\" } INSERT" .\n'
    for name, label in labels.items():
        coded = "".join(f"\\u{ord(c):04X}" for c in label)
        patterns += f'bl:{name} a bl:Pattern ; rdfs:label "{coded}"@en .\n'
        said += f"bl:{name} bl:purpose bl:OccludeVesselTemporarily ; bl:curvature bl:Curved .\n"
    files = [
        load.SourceFile(f"own/{role}/evil.ttl", role, tuple(load.triples_of(text)))
        for role, text in (("patterns", patterns), ("evidence", said))
    ]
    texts = contents(stage(ontology_folder, files, base=staged, alone=True))
    stamp = closure.stamp_of(texts, "evil", "", release())
    closure.write(tmp_path / "generated", texts, stamp)
    store = EmbeddedStore.from_quads(tmp_path / "generated" / closure.QUADS)
    before, sent, real = injections.digest(store), [], store.query
    store.query = lambda text, **named: (sent.append(text), real(text, **named))[1]  # type: ignore[method-assign]
    catalogue = Catalogue(ontology_folder, tmp_path / "generated", stamp, store)
    assert {m.label for m in catalogue.ask("clamps", limit=100).matches} == set(labels.values())
    answered = 0
    for label in labels.values():
        for ask in (catalogue.describe, catalogue.ask, lambda n: catalogue.compare([n, n]), catalogue.draw):
            try:
                ask(label)
                answered += 1
            except BoxlockError:
                continue
    store.query = real  # type: ignore[method-assign]
    assert sent and not [q for q in sent if "Zq" in q or "INSERT" in q]
    assert injections.digest(store) == before


def test_names_in_a_file_of_evidence(staged, tmp_path: Path, monkeypatch) -> None:
    """Ids, labels, features and values that are pieces of queries: refused, each row with its place; nothing is added."""
    monkeypatch.setattr(build, "stage", lambda *_, **__: staged)
    rng, rows = random.Random(11), []
    for number in range(300):
        bad = injections.attempt(rng, f"Zq{number}").replace("\0", "").replace("\ud800", "")
        row = ["my-book", "Kelly forceps", "is", "joint", "box lock"]
        row[rng.choice((0, 1, 2, 3, 4))] = f"{bad} }}"
        rows.append(row)
    out = io.StringIO()
    csv.writer(out).writerows([["source", "subject", "mode", "feature", "value"], *rows])
    (tmp_path / "said.csv").write_text(out.getvalue(), encoding="utf-8", newline="")
    (tmp_path / "sources.csv").write_text("id,title,kind\nmy-book,A Book,textbook\n", encoding="utf-8")
    found = overlay.check_files([tmp_path / "sources.csv", tmp_path / "said.csv"], hermit=False)
    assert not found.accepted and not [text for text in found.files.values() if "Zq" in text]
    assert len({f.line for f in found.findings if f.severity == "error"}) >= 290
