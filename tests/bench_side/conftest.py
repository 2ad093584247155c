"""Every description of the catalogue, made once."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session")
def descriptions(catalogue):
    """pattern -> its description."""
    from kg.answer.describe import answer_describe

    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    return {p: answer_describe(catalogue.context, p).description for p in patterns}
