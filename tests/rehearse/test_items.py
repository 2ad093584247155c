"""The questions of a rehearsal: true to the record, with a model answer that earns full marks, in a seeded order."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise

import pytest

from kg import QuestionError
from kg.rehearse.settings import TASKS, read_settings
from kg.truth import evaluate, normalise


def test_every_task_is_asked_of_many_instruments(every_item) -> None:
    tasks = Counter(item.task for item in every_item)
    assert set(tasks) == set(TASKS)
    assert min(tasks[t] for t in ("describe", "name", "name from use", "left out", "use", "reprocess", "tell apart")) > 150
    assert len({item.subjects[0] for item in every_item}) > 450


def test_every_model_answer_gets_full_marks_and_says_nothing_wrong(catalogue, every_item) -> None:
    for item in every_item:
        marked = catalogue.mark(item, item.answer)
        assert marked.share == 1, (
            item.key,
            item.answer,
            [m.fact.text for m in marked.marks if m.fact.required and m.credit < 1],
        )
        assert not marked.wrong, (item.key, marked.wrong)


def test_an_empty_answer_and_an_answer_on_something_else_earn_nothing(catalogue, every_item) -> None:
    for item in every_item[::25]:
        assert catalogue.mark(item, "").earned == 0
        assert catalogue.mark(item, "I had porridge this morning, thank you.").earned == 0


def test_every_fact_that_is_asked_for_holds_by_the_record(catalogue, every_item) -> None:
    """Each literal is judged by the three-valued semantics, which the tests of the language hold against plain Python."""
    from kg import names
    from kg.language import nodes

    def expr(literal):
        prop, value = literal
        if prop == names.HAS_PART:
            return nodes.HasPart(value)
        return nodes.Not(nodes.HasPart(value)) if prop == names.LACKS_PART else nodes.Has(prop, value)

    judged = 0
    for item in every_item[::3]:
        for fact in item.facts:
            if not fact.required or fact.status in ("disputed", "made with") or not fact.literals or item.task == "disputed":
                continue
            known = catalogue.context.reader.facts([fact.subject])[fact.subject].known
            found = [evaluate(normalise(expr(lit), catalogue.vocabulary), known, catalogue.vocabulary) for lit in fact.literals]
            denies = catalogue.vocabulary.features.get(fact.literals[0][0])
            assert 1 in found or (denies and denies.denies), (item.key, fact.text)
            judged += 1
    assert judged > 1000


def test_every_asked_fact_has_a_witness_or_follows_from_one(every_item) -> None:
    """Nothing that memory alone gives earns a mark."""
    for item in every_item:
        assert all(f.basis != "memory" for f in item.facts if f.required), item.key


def test_a_question_after_the_name_does_not_give_the_name_away(catalogue, every_item) -> None:
    vocabulary = catalogue.vocabulary
    for item in every_item:
        if item.task in ("name", "name from use"):
            label = vocabulary.label(item.subjects[0])
            assert label not in item.prompt, item.prompt


def test_a_chain_that_asked_for_the_name_goes_on_without_it(catalogue) -> None:
    found = 0
    for seed in range(12):
        sheet = catalogue.rehearse("clamps", 40, seed)
        for item in sheet.items:
            first = next(i for i in sheet.items if i.chain == item.chain)
            if first.task in ("name", "name from use") and item.task in ("use", "where never", "reprocess"):
                assert item.labels[0] not in item.prompt
                found += 1
    assert found > 10


def test_what_was_left_out_is_not_in_the_question(catalogue, every_item) -> None:
    for item in every_item:
        if item.task == "left out":
            text = re.sub(r"\W+", " ", item.prompt.casefold())
            for fact in item.facts:
                said = re.sub(r"\W+", " ", fact.text.removeprefix("has ").removeprefix("is ").removeprefix("made ")).strip()
                assert f" {said} " not in text, (item.prompt, fact.text)


def test_good_english(every_item) -> None:
    for item in every_item:
        for text in (item.prompt, item.answer):
            assert not re.search(r"\b(\w+) \1\b", text.replace("Mayo-Mayo", "")), text
            assert not re.search(r"bl:|\{|\}|  | ,|,\.|\.\.| \.", text), text
            assert text[0].isupper() or text[0].isdigit(), text
            assert text.endswith((".", "?")), text


def test_the_same_seed_gives_the_same_questions_and_another_seed_others(catalogue) -> None:
    one, two = catalogue.rehearse("artery forceps", 20, 7), catalogue.rehearse("artery forceps", 20, 7)
    assert one == two
    assert one != catalogue.rehearse("artery forceps", 20, 8)
    assert [i.number for i in one.items] == list(range(1, 21))


def test_nothing_is_asked_twice_and_a_small_subject_ends(catalogue) -> None:
    sheet = catalogue.rehearse("Kelly forceps", 100, 1)
    assert 5 < len(sheet.items) < 100
    keys = [i.key for i in sheet.items]
    assert len(set(keys)) == len(keys)
    assert all(i.labels[0] == "Kelly forceps" for i in sheet.items)


def test_what_was_missed_is_asked_more_often(catalogue) -> None:
    def often(missed) -> int:
        return sum(
            catalogue.rehearse("artery forceps", 5, seed, missed=missed).items[0].labels[0] == "Spencer Wells forceps"
            for seed in range(60)
        )

    assert often({"Spencer Wells forceps": 1.0}) > 1.5 * max(1, often({}))


def test_look_alikes_follow_each_other(catalogue) -> None:
    """The next instrument is a look-alike more often than chance would have it (the share is set in rehearsal.toml)."""
    alike = catalogue.rehearsal.look_alikes()
    near = total = 0
    for seed in range(20):
        items = catalogue.rehearse("retractors", 40, seed).items
        subjects = list(dict.fromkeys(i.subjects[0] for i in items))
        for one, two in pairwise(subjects):
            total += 1
            near += two in alike.get(one, ())
    pool = [m.name for m in catalogue.ask("retractors", limit=1).matches if not m.variant_of]
    chance = sum(len(alike.get(p, set()) & set(pool)) for p in pool) / len(pool) / (len(pool) - 1)
    assert near / total > chance


def test_every_line_on_reprocessing_has_words_that_may_be_said_for_it(ontology_folder) -> None:
    import tomllib

    rules = tomllib.loads((ontology_folder / "reprocessing.toml").read_text(encoding="utf-8"))["reprocessing"]["rule"]
    lines = read_settings(ontology_folder).lines
    for rule in rules:
        assert sum(rule["text"].startswith(line.starts) for line in lines) == 1, rule["text"]
    for line in lines:
        assert any(rule["text"].startswith(line.starts) for rule in rules), line.starts


def test_other_wordings_belong_to_terms_and_are_phrases(catalogue, ontology_folder) -> None:
    ear = catalogue.marker.ear
    for name, phrases in read_settings(ontology_folder).heard.items():
        assert name in catalogue.vocabulary.terms, name
        assert len(set(phrases)) == len(phrases), name
        for phrase in phrases:
            bare = phrase.removeprefix("~")
            assert bare.strip() == bare and ear.phrase_stems(bare), (name, phrase)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("how many clamps are there", "BL-Q03"),
        ("zorgle", "BL-Q02"),
        ("scalpel blades with a ratchet", "BL-Q03"),
        ("which clamp is best for my patient", "BL-Q06"),
    ],
)
def test_what_cannot_be_rehearsed_is_refused(catalogue, text: str, code: str) -> None:
    with pytest.raises(QuestionError) as caught:
        catalogue.rehearse(text, 5, 1)
    assert caught.value.code == code
