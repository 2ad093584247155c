"""Whatever a file holds, the answer is a report or an error of ours: a seeded sample of damaged courses."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

import kg
from kg.errors import CODES, BoxlockError
from kg.render.spans import plain

DEMO = (Path(__file__).parents[2] / "ontology" / "examples" / "saltmarsh.toml").read_bytes()
WORDS = b"Name them in the order of use and say where each of them is shown in this course " * 12
TABLE = b"id,text,question,minimum,weight,session,met by\nO1," + WORDS + b",artery forceps,2,1,S1,Kelly forceps|Crile forceps\n"
PIECES = [
    b'"',
    b"[",
    b"]",
    b"\n",
    b"=",
    b"|",
    b"\xff",
    b"\x00",
    b"-1",
    b"9" * 30,
    "é\u202e".encode(),
    b"'''",
    b"(",
    b"{",
    b"not ",
]


def damaged(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(out) + 1)
        how = rng.randrange(4)
        if how == 0:
            out[at:at] = rng.choice(PIECES)
        elif how == 1:
            del out[at : at + rng.randint(1, 30)]
        elif how == 2:
            start = rng.randrange(len(data))
            out[at:at] = data[start : start + rng.randint(1, 60)]
        elif at < len(out):
            out[at] = rng.randrange(256)
    return bytes(out)


@pytest.mark.parametrize(("ending", "data"), [(".toml", DEMO), (".csv", TABLE)], ids=["toml", "csv"])
def test_a_damaged_course_is_read_or_refused(catalogue, tmp_path: Path, ending: str, data: bytes) -> None:
    rng = random.Random(4)
    read = refused = 0
    for number in range(60):
        path = tmp_path / f"course{number}{ending}"
        path.write_bytes(damaged(data, rng))
        try:
            found = catalogue.coverage([path])
        except BoxlockError as error:
            refused += 1
            assert error.code in CODES
            assert plain(kg.error_lines(error, 80))
            continue
        read += 1
        assert plain(kg.coverage_lines(found, 60))
        assert "\u202e" not in kg.coverage_html(found)
    assert read > 5 and refused > 5


def test_more_names_than_can_be_meant(catalogue, tmp_path: Path) -> None:
    path = tmp_path / "course.toml"
    names = ", ".join(['"Kelly forceps"'] * 2_000)
    sessions = "".join(f'[[session]]\nid = "S{n}"\nshows = [{names}]\n' for n in range(6))
    path.write_text(f'{sessions}[[objective]]\nid = "a"\nquestion = "scissors"\n', encoding="utf-8")
    with pytest.raises(kg.InputError) as caught:
        catalogue.coverage([path])
    assert (caught.value.code, caught.value.line) == ("BL-I04", 18)
