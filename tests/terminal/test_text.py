"""Answers of every kind as text: exact at two widths, fitting at all, and telling the three empty results apart.

The expected texts are in ``expected/NAME-WIDTH.txt``, one for each hand-made answer of ``conftest``.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from kg.model import Answer, Argument, Finding, Match, Valued
from kg.render import answer_lines, answer_markdown, finding_lines, raw_lines
from kg.render.english import CAUTION, short_form, shortened
from kg.render.spans import line_width, plain
from kg.store.base import Cell
from kg.store.guard import QueryForm
from kg.store.sandbox import RawResult

EXPECTED = Path(__file__).parent / "expected"
KINDS = ("argued", "compared", "found", "grouped", "nothing", "unrecorded", "valued")


def text(answer: Answer, width: int = 80) -> str:
    return plain(answer_lines(answer, width))


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("name", KINDS)
def test_exact_text(name: str, width: int, made: SimpleNamespace) -> None:
    assert text(getattr(made, name)(), width) == (EXPECTED / f"{name}-{width}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", KINDS)
def test_no_line_overflows_at_any_width(name: str, made: SimpleNamespace) -> None:
    for width in range(20, 201):
        too_long = [line for line in answer_lines(getattr(made, name)(), width) if line_width(line) > width]
        assert not too_long, f"at {width}: {too_long}"


def test_wide_letters_are_counted_in_columns() -> None:
    answer = Answer("q", "鉗子", "filter", matches=(Match("bl:X", "漢字 " * 30, True, "memory"),))
    for width in (20, 41, 80):
        assert all(line_width(line) <= width for line in answer_lines(answer, width))


def test_the_three_empty_results_differ(made: SimpleNamespace) -> None:
    assert "No pattern is known to match." in text(made.nothing())
    assert "Nothing is left open either" in text(made.nothing())
    assert "Not recorded: jaw insert." in text(made.unrecorded())
    assert "No pattern" not in text(made.unrecorded())
    left_open = replace(made.found(), matches=(), disputed=())
    assert "No pattern is known to match." in text(left_open)
    assert "Nothing is left open" not in text(left_open)
    assert "23 patterns could match" in text(left_open)


def test_nothing_is_confused_when_only_disputes_are_left(made: SimpleNamespace) -> None:
    only = replace(made.found(), matches=(), possible=(), possible_count=0)
    assert "No pattern is known to match." in text(only)
    assert "3 patterns are disputed" in text(only)
    assert "Nothing is left open" not in text(only)


def test_escapes_in_a_label_are_harmless() -> None:
    answer = Answer("q", "x\x1b]0;title\x07", "filter", matches=(Match("bl:X", "evil\x1b[2J\u202eforceps", True),))
    shown = text(answer)
    assert "\x1b" not in shown and "\x07" not in shown and "\u202e" not in shown
    assert "evil\ufffd[2J\ufffdforceps" in shown


def test_the_caution_stands_once(made: SimpleNamespace) -> None:
    assert text(made.found()).replace("\n", " ").count(CAUTION) == 1
    assert text(replace(made.found(), notes=(CAUTION,))).replace("\n", " ").count(CAUTION) == 1


def test_a_mixed_list_marks_what_is_inferred(made: SimpleNamespace) -> None:
    mixed = replace(made.found(), matches=(Match("bl:A", "Alpha", False), Match("bl:B", "Beta", True, "memory")))
    assert "  Alpha\n  Beta   inferred, rests on memory\n" in text(mixed)


@pytest.mark.parametrize(
    ("holds", "verdict"),
    [(True, "Yes."), (False, "No."), ("not recorded", "Not recorded: "), ("disputed", "Disputed: ")],
)
def test_verdicts(holds: bool | str, verdict: str) -> None:
    answer = Answer("q", "r", "holds", argument=Argument("r", holds, (), ("jaw surface: smooth (not recorded)",)))
    shown = text(answer)
    assert f"\n{verdict}" in shown
    assert "  1. jaw surface: smooth (not recorded)\n" in shown


def test_more_ways_than_are_shown_is_said(made: SimpleNamespace) -> None:
    answer = made.argued()
    assert answer.argument is not None
    assert "There are more ways; 2 are shown." in text(replace(answer, argument=replace(answer.argument, capped=True)))


def test_no_recorded_difference_is_not_sameness(made: SimpleNamespace) -> None:
    answer = made.compared()
    assert answer.comparison is not None
    same = replace(answer, comparison=replace(answer.comparison, differences=(), telling_signs=()))
    assert "No difference is recorded. That does not mean that there is none." in text(same)


def test_a_definition_is_a_sentence_with_its_source() -> None:
    definition = "A joint in which one half passes through the other."
    values = (
        Valued(definition, "adopted", ("ASTM F921",), "box lock", "definition"),
        Valued("box joint", "adopted", (), "box lock", "also called"),
    )
    shown = text(Answer("q", "what is a box lock?", "define", values=values))
    assert f"box lock: {definition}\n  ASTM F921\n  also called: box joint\n" in shown


def test_one_subject_is_named_once_and_without_letters(made: SimpleNamespace) -> None:
    answer = made.valued()
    assert answer.values is not None
    shown = text(replace(answer, values=answer.values[:1]))
    assert "Said of: forceps in general\n" in shown and "(a)" not in shown


def test_disputes_say_when_there_are_none() -> None:
    assert "No dispute is recorded." in text(Answer("q", "disputes about x", "disputes"))


@pytest.mark.parametrize(
    ("label", "parent", "short"),
    [
        ("curved Kelly forceps", "Kelly forceps", "curved"),
        ("Satinsky clamp with cross-hatched jaws", "Satinsky clamp", "with cross-hatched jaws"),
        ("Kelly forceps", "Kelly forceps", "Kelly forceps"),
        ("Potts ductus clamp", "Potts clamp", "Potts ductus clamp"),
    ],
)
def test_short_forms(label: str, parent: str, short: str) -> None:
    assert short_form(label, parent) == short


def test_shortening_never_hides_a_single_item() -> None:
    assert shortened(["a", "b", "c"], 2) == ["a", "b", "c"]
    assert shortened(["a", "b", "c", "d"], 2) == ["a", "b", "and 2 more"]


# --- Markdown, raw results, findings ----------------------------------------------------------------------------------
def test_markdown_has_tables_lists_and_no_markup_from_labels(made: SimpleNamespace) -> None:
    evil = replace(made.found(), matches=(Match("bl:X", "a|b *c* <script>", True),))
    shown = answer_markdown(evil)
    assert r"**a\|b \*c\* \<script\>**" in shown
    compared = answer_markdown(made.compared())
    assert "### Differences\n" in compared
    assert "| part | feature | Kelly forceps | Crile forceps |\n| --- | --- | --- | --- |\n" in compared


def test_raw_results() -> None:
    iri = Cell("iri", "https://boxlock.example/ns#KellyForceps")
    select = RawResult(QueryForm.SELECT, ("p", "n"), [{"p": iri, "n": Cell("literal", "3")}, {"p": iri}], True)
    shown = plain(raw_lines(select, 80))
    assert shown.startswith("  p                n\n  bl:KellyForceps  3\n  bl:KellyForceps  -\n\n2 rows\n")
    assert "There are more" in shown
    assert plain(raw_lines(RawResult(QueryForm.ASK, text="false"), 80)) == "No.\n"
    assert plain(raw_lines(RawResult(QueryForm.SELECT, ("p",)), 80)) == "No row.\n"
    assert plain(raw_lines(RawResult(QueryForm.CONSTRUCT, text="<a> <b> <c> .\n"), 20)) == "<a> <b> <c> .\n"


def test_findings() -> None:
    findings = [
        Finding("error", "evidence/x.ttl", 12, "BL-C04", "A value of another feature.", "Use a value of jaw surface."),
        Finding("warning", "terms/y.ttl", 0, "BL-C04", "No definition."),
    ]
    assert plain(finding_lines(findings, False, 80)) == (
        "error evidence/x.ttl:12 [BL-C04]\n  A value of another feature.\n  Repair: Use a value of jaw surface.\n\n"
        "warning terms/y.ttl [BL-C04]\n  No definition.\n\n"
        "1 error, 1 warning. Whether it is consistent can be told when the errors are\nmended.\n"
    )
    clash = Finding("error", "evidence/x.ttl", 12, "BL-R04", "Two facts exclude each other.", "Withdraw one.")
    assert plain(finding_lines([clash], False, 80)).endswith("1 error, 0 warnings. The catalogue is inconsistent.\n")
    assert plain(finding_lines([], True, 80)) == "No findings. The catalogue is consistent.\n"


def test_every_hand_made_answer_is_tested(made: SimpleNamespace) -> None:
    assert set(KINDS) == set(vars(made))
    assert len(list(EXPECTED.glob("*.txt"))) == 2 * len(KINDS)
