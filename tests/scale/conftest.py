"""Patterns drawn from the shipped catalogue."""

from __future__ import annotations

import pytest

from kg.build import Staged
from tests.bench.synthetic import Drawn, Synthetic

DRAWN = 300


@pytest.fixture(scope="session")
def synthetic(staged: Staged) -> Synthetic:
    return Synthetic(staged)


@pytest.fixture(scope="session")
def drawn(synthetic: Synthetic) -> list[Drawn]:
    return list(synthetic.draw(DRAWN))
