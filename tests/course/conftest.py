"""Courses for the tests. All of them are invented; the one of ``ontology/examples`` is the one that the README shows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from kg.course.coverage import Course, cover, understand
from kg.course.curriculum_sheet import read_curriculum
from kg.course.matching import Matcher
from kg.course.records import Coverage

DEMO = Path(__file__).parents[2] / "ontology" / "examples" / "saltmarsh.toml"


@pytest.fixture(scope="session")
def matcher(catalogue) -> Matcher:
    """All patterns, read once."""
    return Matcher(catalogue.context)


@pytest.fixture
def course(catalogue, matcher, tmp_path) -> Callable[..., Course]:
    """``course(text)``: a course in TOML, read and understood."""

    def made(text: str, name: str = "course.toml") -> Course:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return understand(catalogue.context, read_curriculum([path]), matcher)

    return made


@pytest.fixture
def covered(catalogue, course) -> Callable[..., Coverage]:
    """``covered(text)``: what a course in TOML covers."""
    return lambda text, name="course.toml": cover(catalogue.context, course(text, name))


@pytest.fixture(scope="session")
def demo(catalogue) -> Coverage:
    """What the course of the README covers, with everything that can be asked for."""
    return catalogue.coverage([DEMO], smallest=True, every_value=True, more=3)


@pytest.fixture
def objective() -> Callable[..., str]:
    """``objective(id, question=..., ...)``: a block of TOML."""

    def made(name: str, **keys: Any) -> str:
        return "\n".join(["[[objective]]", f'id = "{name}"', *(f"{k} = {_value(v)}" for k, v in keys.items()), ""])

    return made


@pytest.fixture
def session() -> Callable[..., str]:
    """``session(id, names)``: a block of TOML that shows instruments."""

    def made(name: str, shows: Sequence[str]) -> str:
        return f'[[session]]\nid = "{name}"\nshows = {_value(list(shows))}\n'

    return made


def _value(value: Any) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    return f'"{value}"' if isinstance(value, str) else str(value).lower()
