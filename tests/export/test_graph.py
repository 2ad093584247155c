"""A part of the catalogue as Turtle and JSON-LD: it loads back and answers the same, and other tools can use it.

Outside witnesses: rdflib reads both forms and answers the question in SPARQL; HermiT reasons over the file alone.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from kg import names
from kg.catalogue import Catalogue
from kg.errors import InputError, QuestionError
from kg.export import Wishes, export
from kg.export.graph import subset, to_jsonld, to_turtle, with_family
from kg.export.reopen import open_export
from tests.export.hostile import DATE

BOTH = (".ttl", ".jsonld")
EVERY = 100_000


def questions(catalogue: Catalogue, count: int, seed: int) -> list[str]:
    """Questions put together by chance from what the catalogue has: lists, counts, values, comparisons, descriptions."""
    chance = random.Random(seed)
    vocabulary = catalogue.vocabulary
    categories = [t.plural or t.label for t in vocabulary.by_role("category") if t.name in vocabulary.definitions]
    parts = [t.label for t in vocabulary.by_role("part")]
    singles = [f for f in vocabulary.features.values() if f.single and f.section == "" and f.name != names.OF_KIND]
    patterns = [t.label for t in vocabulary.by_role("pattern")]
    out = []
    while len(out) < count:
        feature = chance.choice(singles)
        value = chance.choice(vocabulary.values_of(feature.name) or ("",))
        category = chance.choice(categories)
        text = chance.choice(
            [
                f"{category} with {chance.choice(parts)}",
                f"{category} without {chance.choice(parts)}",
                f"how many {category} are {vocabulary.label(value)}",
                f"{category} by {vocabulary.label(feature.name)}",
                f"{category} longer than {chance.choice((8, 12, 16, 20))} cm",
                f"describe {chance.choice(patterns)}",
                f"what is the {vocabulary.label(feature.name)} of the {chance.choice(patterns)}",
                f"compare {chance.choice(patterns)} and {chance.choice(patterns)}",
                f"is the {chance.choice(patterns)} a {vocabulary.label(chance.choice(sorted(vocabulary.definitions)))}",
            ]
        )
        try:
            answer = catalogue.ask(text, limit=EVERY)
        except QuestionError:  # chance also makes sentences that are none
            continue
        if answer.matches or answer.possible or answer.disputed or answer.kind not in ("filter", "count", "group"):
            out.append(text)
    return out


@pytest.fixture(scope="module")
def written(shipped, staged, tmp_path_factory):
    """question, ending -> the exported file; the ontology is staged once for all of them."""
    folder = tmp_path_factory.mktemp("graphs")
    made: dict[tuple[str, str], Path] = {}

    def write(question: str, ending: str) -> Path:
        if (question, ending) not in made:
            import kg.export.graph as graph

            path = folder / f"{len(made)}{ending}"
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(graph, "staging_of", lambda _: staged)
                made[question, ending] = export(shipped, question, path, Wishes(date=DATE))
        return made[question, ending]

    return write


def same(question: str, shipped: Catalogue, opened: Catalogue) -> None:
    before, after = (c.ask(question, limit=EVERY).to_json() for c in (shipped, opened))
    assert after.pop("verified_by") == "not verified by HermiT"
    before.pop("verified_by")
    assert by_itself(after) == by_itself(before)


def by_itself(answer: dict) -> dict:
    """Without what a description says beside the rest of the catalogue: what is recorded of most of its kind, and not of it."""
    if "not_recorded_slots" not in answer:
        return answer
    out = {k: v for k, v in answer.items() if k != "not_recorded_slots"}
    out["parts"] = [p for p in answer["parts"] if p["status"] != "not recorded"]
    out["spoken"] = re.sub(r" Not recorded: [^.]*\.", "", answer["spoken"])
    return out


@pytest.mark.parametrize("seed", range(30))
def test_the_same_answer_after_loading_back(shipped, staged, written, seed) -> None:
    (question,) = questions(shipped, 1, seed)
    opened = open_export(written(question, BOTH[seed % 2]), base=staged)
    same(question, shipped, opened)
    opened.close()


def test_both_forms_say_the_same(shipped, written) -> None:
    import rdflib
    from rdflib.compare import isomorphic

    question = "vascular clamps with longitudinal serration"
    turtle = rdflib.Graph().parse(written(question, ".ttl"))
    jsonld = rdflib.Graph().parse(written(question, ".jsonld"), format="json-ld")
    assert len(turtle) > 1000
    assert isomorphic(turtle, jsonld)


def test_the_same_file_again(shipped, staged) -> None:
    chosen = [m.name for m in shipped.ask("self-closing clamps").matches]
    for write in (to_turtle, to_jsonld):
        assert write(subset(staged, chosen)) == write(subset(staged, reversed(chosen)))


def test_rdflib_finds_the_adopted_facts_and_their_witnesses(shipped, written) -> None:
    """SPARQL by another engine on the file alone gives the adopted value and every source of the shipped answer."""
    import rdflib

    graph = rdflib.Graph().parse(written("describe Kelly forceps", ".ttl"))
    head = "".join(f"PREFIX {p}: <{iri}>\n" for p, iri in names.PREFIXES.items())
    values = {str(r.v) for r in graph.query(head + "SELECT ?v WHERE { bl:KellyForceps bl:serrationExtent ?v }")}
    (adopted,) = (v for v in shipped.ask("what is the serration extent of the Kelly forceps").values if v.status == "adopted")
    assert {shipped.vocabulary.label(names.shrink(v)) for v in values} == {adopted.label}
    rows = graph.query(
        head + "SELECT ?title WHERE { ?s a bl:Statement ; bl:about bl:KellyForceps ; bl:says bl:serrationExtent ; "
        "dcterms:source ?source . ?source dcterms:title ?title }"
    )
    titles = {str(r.title) for r in rows}
    assert titles
    assert all(any(source.startswith(title) for title in titles) for source in adopted.sources)


@pytest.mark.reasoner
def test_hermit_finds_the_file_consistent_and_the_same_categories(staged, written) -> None:
    """The file by itself, without the rest of the ontology: consistent, and its patterns fall into the same categories."""
    import rdflib

    from kg.reason.hermit import realise

    graph = rdflib.Graph().parse(written("vascular clamps with longitudinal serration", ".ttl"))
    outcome = realise(graph, timeout_s=300)
    assert outcome.status == "consistent", outcome.detail
    ours = staged.types()
    patterns = {names.shrink(str(s)) for s in graph.subjects(rdflib.RDF.type, rdflib.URIRef(names.expand(names.PATTERN)))}
    assert len(patterns) >= 10
    for pattern in patterns:
        assert {t for t in outcome.types[pattern] if t in staged.vocabulary.definitions} == ours[pattern]


def test_no_statement_is_asserted(staged) -> None:
    """What was said and not adopted stands in statements only."""
    pattern = "bl:DoyenIntestinalClamp"
    said = {
        (s.feature, s.value) for s in staged.statements if s.subject == pattern and s.mode == "is" and s.feature != "bl:length"
    }
    refused = said - set(staged.records[pattern].facts)
    assert refused
    triples = {(t.subject.value, t.predicate.value, t.object.value) for t in subset(staged, [pattern])}
    for feature, value in refused:
        assert (names.expand(pattern), names.expand(feature), names.expand(value)) not in triples
        assert any(v == names.expand(value) and p == names.expand("bl:value") for _, p, v in triples)


def test_families_stay_together(shipped) -> None:
    """What is adopted of a parent depends on its variants, so a part has both."""
    found = with_family(shipped.vocabulary, ["bl:CurvedDoyenIntestinalClamp"])
    assert {"bl:DoyenIntestinalClamp", "bl:StraightDoyenIntestinalClamp"} <= set(found)


# --- what cannot be opened --------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("name", "text", "code", "said"),
    [
        ("x.txt", "", "BL-I03", "Turtle or JSON-LD"),
        ("missing.ttl", None, "BL-I02", "cannot be read"),
        ("bad.ttl", "no turtle at all", "BL-I03", "does not parse"),
        ("bad.jsonld", "{", "BL-I03", "does not parse"),
        ("remote.jsonld", '{"@context": "http://127.0.0.1:9/c", "@id": "x:y"}', "BL-I03", "does not parse"),
        ("empty.ttl", "", "BL-I03", "no patterns"),
        (
            "pattern.ttl",
            "<https://boxlock.example/ns#A> a <https://boxlock.example/ns#Pattern> .",
            "BL-I03",
            "no statements",
        ),
    ],
)
def test_error_files_that_are_no_export(tmp_path, name, text, code, said) -> None:
    if text is not None:
        (tmp_path / name).write_text(text)
    with pytest.raises(InputError) as caught:
        open_export(tmp_path / name)
    assert caught.value.code == code
    assert said in caught.value.message


def test_error_a_category_cannot_be_smuggled_in(staged, tmp_path, written) -> None:
    """The adopted facts and the axioms of a file are not believed: only statements count."""
    text = written("self-closing clamps", ".ttl").read_text()
    forged = tmp_path / "forged.ttl"
    forged.write_text(text + "\nbl:BulldogClamp a bl:ArteryForceps ; bl:jawSurface bl:SmoothJaw .\n")
    opened = open_export(forged, base=staged)
    assert "bulldog clamp" not in [m.label for m in opened.ask("artery forceps").matches]
    smooth = [v.label for v in opened.ask("what is the jaw surface of the bulldog clamp").values]
    opened.close()
    assert smooth == [v.label for v in _shipped_values()]


def _shipped_values():
    from kg.opening import open_catalogue
    from kg.paths import ontology_dir

    return open_catalogue(ontology_dir()).ask("what is the jaw surface of the bulldog clamp").values


def test_error_unknown_names_in_a_file(staged, tmp_path, written) -> None:
    text = written("self-closing clamps", ".ttl").read_text()
    wrong = tmp_path / "wrong.ttl"
    wrong.write_text(text.replace("bl:says bl:jawSurface", "bl:says bl:noSuchFeature"))
    with pytest.raises(InputError, match="unknown name: bl:noSuchFeature"):
        open_export(wrong, base=staged)


def test_error_an_answer_without_a_pattern(shipped, tmp_path) -> None:
    with pytest.raises(InputError, match="names no pattern") as caught:
        export(shipped, "what is a box lock?", tmp_path / "x.ttl")
    assert ".html" in caught.value.hint
    assert list(tmp_path.iterdir()) == []


def test_the_cache_does_not_grow_without_end(staged, tmp_path, written, monkeypatch) -> None:
    from kg.export import reopen

    monkeypatch.setattr(reopen, "KEPT", 2)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    text = written("self-closing clamps", ".ttl").read_text()
    for n in range(4):
        path = tmp_path / f"{n}.ttl"
        path.write_text(f"# {n}\n{text}")
        open_export(path, base=staged).close()
    assert len(list((tmp_path / "boxlock").glob("export-*"))) == 2
    assert open_export(tmp_path / "3.ttl").ask("self-closing clamps").matches  # from the cache: no staging is given
