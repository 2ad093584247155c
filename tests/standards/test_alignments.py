"""Alignments by code: both ends exist, and nothing of them is built in.

EMDN codes: European Commission, European Medical Device Nomenclature, branch L, reusable surgical instruments.
MeSH descriptors: US National Library of Medicine, Medical Subject Headings, tree E07.858, 2019.
"""

from __future__ import annotations

import pytest

from kg import load

EMDN = {
    "L0101", "L010102", "L010103", "L0102", "L0104", "L01040102", "L010402", "L010403", "L010701", "L0202", "L0205", "L030101",
    "L0311", "L0312", "L031303", "L03130401", "L031306", "L031307", "L031308", "L031312", "L031401", "L03140101", "L0406",
    "L04080203", "L050801", "L05080303", "L050901", "L0509020102", "L05090302", "L059001", "L0708010101", "L07080102", "L0901",
    "L0902", "L0903", "L0904", "L090901", "L0912", "L091301", "L091302", "L0914", "L11060301", "L12", "L14", "L149004", "L17",
    "L170102", "L1702", "L1704", "L1711",
}  # fmt: skip
MESH = {
    "D013525": "Surgical Instruments",
    "D009772": "Obstetrical Forceps",
    "D019723": "Endoscopes",
    "D020700": "Proctoscopes",
    "D020704": "Laryngoscopes",
}
MATCHES = {f"http://www.w3.org/2004/02/skos/core#{m}Match" for m in ("close", "broad")}


def alignments(folder, name: str):
    file = folder / "alignments" / f"{name}.ttl"
    return load.parse_turtle(file, file.name)


@pytest.mark.parametrize(("name", "codes"), [("emdn", EMDN), ("mesh", set(MESH))])
def test_both_ends_of_every_alignment_exist(fresh, ontology_folder, name, codes):
    from kg import names

    triples = alignments(ontology_folder, name)
    for t in triples:
        term = fresh.vocabulary.terms.get(names.shrink(t.subject.value))
        assert term is not None and term.role in ("kind", "category"), t.subject
        assert t.predicate.value in MATCHES
    assert {t.object.value.rpartition("/")[2] for t in triples} == codes
    assert len({(t.subject.value, t.object.value) for t in triples}) == len(triples)


def test_there_are_enough_and_each_file_says_where_from(ontology_folder):
    assert sum(len(alignments(ontology_folder, n)) for n in ("emdn", "mesh")) >= 40
    for name, source in (("emdn", "European Commission"), ("mesh", "US National Library of Medicine")):
        head = (ontology_folder / "alignments" / f"{name}.ttl").read_text(encoding="utf-8").partition("@prefix")[0]
        assert source in head and "Not in the manifest" in head


def test_alignments_are_loaded_on_request_only(ontology_folder):
    assert not [p for p, _ in load.manifest(ontology_folder) if p.parent.name == "alignments"]
