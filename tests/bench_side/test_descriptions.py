"""Every description of the catalogue is held against plain rules of English and against the facts, read by another query."""

from __future__ import annotations

import re

import pytest

from kg import names
from kg.vocabulary import SECTIONS

DANGLING = re.compile(r"\b(with|without|and|or|of|on|in|for|by|the|a|an|is|are|has|have|no|made|from|to|because)\s*[.,;:]")
RAW = re.compile(r"\b[a-z]+:[A-Za-z]\w+|\b[a-z]+[A-Z]\w+|[{}<>_]")
ARTICLE = re.compile(r"\b(a|an) ([a-z]\w+)")


def test_there_is_one_for_every_pattern(catalogue, descriptions) -> None:
    assert len(descriptions) == len(catalogue.vocabulary.by_role("pattern")) > 100
    for pattern, found in descriptions.items():
        assert found.label == catalogue.vocabulary.label(pattern)
        assert found.label in found.spoken


def test_no_doubled_word(descriptions) -> None:
    doubled = {p: m[0] for p, d in descriptions.items() if (m := re.search(r"\b(\w+) \1\b", d.spoken))}
    assert not doubled


def test_no_word_dangles(descriptions) -> None:
    dangling = {p: m[0] for p, d in descriptions.items() if (m := DANGLING.search(d.spoken))}
    assert not dangling


def test_no_raw_identifier(descriptions) -> None:
    for d in descriptions.values():
        for text in (d.spoken, *(s.text for s in (*d.parts, *d.use, *d.reprocessing)), *(c.reason for c in d.categories)):
            assert not RAW.search(text), text


def test_sentences_start_with_a_capital_and_end_with_a_full_stop(descriptions) -> None:
    for d in descriptions.values():
        assert d.spoken.endswith(".")
        assert not re.search(r"\.\.|  | [.,;]|[,;]\.|[.] [a-z]{3,} (has|is) ", d.spoken), d.spoken
        assert d.spoken[0].isupper()


def test_articles_agree_with_the_sound_that_follows(descriptions) -> None:
    for d in descriptions.values():
        for article, word in ARTICLE.findall(d.spoken):
            if not re.match(r"uni|use|usu|uter|one|eu|hour|honest", word):
                assert (article == "an") == (word[0] in "aeiou"), f"{article} {word}"


def test_the_order_is_the_examiners(descriptions) -> None:
    """Appearance, then name, use, where not, handling, reprocessing (the order of the practical examination)."""
    marks = ("This is ", "It is made for ", "It is not to be used on ", "It is held in ", "Local policy ")
    for d in descriptions.values():
        places = [d.spoken.index(m) for m in marks if m in d.spoken]
        assert places == sorted(places), d.spoken


def test_local_policy_decides(descriptions) -> None:
    assert all("Local policy and the maker's instructions decide." in d.spoken for d in descriptions.values())


# --- against the facts ------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def held(catalogue):
    """(pattern, property, value) of everything that holds, read by a plain query."""
    query = "SELECT ?p ?f ?v WHERE { GRAPH <https://boxlock.example/graph/holds> { ?p ?f ?v } }"
    return {(r["p"].short, r["f"].short, r["v"].short) for r in catalogue.store.select(query)}


def test_parts_are_there_or_absent_as_recorded(catalogue, descriptions, held) -> None:
    parts = {t.label: t.name for t in catalogue.vocabulary.by_role("part")}
    for pattern, d in descriptions.items():
        said = {(s.about, s.status == "absent") for s in d.parts if s.feature == s.about and s.status in _CERTAIN}
        lacking = {v for p, f, v in held if p == pattern and f == names.LACKS_PART}
        having = {v for p, f, v in held if p == pattern and f == names.HAS_PART}
        assert {parts[label] for label, absent in said if absent} == lacking
        assert {parts[label] for label, absent in said if not absent} == having


_CERTAIN = ("adopted", "inferred", "absent")


def test_absent_parts_are_said_to_be_absent(descriptions) -> None:
    for d in descriptions.values():
        for s in d.parts:
            if s.status == "absent":
                assert re.search(rf"\bno {re.escape(s.about)}\b", d.spoken), (d.label, s.about)


def test_every_feature_that_holds_is_among_the_facts(catalogue, descriptions, held) -> None:
    """Nothing recorded is left out and nothing else is said, feature by feature; broader values are covered by narrower."""
    vocabulary = catalogue.vocabulary
    skipped = {names.OF_KIND, names.SIZE_CLASS}
    recorded: dict[str, set[str]] = {p: set() for p in descriptions}
    for pattern, prop, _ in held:
        if prop in vocabulary.features and prop not in skipped:
            recorded[pattern].add(vocabulary.label(prop))
    for pattern, d in descriptions.items():
        facts = [s for section in ("parts", "use", "not_used_on", *SECTIONS[1:]) for s in getattr(d, section)]
        said = {s.feature for s in facts if s.status in ("adopted", "inferred")} - {"length"}
        said -= {t.label for t in vocabulary.by_role("part") if t.label not in _feature_labels(vocabulary)}
        named = {s.feature for s in facts if s.status in ("made with", "not recorded", "disputed")}
        assert said - recorded[pattern] - _parts(vocabulary) == set()
        assert recorded[pattern] - said - named == set()


def _feature_labels(vocabulary) -> set[str]:
    return {vocabulary.label(f) for f in vocabulary.features}


def _parts(vocabulary) -> set[str]:
    return {t.label for t in vocabulary.by_role("part")}


def test_categories_are_those_inferred(descriptions, held, catalogue) -> None:
    for pattern, d in descriptions.items():
        types = {v for p, f, v in held if p == pattern and f == names.TYPE and v in catalogue.vocabulary.definitions}
        assert {c.name for c in d.categories} == types
        assert all(c.reason.startswith("because it ") and len(c.reason) > 14 for c in d.categories)


def test_facts_that_have_witnesses_name_them(descriptions) -> None:
    adopted = [s for d in descriptions.values() for s in d.parts if s.status == "adopted"]
    assert sum(bool(s.sources) for s in adopted) > 0.95 * len(adopted)
    inherited = [s for s in adopted if s.inherited_from]
    assert inherited and all(s.sources for s in inherited)


def test_what_is_not_recorded_is_said(descriptions) -> None:
    for d in descriptions.values():
        assert ("Not recorded:" in d.spoken) is bool(d.not_recorded)
        for label in d.not_recorded:
            assert label in d.spoken
        assert bool(d.reprocessing) is not ("How it is reprocessed is not recorded." in d.spoken)


def test_disputes_are_said(descriptions) -> None:
    disputed = [d for d in descriptions.values() if d.disputes]
    assert disputed
    for d in disputed:
        assert re.search(r"The sources (disagree|do not settle)|Some sources say, and others deny", d.spoken)


# --- single descriptions (facts from outside) ---------------------------------------------------------------------------
def test_a_haemostat_in_the_examiners_order(catalogue) -> None:
    """Rings, shank, ratchet, box lock, jaws, tip: the parts ASTM F921-10 (2011) names for haemostatic forceps, in order."""
    spoken = catalogue.describe("Kelly forceps").description.spoken
    order = ["finger rings", "shanks", "ratchet", "box-lock joint", "jaws", "tip", "This is the Kelly forceps"]
    places = [spoken.index(word) for word in order]
    assert places == sorted(places)
    # Kelly: serrated over the distal half; VetSurgeryOnline, Hemostatic Forceps (ch. 3).
    assert "serrated over the distal half" in spoken


def test_a_scalpel_handle_lacks_what_it_lacks(catalogue) -> None:
    """A knife handle has no rings, ratchet or joint (common practice)."""
    spoken = catalogue.describe("No. 3 scalpel handle").description.spoken
    for part in ("finger rings", "ratchet", "joint"):
        assert re.search(rf"no {part}\b", spoken)


def test_a_name_that_is_not_known_is_refused(catalogue) -> None:
    from kg import QuestionError

    with pytest.raises(QuestionError):
        catalogue.describe("zebra forceps")


def test_json_has_the_keys_of_the_contract(catalogue) -> None:
    found = catalogue.ask("describe Doyen intestinal clamp").to_json()
    keys = {"label", "parts", "categories", "use", "not_used_on", "handling", "pieces", "reprocessing", "disputes"}
    assert keys <= set(found)
    assert found["kind"] == "describe"
    assert {"part", "text", "status", "inherited_from", "sources"} <= set(found["parts"][0])
    assert any(s["inherited_from"] for s in found["parts"])
