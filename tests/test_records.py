"""Records behave as frozen data classes do (the standard library's are the reference)."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, dataclass, field, fields, replace

import pytest

from kg.records import Record, record


@record
class Ours(Record):
    """One of each kind of field."""

    a: str
    b: int = 1
    c: list = field(default_factory=list, compare=False)
    d: str = field(default="x", repr=False)


@dataclass(frozen=True)
class Theirs:
    """The same, by the standard library."""

    a: str
    b: int = 1
    c: list = field(default_factory=list, compare=False)
    d: str = field(default="x", repr=False)


@pytest.mark.parametrize(
    ("values", "named"),
    [(("k",), {}), (("k", 2), {}), ((), {"a": "k", "d": "y"}), (("k", 2, [1], "z"), {}), (("k",), {"c": [3]})],
)
def test_made_shown_and_replaced_alike(values, named) -> None:
    ours, theirs = Ours(*values, **named), Theirs(*values, **named)
    assert ours.__dict__ == theirs.__dict__ and list(ours.__dict__) == list(theirs.__dict__)
    assert repr(ours).replace("Ours", "Theirs") == repr(theirs)
    assert hash(ours) == hash(theirs)
    assert [f.name for f in fields(ours)] == [f.name for f in fields(theirs)]
    assert replace(ours, b=9).__dict__ == replace(theirs, b=9).__dict__


@pytest.mark.parametrize(("values", "named"), [((), {}), (("k", 1, [], "x", 5), {}), (("k",), {"a": "z"}), (("k",), {"e": 1})])
def test_wrong_values_are_refused_alike(values, named) -> None:
    for made in (Ours, Theirs):
        with pytest.raises(TypeError):
            made(*values, **named)


def test_equal_by_compared_values_and_class() -> None:
    assert Ours("k", c=[1]) == Ours("k", c=[2]) != Ours("k", 2)
    assert Ours("k") != Theirs("k")
    assert Ours("k").c is not Ours("k").c
    match Ours("k", 7):
        case Ours(a, b):
            assert (a, b) == ("k", 7)


def test_frozen() -> None:
    for made in (Ours("k"), Theirs("k")):
        with pytest.raises(FrozenInstanceError):
            made.a = "z"
        with pytest.raises(FrozenInstanceError):
            del made.a
