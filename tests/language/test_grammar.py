"""The published grammar is the real one: fresh, every rule with an example, every example read by its rule."""

from __future__ import annotations

import re
from typing import Any

import pytest

from kg.language.parse import parser_for
from tests import grammar


def test_every_rule_of_questions_has_an_example() -> None:
    shown = {rule for rule, _ in grammar.examples()}
    assert [rule for rule in grammar.forms() if rule not in shown] == []


@pytest.mark.parametrize(("rule", "question"), grammar.examples())
def test_an_example_is_read_by_its_rule(rule: str, question: str, catalogue: Any) -> None:
    parser = parser_for(question, catalogue.lexicon)
    called: list[str] = []
    method = getattr(parser, rule)

    def noted(*arguments: Any, **named: Any) -> Any:
        found = method(*arguments, **named)
        if found is not None and found is not False:
            called.append(rule)
        return found

    setattr(parser, rule, noted)
    assert parser.question() is not None
    if rule in grammar.forms():
        again = parser_for(question, catalogue.lexicon)
        assert getattr(again, rule)() is not None and again.ended()
    else:
        assert called, f"{rule} did not read {question!r}"


def test_the_page_is_fresh(catalogue: Any) -> None:
    text = grammar.PAGE.read_text(encoding="utf-8")
    stamp = re.search(r"Inputs: `([0-9a-f]{64})`", text)
    assert stamp and stamp.group(1) == grammar.inputs_hash(), "run: python -m tests.grammar"
    assert text == grammar.page(catalogue)
