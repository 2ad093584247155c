"""The drawing table: complete, and wrong in no way that is not told with its line."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kg.draw.choices import Choices, body_of
from kg.draw.models.glyphs import GLYPHS
from kg.draw.models.icons import ICONS
from kg.draw.models.registry import MODELS, model
from kg.draw.table import FILE, faults, line_of, read_table, visible_features
from kg.errors import CatalogueError


@pytest.fixture
def folder(tmp_path: Path, ontology_folder: Path) -> Path:
    shutil.copy(ontology_folder / FILE, tmp_path / FILE)
    return tmp_path


def edit(folder: Path, old: str, new: str) -> int:
    """Replaces text in the table and returns its line."""
    path = folder / FILE
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


def test_every_visible_feature_value_and_part_has_an_entry(catalogue, ontology_folder: Path) -> None:
    assert faults(ontology_folder, catalogue.vocabulary) == []
    table = read_table(ontology_folder)
    named = {*table.features, *table.parts, *table.undrawn}
    assert set(visible_features(catalogue.vocabulary)) <= named
    assert {t.name for t in catalogue.vocabulary.by_role("part")} <= named
    for feature, row in table.features.items():
        assert set(row.tokens) == set(catalogue.vocabulary.values_of(feature))


def test_every_glyph_and_model_exists_and_is_used(ontology_folder: Path) -> None:
    table = read_table(ontology_folder)
    assert {row.glyph for row in table.parts.values() if row.glyph} <= set(GLYPHS)
    assert {row.glyph for row in table.features.values() if row.glyph} <= set(ICONS)
    assert {body.model for body in table.bodies} == set(MODELS)
    assert all(callable(model(name)) for name in MODELS)


def test_every_body_is_the_first_for_some_pattern_or_is_the_last(catalogue, ontology_folder: Path) -> None:
    table = read_table(ontology_folder)
    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    facts = catalogue.context.reader.facts(patterns)
    taken = {id(body_of(table, facts[p], catalogue.vocabulary)) for p in patterns}
    # A body without a kind also serves patterns that users add.
    idle = [b for b in table.bodies[:-1] if id(b) not in taken and b.kinds]
    assert not idle, [(b.model, b.kinds, b.values, b.has) for b in idle]
    assert id(table.bodies[-1]) not in taken  # every shipped pattern has a model of its own


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"bl:BoxLock" = "box"\n', "", "bl:BoxLock of bl:joint is missing"),
        ('"bl:BoxLock" = "box"', '"bl:BoxLok" = "box"', "bl:BoxLok is no value of bl:joint"),
        ('"bl:BoxLock" = "box"', '"bl:BoxLock" = 7', "bl:BoxLock is given neither a setting nor false"),
        ('[part."bl:Ratchet"]', '[part."bl:Rachet"]', "bl:Rachet is no feature and no part"),
        ('model = "pair"', 'model = "pear"', 'there is no model "pear"'),
        ('kinds = ["kind:Scissors"]', 'kinds = ["kind:Scisors"]', "kind:Scisors does not exist"),
        ('plain = "|"', 'plain = "┃"', "the plain signs of the face across are not ASCII"),
        ('parameter = "joint"', 'parametre = "joint"', "bl:joint has no parameter or no values"),
        ("[face.across]", "[phase.across]", '"phase" means nothing here'),
    ],
)
def test_a_fault_is_told_with_its_line(folder: Path, catalogue, old: str, new: str, said: str) -> None:
    line = edit(folder, old, new)
    found = faults(folder, catalogue.vocabulary)
    assert any(said in f.text for f in found), [f.text for f in found]
    hit = next(f for f in found if said in f.text)
    assert hit.severity == "error" and hit.code == "BL-C04" and hit.file == FILE
    assert hit.line > 0 and abs(hit.line - line) <= 6


def test_a_table_that_is_no_toml_is_an_error_with_its_line(folder: Path) -> None:
    edit(folder, "[face.across]", "[face.across")
    with pytest.raises(CatalogueError, match=r"drawing\.toml.*line \d+") as raised:
        read_table(folder)
    assert raised.value.code == "BL-C04"


def test_a_missing_table_is_an_error_when_drawing_and_nothing_to_check(tmp_path: Path, catalogue) -> None:
    assert faults(tmp_path, catalogue.vocabulary) == []
    with pytest.raises(CatalogueError):
        read_table(tmp_path)


def test_line_of_passes_over_comments() -> None:
    assert line_of("# x\ny\nx = 1\n", "x") == 3


def test_statuses_of_settings(catalogue, ontology_folder: Path) -> None:
    """Kelly: made straight or curved, the tip shape not recorded, the joint known, no balloon (facts of the catalogue)."""
    table = read_table(ontology_folder)
    facts = catalogue.context.reader.facts(["bl:KellyForceps"])["bl:KellyForceps"]
    choices = Choices(table, body_of(table, facts, catalogue.vocabulary), facts, catalogue.vocabulary)
    assert choices.choice("bend").status == "varies" and choices.choice("bend").tokens == ("straight", "curved")
    assert choices.choice("tip").status == "not recorded"
    assert choices.choice("joint").token == "box" and choices.choice("joint").status == "known"
    assert not choices.choice("balloon") and choices.choice("balloon").status == "absent"
    assert not choices.choice("joint", knows=("lap",))
