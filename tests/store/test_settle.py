"""A process that asks many questions says the same throughout: from the facts that the closure keeps, or, where it keeps none,
from memory after some questions on the kept store."""

from __future__ import annotations

from kg.catalogue import MANY
from kg.opening import open_catalogue


def test_after_many_questions_the_store_is_in_memory_and_answers_alike(ontology_folder) -> None:
    question = "needle holders without finger rings"
    first = open_catalogue(ontology_folder)
    expected = first.ask(question)
    first.keep()
    first.close()
    again = open_catalogue(ontology_folder)
    again.__dict__["_columns"] = None  # as of a closure that an earlier release made
    assert again.store.kept is not None
    for _ in range(MANY - 1):
        assert again.ask(question) == expected
    assert again.store.kept is not None
    assert again.ask(question) == expected
    assert again.store.kept is None
    assert again.context.store is again.context.reader.store is again.store
    assert again.ask("describe Kelly forceps").description is not None
    again.close()


def test_a_closure_with_its_facts_by_property_needs_no_memory(ontology_folder) -> None:
    question = "needle holders without finger rings"
    first = open_catalogue(ontology_folder)
    first.__dict__["_columns"] = None
    expected = first.ask(question)
    first.keep()
    first.close()
    again = open_catalogue(ontology_folder)
    assert again.context.columns is not None
    for _ in range(MANY + 1):
        assert again.ask(question) == expected
    assert again.store.kept is not None
    again.close()
