"""Files of a course: every form, and every fault with its place, all at once.

Outside source for TOML: the fault lines are those of Python's own ``tomllib`` (TOML 1.0).
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import openpyxl
import pytest

from kg import InputError
from kg.course.curriculum import FORM
from kg.course.curriculum_sheet import read_curriculum

GOOD = {
    "title": "Invented",
    "objectives": [
        ("O1", "Name them", "artery forceps", 2, 1.5, "S1", "Kelly forceps|Crile forceps", "", ""),
        ("O2", "Pass them", "", "", "", "", "", "a skill", ""),
        ("O3", "", "scissors", "", "", "S2", "", "", "no"),
    ],
    "sessions": [("S1", "First", "Kelly forceps|towel clips"), ("S2", "", "Mayo scissors")],
}


def as_toml(folder: Path) -> list[Path]:
    lines = [f'title = "{GOOD["title"]}"']
    for table, block in (("sessions", "session"), ("objectives", "objective")):
        for row in GOOD[table]:
            lines.append(f"[[{block}]]")
            for column, value in zip(FORM.columns[table], row, strict=True):
                if value == "":
                    continue
                if column in ("shows", "met by"):
                    value = "[" + ", ".join(f'"{v}"' for v in str(value).split("|")) + "]"
                elif column == "confirmed":
                    value = "false"
                elif isinstance(value, str):
                    value = f'"{value}"'
                lines.append(f"{column.replace(' ', '_')} = {value}")
    path = folder / "course.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return [path]


def as_csv(folder: Path, *, divider: str = ",", encoding: str = "utf-8") -> list[Path]:
    paths = []
    for table in ("objectives", "sessions"):
        text = "\n".join(divider.join(str(v) for v in row) for row in (FORM.columns[table], *GOOD[table]))
        paths.append(folder / f"{table}.csv")
        paths[-1].write_text(text, encoding=encoding)
    return paths


def as_xlsx(folder: Path) -> list[Path]:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for table in ("objectives", "sessions"):
        sheet = book.create_sheet(table)
        for row in (FORM.columns[table], *GOOD[table]):
            sheet.append(row)
    path = folder / "course.xlsx"
    book.save(path)
    return [path]


FORMS = {
    "toml": as_toml,
    "csv": as_csv,
    "semicolons": lambda f: as_csv(f, divider=";"),
    "utf-16": lambda f: as_csv(f, encoding="utf-16"),
    "byte order mark": lambda f: as_csv(f, encoding="utf-8-sig"),
    "xlsx": as_xlsx,
}


@pytest.mark.parametrize("form", FORMS)
def test_every_form_says_the_same(tmp_path: Path, form: str) -> None:
    course = read_curriculum(FORMS[form](tmp_path))
    first, second, third = course.objectives
    assert (first.id, first.text, first.question, first.minimum, first.weight) == ("O1", "Name them", "artery forceps", 2, 1.5)
    assert [item.text for item in first.met_by] == ["Kelly forceps", "Crile forceps"]
    assert (second.outside, second.minimum, second.confirmed) == ("a skill", None, True)
    assert (third.confirmed, third.session) == (False, "S2")
    assert [(s.id, s.title, [i.text for i in s.shows]) for s in course.sessions] == [
        ("S1", "First", ["Kelly forceps", "towel clips"]),
        ("S2", "", ["Mayo scissors"]),
    ]
    if form == "toml":
        assert course.title == "Invented"


def test_a_list_may_go_over_several_rows(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_text("id,title,shows\nS1,First,Kelly forceps\nS1,,Crile forceps\n", encoding="utf-8")
    other = tmp_path / "o.csv"
    other.write_text("id,question\nO,scissors\n", encoding="utf-8")
    (session,) = read_curriculum([path, other]).sessions
    assert (session.title, [i.text for i in session.shows]) == ("First", ["Kelly forceps", "Crile forceps"])


def test_sessions_that_only_objectives_name_are_made(tmp_path: Path) -> None:
    path = tmp_path / "o.csv"
    path.write_text("id,question,session\nO,scissors,Monday\n", encoding="utf-8")
    assert [s.id for s in read_curriculum([path]).sessions] == ["Monday"]


# --- faults ---------------------------------------------------------------------------------------------------------
AIM, MEET = "[[objective]]\n", "[[session]]\n"
FAULTS = {
    # name: (file name, contents, [(line, code, words of the message)])
    "broken": ("a.toml", 'title = "x"\n[[objective]\nid = "a"\n', [(2, "BL-I03", "not valid TOML")]),
    "key twice": ("a.toml", AIM + 'id = "a"\nid = "b"\n', [(3, "BL-I03", "not valid TOML")]),
    "unfinished text": ("a.toml", AIM + 'id = "a', [(2, "BL-I03", "not valid TOML")]),
    "deep": ("a.toml", "x = " + "[" * 5000 + "]" * 5000, [(0, "BL-I04", "nested")]),
    "digits": ("a.toml", "x = " + "9" * 5000, [(0, "BL-I03", "thousands of digits")]),
    "empty": ("a.toml", "", [(0, "BL-I03", "empty")]),
    "no objective": ("a.toml", 'title = "x"\n', [(0, "BL-I03", "no objective")]),
    "sessions alone": ("a.toml", MEET + 'id = "S"\nshows = ["Kelly forceps"]\n', [(0, "BL-I03", "no objective")]),
    "unknown key": ("a.toml", AIM + 'id = "a"\nwieght = 3\nquestion = "scissors"\n', [(3, "BL-I03", '"wieght"')]),
    "unknown block": ("a.toml", AIM + 'id = "a"\ntext = "b"\n[[lesson]]\nid = "c"\n', [(4, "BL-I03", '"lesson"')]),
    "no block": ("a.toml", "objective = [1]\n", [(0, "BL-I03", "not a list of blocks")]),
    "wrong type": ("a.toml", AIM + 'id = "a"\ntext = ["b"]\n', [(3, "BL-I03", "not a text"), (1, "BL-I03", "needs a text")]),
    "a divider in a name": (
        "a.toml",
        AIM + 'id = "a"\ntext = "b"\nmet_by = "Kelly|Crile"\n',
        [(4, "BL-I03", "part of a name")],
    ),
    "behind a long text": (
        "a.toml",
        AIM + 'id = "a"\ntext = """\n[[objective]]\nminimum = 7\n"""\nminimum = -1\n',
        [(7, "BL-I10", "-1")],
    ),
    "no id": ("a.toml", AIM + 'text = "b"\n', [(1, "BL-I03", "no id")]),
    "odd id": ("a.toml", AIM + 'id = "two words"\ntext = "b"\n', [(2, "BL-I03", "cannot be an id")]),
    "id twice": ("a.toml", AIM + 'id = "a"\ntext = "b"\n' + AIM + 'id = "a"\ntext = "c"\n', [(5, "BL-I10", "used twice")]),
    "nothing said": ("a.toml", AIM + 'id = "a"\n', [(1, "BL-I03", "a text or a question")]),
    "negative minimum": ("a.toml", AIM + 'id = "a"\ntext = "b"\nminimum = -3\n', [(4, "BL-I10", "-3")]),
    "minimum of none": ("a.toml", AIM + 'id = "a"\ntext = "b"\nminimum = 0\n', [(4, "BL-I10", "minimum of 0")]),
    "minimum in words": ("a.toml", AIM + 'id = "a"\ntext = "b"\nminimum = "two"\n', [(4, "BL-I03", "no whole number")]),
    "half a minimum": ("a.toml", AIM + 'id = "a"\ntext = "b"\nminimum = 1.5\n', [(4, "BL-I03", "no whole number")]),
    "weight": ("a.toml", AIM + 'id = "a"\ntext = "b"\nweight = -1\n', [(4, "BL-I10", "weight of -1")]),
    "no number": ("a.toml", AIM + 'id = "a"\ntext = "b"\nweight = nan\n', [(4, "BL-I03", "")]),
    "neither yes nor no": ("a.toml", AIM + 'id = "a"\ntext = "b"\nconfirmed = "perhaps"\n', [(4, "BL-I03", "neither yes")]),
    "outside with a question": (
        "a.toml",
        AIM + 'id = "a"\nquestion = "scissors"\noutside = "a skill"\n',
        [(4, "BL-I10", "outside the catalogue")],
    ),
    "no such session": (
        "a.toml",
        MEET + 'id = "S1"\n' + AIM + 'id = "a"\ntext = "b"\nsession = "S9"\n',
        [(6, "BL-I10", 'no session "S9"')],
    ),
    "two titles": (
        "a.csv",
        "id,title,shows\nS,One,Kelly forceps\nS,Two,Kelly forceps\n",
        [(3, "BL-I10", "another title")],
    ),
    "unknown word": ("a.toml", AIM + 'id = "a"\nquestion = "artery forcebs"\n', [(3, "BL-Q02", '"forcebs"')]),
    "several readings": ("a.toml", AIM + 'id = "a"\nquestion = "compare Gillies and Kelly"\n', [(3, "BL-Q05", "can mean")]),
    "advice": ("a.toml", AIM + 'id = "a"\nquestion = "which clamp should I use on my patient"\n', [(3, "BL-Q06", "")]),
    "about no instrument": ("a.toml", AIM + 'id = "a"\nquestion = "what is a box lock"\n', [(3, "BL-Q03", "instruments")]),
    "unknown name": (
        "a.toml",
        MEET + 'id = "S"\nshows = ["Kelli forceps"]\n' + AIM + 'id = "a"\ntext = "b"\n',
        [(3, "BL-Q02", '"Kelli"')],
    ),
    "claimed by an unknown name": (
        "a.toml",
        AIM + 'id = "a"\ntext = "b"\nmet_by = ["Nemo forceps"]\n',
        [(4, "BL-Q02", '"Nemo"')],
    ),
    "formula": ("a.csv", "id,question\nO,=1+1\n", [(2, "BL-I03", "formula"), (2, "BL-I03", "needs a text")]),
    "no columns": ("a.csv", "name,what\nx,y\n", [(1, "BL-I03", "columns")]),
    "quotation mark": ("a.csv", 'id,question\nO,"scissors\n', [(2, "BL-I03", "not valid CSV")]),
    "latin": ("a.csv", "id,text\nO,Schärfe\n".encode("latin-1"), [(2, "BL-I03", "encoding")]),
    "NUL": ("a.toml", b'title = "a\0b"\n', [(1, "BL-I03", "NUL")]),
    "too many rows": ("a.csv", "id,text\n" + "".join(f"O{i},b\n" for i in range(10_001)), [(10_002, "BL-I04", "10,000 rows")]),
    "other ending": ("a.docx", "x", [(0, "BL-I03", "not read")]),
    "workbook by another name": ("a.csv", b"PK\3\4xxxx", [(0, "BL-I03", "workbook")]),
    "no workbook": ("a.xlsx", b"PK\3\4xxxx", [(0, "BL-I03", "not an XLSX")]),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_every_fault_has_its_place(catalogue, tmp_path: Path, fault: str) -> None:
    name, contents, expected = FAULTS[fault]
    path = tmp_path / name
    path.write_bytes(contents if isinstance(contents, bytes) else contents.encode("utf-8"))
    with pytest.raises(InputError) as caught:
        catalogue.coverage([path])
    error = caught.value
    found = [(f.line, f.code, f.text) for f in error.findings] or [(error.line, error.code, error.message)]
    for line, code, words in expected:
        assert any(f[0] == line and f[1] == code and words in f[2] for f in found), found
    assert len(found) == len(expected), found
    assert error.file == str(path)


def test_all_faults_come_at_once(catalogue, tmp_path: Path) -> None:
    """Of the form, of what cannot be, and of words: one reading names them all, each with a remedy."""
    path = tmp_path / "a.toml"
    lines = [
        MEET + 'id = "S"',
        'shows = ["Kelli forceps"]',
        AIM + 'id = "a"',
        'question = "artery forcebs"',
        "minimum = -1",
        "colour = 3",
    ]
    lines += [AIM + 'id = "a"', 'text = "b"', 'session = "T"']
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        catalogue.coverage([path])
    assert [(f.line, f.code) for f in caught.value.findings] == [
        (3, "BL-Q02"),
        (6, "BL-Q02"),
        (7, "BL-I10"),
        (8, "BL-I03"),
        (10, "BL-I10"),
        (12, "BL-I10"),
    ]
    assert all(f.fix for f in caught.value.findings)


def test_a_missing_file_and_a_folder(catalogue, tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    for name, words in (("none.toml", "no such file"), ("folder.toml", "folder")):
        with pytest.raises(InputError) as caught:
            catalogue.coverage([tmp_path / name])
        assert caught.value.code == "BL-I02"
        assert words in caught.value.message


def test_formulas_of_a_workbook(catalogue, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "objectives"
    for row in (("id", "question", "minimum"), ("O1", "scissors", "=1+1"), ("O2", '=HYPERLINK("x")', 1)):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    path = tmp_path / "a.xlsx"
    path.write_bytes(out.getvalue())
    with pytest.raises(InputError) as caught:
        catalogue.coverage([path])
    assert [f.text.split(":")[0] for f in caught.value.findings if "formula" in f.text] == ["objectives!C2", "objectives!B3"]


def test_ten_thousand_objectives_are_read(catalogue, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("id,question\n" + "".join(f"O{i},scissors\n" for i in range(10_000)), encoding="utf-8")
    assert len(read_curriculum([path]).objectives) == 10_000


def test_an_older_course_with_faults_is_refused_too(catalogue, tmp_path: Path) -> None:
    good, bad = tmp_path / "a.toml", tmp_path / "b.toml"
    good.write_text(AIM + 'id = "a"\nquestion = "scissors"\n', encoding="utf-8")
    bad.write_text(AIM + 'id = "a"\nquestion = "artery forcebs"\n', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        catalogue.coverage([good], against=[bad])
    assert (caught.value.file, caught.value.line, caught.value.code) == (str(bad), 3, "BL-Q02")


def test_the_form_in_the_readme_is_read(catalogue, tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"```toml\n(title = .*?)```", readme, re.DOTALL)
    path = tmp_path / "course.toml"
    path.write_text(block, encoding="utf-8")
    found = catalogue.coverage([path])
    assert {str(o.status) for o in found.objectives} == {"short", "unconfirmed", "outside"}
    for table, columns in FORM.columns.items():
        assert f"| {table} | {', '.join(columns)} |" in readme
