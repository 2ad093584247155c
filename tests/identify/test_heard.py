"""Questions for instruments in other words than those of the language: a list if all that was heard is recorded of some, else
likely names, else the refusal; never a list in which a word that turns the question was left out.

The questions were written by people who had not seen the program; what is right is what every textbook of the trade says.
"""

from __future__ import annotations

import pytest

import kg
from kg.language import nodes

LISTS = [
    ("plaster shears", "Instruments to take plaster casts off?"),
    ("Magill forceps", "Can you tell me which forceps are used to guide a nasal tube into the larynx?"),
    ("Doyen retractor", "Name the retractor that holds the bladder out of the way during a caesarean section"),
    ("Olsen-Hegar needle holder", "Which needle holders combine scissors with the jaws?"),
    ("Doyen intestinal clamp", "which clamps won't squash the bowel when we're doing an anastomosis"),
    ("toothed Adson forceps", "Any forceps with only the one tooth against two?"),
    ("Cusco speculum", "Which instrument looks like a duck's bill?"),
    ("Liston amputation knife", "amputation kit - list it"),
]
NAMES = [
    ("tenaculum forceps", "For hold the cervix in gynecology, which forceps are good?"),
    ("uterine sound", "Long thin metal rod, marked in cm, slightly bent near a rounded tip, measures the womb"),
    ("Boyle-Davis mouth gag", "Whats used to hold the tongue out the way in tonsillectomy and keep the mouth open at once?"),
    ("Cryer elevator", "Which dental elevators come as a left and right pair with a pointed triangular end?"),
]
REFUSED = [
    "Which retractors can be held in one hand without an assistant?",
    "What goes through the plaster wall first in a lap chole?",
    "Which crushing clamps leave a smell for a ligature?",
    "Ear instruments only please, nothing for the furrow or throat.",
    "Where sharp instruments should be put when you pass them to the surgeon?",
    "and which of those would I see in an open belly?",
    "Book me a theatre slot for Tuesday pls",
    "Will my grandmother's hip operation go well?",
    "blorf the wizzle clamp of snood",
    "Purple ratchets sing sideways beneath which Tuesday?",
]


@pytest.mark.parametrize(("name", "text"), LISTS, ids=[n for n, _ in LISTS])
def test_a_list_in_other_words(catalogue, name: str, text: str) -> None:
    out = catalogue.ask(text)
    wanted = catalogue.vocabulary.subtree(catalogue.pattern_named(name))
    assert out.kind == "filter", out.reading
    assert any(m.name in wanted for m in out.matches), [m.label for m in out.matches]


@pytest.mark.parametrize(("name", "text"), NAMES, ids=[n for n, _ in NAMES])
def test_likely_names_where_nothing_has_all_of_it(catalogue, name: str, text: str) -> None:
    out = catalogue.ask(text)
    wanted = catalogue.vocabulary.subtree(catalogue.pattern_named(name))
    assert out.identification is not None, out.reading
    first = out.identification.candidates[:3]
    assert any(c.name in wanted or c.variant_of in wanted for c in first), [c.label for c in first]


@pytest.mark.parametrize("text", REFUSED)
def test_what_is_not_all_understood_is_refused(catalogue, text: str) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask(text)


def test_it_is_told_that_the_words_were_taken_for_others(catalogue) -> None:
    out = catalogue.ask("Any forceps with only the one tooth against two?")
    assert any("nearest to it" in n for n in out.notes)
    assert "one-by-two teeth" in out.reading


def test_one_in_a_place_is_no_inch_long(catalogue) -> None:
    assert "mm" not in catalogue.ask("the toothed one in the gynae set").reading
    seen = catalogue.identifier.observe("the oval-jawed one in gynae sets", [])
    assert not any(isinstance(o.expr, nodes.Length) for o in seen)
    assert "228.6" in catalogue.ask("forceps longer than nine in long").reading
