"""The report in every form, and the command.

Outside sources: Python's ``html.parser`` and ``xml.etree`` for well-formed pages, openpyxl for workbooks, ``csv`` and ``json``;
WCAG 2.2, 1.4.3 (contrast of at least 4.5 to 1), for the shades.
"""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import openpyxl
import pytest

import kg
from kg.render.coverage_data import SHADES, shade
from kg.render.spans import plain
from repl.cli import main

DEMO = Path(__file__).parents[2] / "ontology" / "examples" / "saltmarsh.toml"
VOID = {"meta", "br", "link"}


def run(capsys, *arguments: str) -> tuple[int, str, str]:
    status = main([*arguments, "--no-colour"])
    out, err = capsys.readouterr()
    return status, out, err


# --- the course of the README ---------------------------------------------------------------------------------------
def test_the_demo_shows_each_kind_of_gap(demo) -> None:
    standing = {o.id: str(o.status) for o in demo.objectives}
    assert {*standing.values()} == {"met", "short", "unconfirmed", "unmapped", "outside"}
    assert [o.id for o, _ in demo.contradictions] == ["O3"]
    assert {o.lacks for o in demo.gaps} == {"course", "catalogue", ""}
    assert demo.repeated and demo.idle and demo.split_pairs and demo.unreached
    assert "invented" in demo.title


def test_json_keeps_the_contract(demo) -> None:
    out = json.loads(kg.json_text(kg.coverage_json(demo)))
    assert {"objectives", "uncovered_features", "split_lookalikes"} <= set(out)
    for objective in out["objectives"]:
        assert {"id", "met", "count", "minimum", "labels"} <= set(objective)
        assert len(objective["labels"]) == objective["count"]
        assert objective["met"] is (objective["status"] == "met")
    assert out["objectives"][0]["labels"] == [i["label"] for i in out["objectives"][0]["instruments"]]
    assert kg.CAUTION in out["notes"]
    assert out["complete"] is False
    assert (out["smallest"]["proof"], out["every_value"]["proof"]) == ("proved", "proved")
    assert [s["count"] for s in out["more"]["steps"]] == [1, 2, 3]
    assert "O6" in [i["demand"] for i in out["smallest"]["impossible"]]


def test_the_matrix_adds_up(demo) -> None:
    """Families are disjoint: the counts of a row are those of the objective."""
    out = kg.coverage_json(demo)
    for row, objective in zip(out["matrix"]["rows"], out["objectives"], strict=True):
        assert row["id"] == objective["id"]
        assert sum(row["counts"]) == objective["count"]
        assert len(row["counts"]) == len(out["matrix"]["families"])


@pytest.mark.parametrize("width", [20, 40, 80, 120])
def test_text_fits(demo, width: int) -> None:
    lines = plain(kg.coverage_lines(demo, width)).splitlines()
    assert max(map(len, lines)) <= width
    assert lines[-1].endswith(("decide.", "decide"))


def test_text_says_whose_lack_it_is(demo) -> None:
    text = " ".join(plain(kg.coverage_lines(demo, 100)).split())
    assert "The course lacks O5 non-crushing intestinal clamps: none of 2 shown. Would do: Carter-Glassman clamp" in text
    assert "The catalogue lacks O6 bandage scissors: none of 6 shown, and the whole catalogue has 1." in text
    assert "O8 Count with the scrub team, calmly" in text
    assert "proved, no shorter list does it" in text


def test_markdown_is_whole(demo) -> None:
    text = kg.coverage_markdown(demo)
    for _, group in demo.unreached:
        for _, label in group:
            assert re.sub(r"([\\`*_{}\[\]<>#|~])", r"\\\1", label) in text


def test_csv_has_one_row_an_objective(demo) -> None:
    header, *rows = csv.reader(io.StringIO(kg.coverage_csv(demo)))
    assert [r[0] for r in rows] == [o.id for o in demo.objectives]
    assert all(len(r) == len(header) for r in rows)
    met = header.index("met")
    assert [r[met] for r in rows] == ["yes" if o.met else "no" for o in demo.objectives]


def test_a_workbook_loads_back(demo) -> None:
    book = openpyxl.load_workbook(io.BytesIO(kg.coverage_xlsx(demo)))
    assert {"objectives", "families", "categories", "never shown", "look-alikes", "not reached", "notes"} <= set(
        book.sheetnames
    )
    sheet = book["objectives"]
    assert [c.value for c in sheet["A"][1:]] == [o.id for o in demo.objectives]
    assert len(list(book["look-alikes"].rows)) == len(demo.split_pairs) + 1


def test_formulas_do_not_get_into_a_workbook_or_csv(covered, objective) -> None:
    found = covered(objective("O", text="-2+3", question="scissors") + objective("P", text="be @calm"))
    sheet = openpyxl.load_workbook(io.BytesIO(kg.coverage_xlsx(found)))["objectives"]
    assert all(c.data_type != "f" for row in sheet.rows for c in row)
    assert "\nO,'-2+3," in kg.coverage_csv(found)


# --- the page -------------------------------------------------------------------------------------------------------
class Page(HTMLParser):
    """Tags in order, whether they are balanced, and what is asked for from outside."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):  # type: ignore[no-untyped-def]
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):  # type: ignore[no-untyped-def]
        assert self.open.pop() == tag

    def handle_data(self, data):  # type: ignore[no-untyped-def]
        self.texts.append(data)


def test_the_page_is_well_formed_and_needs_nothing(demo) -> None:
    text = kg.coverage_html(demo)
    page = Page(text)
    assert page.open == []
    names = {t for t, _ in page.tags}
    assert not names & {"script", "img", "iframe", "object", "link", "base", "form"}
    assert not any(k in ("src", "href", "action") or k.startswith("on") for _, a in page.tags for k in a)
    assert "url(" not in text and "@import" not in text
    assert ("html", {"lang": "en"}) in page.tags
    assert [t for t, _ in page.tags].count("h1") == 1
    heads = [a for t, a in page.tags if t == "th"]
    assert heads and all(a.get("scope") in ("row", "col") for a in heads)


def test_every_cell_of_the_map_prints_its_figure(demo) -> None:
    families = len(kg.coverage_json(demo)["matrix"]["families"])
    cells = re.findall(r"<td class='cell s(\d)'>(\d+)</td>", kg.coverage_html(demo).split("class='map key'")[0])
    assert len(cells) == families * len(demo.objectives)
    assert all(int(level) == shade(int(figure)) for level, figure in cells)


def test_markup_in_a_course_stays_text(covered, objective) -> None:
    found = covered(objective("O", text="<script>alert(1)</script> & \\u202e", question="scissors"), "<b>.toml")
    text = kg.coverage_html(found)
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert "\u202e" not in text
    assert Page(text).open == []


def test_shades_grow_darker_and_letters_stay_readable() -> None:
    light = [_luminance(c) for c in SHADES]
    assert light == sorted(light, reverse=True)
    for number, one in enumerate(light):
        ink = _luminance("1A1230") if number < 3 else 1.0
        high, low = max(one, ink), min(one, ink)
        assert (high + 0.05) / (low + 0.05) >= 4.5  # WCAG 2.2, 1.4.3
    assert all(a - b > 0.08 for a, b in pairwise(light))  # apart in grey, too


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


# --- the command ----------------------------------------------------------------------------------------------------
@pytest.fixture
def opened(monkeypatch, catalogue) -> None:
    """The command uses the catalogue that is open already; ``tests/test_docs.py`` runs it from the start."""
    monkeypatch.setattr("repl.course.open_catalogue", lambda screen: catalogue)


def test_strict_fails_on_a_gap_and_on_a_contradiction(opened, capsys, tmp_path: Path) -> None:
    good = tmp_path / "good.toml"
    good.write_text('[[objective]]\nid = "a"\nquestion = "scissors"\n', encoding="utf-8")
    claim = tmp_path / "claim.toml"
    claim.write_text(good.read_text(encoding="utf-8") + 'met_by = ["Kelly forceps", "Mayo scissors"]\n', encoding="utf-8")
    assert run(capsys, "coverage", str(good), "--strict")[0] == 0
    assert run(capsys, "coverage", str(claim), "--strict")[0] == 1
    assert run(capsys, "coverage", str(DEMO), "--strict")[0] == 1
    assert run(capsys, "coverage", str(DEMO))[0] == 0


@pytest.mark.parametrize("ending", ["csv", "xlsx", "html", "md", "json"])
def test_files_are_written_whole(opened, capsys, tmp_path: Path, ending: str) -> None:
    target = tmp_path / f"report.{ending}"
    target.write_text("old", encoding="utf-8")
    status, out, _ = run(capsys, "coverage", str(DEMO), "--to", str(target))
    assert (status, out) == (0, f"Written to {target}.\n")
    assert target.stat().st_size > 1000
    assert [p.name for p in tmp_path.iterdir()] == [target.name]


def test_what_cannot_be_written_is_said(opened, capsys, tmp_path: Path) -> None:
    status, _, err = run(capsys, "coverage", str(DEMO), "--to", str(tmp_path / "no" / "report.md"))
    assert (status, "BL-I02" in err) == (2, True)
    status, _, err = run(capsys, "coverage", str(DEMO), "--to", str(tmp_path / "report.pdf"))
    assert (status, "BL-I01" in err, ".html" in err) == (2, True, True)


def test_a_bad_course_is_one_error_with_all_findings(opened, capsys, tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text('[[objective]]\nid = "a"\nquestion = "artery forcebs"\nminimum = -1\n', encoding="utf-8")
    status, out, err = run(capsys, "coverage", str(path), "--format", "json")
    error = json.loads(err)
    assert (status, out) == (2, "")
    assert [(f["line"], f["code"]) for f in error["findings"]] == [(3, "BL-Q02"), (4, "BL-I10")]
    status, _, err = run(capsys, "coverage", str(path))
    unbroken = "".join(line.strip() for line in err.splitlines())  # a long name of the folder breaks the lines
    assert "bad.toml:3" in unbroken and "bad.toml:4" in unbroken


def test_against_an_older_course(opened, capsys, tmp_path: Path) -> None:
    older = tmp_path / "older.toml"
    text = DEMO.read_text(encoding="utf-8").replace('"Crile forceps", ', "")
    older.write_text(text, encoding="utf-8")
    status, out, _ = run(capsys, "coverage", str(DEMO), "--against", str(older), "--format", "json")
    found = json.loads(out)["against"]
    assert status == 0
    assert [i["label"] for i in found["taught_added"]] == ["Crile forceps"]
    assert {"id": "O2", "before": "short: the course lacks it", "after": "met"} in found["status_changed"]


@pytest.mark.parametrize("option", [["--more", "0"], ["--more", "41"], ["--more", "x"], ["--seconds", "0"]])
def test_options_out_of_range(capsys, option: list[str]) -> None:
    status, _, err = run(capsys, "coverage", str(DEMO), *option)
    assert (status, "BL-I01" in err) == (2, True)
