"""Frozen records that are cheap to define: a data class without generated code.

``dataclasses.dataclass(frozen=True)`` compiles six methods for every class, 0.4 ms at every start of the program, asking
defines a hundred of them, and the module itself draws in the library's tools for reading source code. ``@record`` takes the
methods from one base class. ``dataclasses.fields``, ``replace`` and ``asdict`` work on records as on data classes: what they
need is made when they ask for it. For the modules that every question loads.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any, TypeVar, dataclass_transform

Class = TypeVar("Class", bound=type)
Kind = TypeVar("Kind")
_MISSING: Any = object()


class _Field:
    """What ``field`` says of a field."""

    __slots__ = ("compare", "default", "factory", "repr")

    def __init__(self, default: Any, factory: Any, compare: bool, repr: bool) -> None:
        self.default = default
        self.factory = factory
        self.compare = compare
        self.repr = repr


def field(
    *, default: Any = _MISSING, default_factory: Callable[[], Any] = _MISSING, compare: bool = True, repr: bool = True
) -> Any:
    """As ``dataclasses.field``, for records."""
    return _Field(default, default_factory, compare, repr)


class _StandardFields:
    """Makes ``__dataclass_fields__`` of a class of records when the standard library first asks for it."""

    def __get__(self, one: Record | None, cls: type[Record]) -> dict[str, Any]:
        own: dict[str, _Field] | None = cls.__dict__.get("_own")
        if own is None:  # a class without ``@record`` is no data class
            raise AttributeError("__dataclass_fields__")
        import dataclasses

        def standard(said: _Field) -> Any:
            given = {"default": said.default, "default_factory": said.factory}
            given = {name: value for name, value in given.items() if value is not _MISSING}
            return dataclasses.field(**given, compare=said.compare, repr=said.repr)

        listed = [(name, cls._types[name], standard(said)) for name, said in own.items()]  # type: ignore[attr-defined]
        found = dataclasses.make_dataclass(cls.__name__, listed, init=False, repr=False, eq=False).__dataclass_fields__
        cls.__dataclass_fields__ = found  # type: ignore[assignment]
        return found


class Record:
    """The methods of a record: made from values by place or name, never changed, equal if class and compared values are.

    Raises TypeError for a value that is missing, unknown or given twice, FrozenInstanceError for a change.
    """

    __dataclass_fields__ = _StandardFields()

    def __init__(self, *values: Any, **named: Any) -> None:
        cls = type(self)
        names, own = cls._names, self.__dict__  # type: ignore[attr-defined]
        if len(values) == len(names) and not named:
            own.update(zip(names, values, strict=True))
            return
        if not values and len(named) == len(names) and named.keys() == cls._whole:  # type: ignore[attr-defined]
            own.update([(name, named[name]) for name in names])  # as ``dataclasses.replace`` does
            return
        if len(values) > len(names):
            raise TypeError(f"{cls.__name__} takes {len(names)} values, not {len(values)}")
        own.update(zip(names, values, strict=False))
        for name in names[len(values) :]:
            if name in named:
                own[name] = named.pop(name)
            elif name in cls._defaults:  # type: ignore[attr-defined]
                own[name] = cls._defaults[name]  # type: ignore[attr-defined]
            elif name in cls._factories:  # type: ignore[attr-defined]
                own[name] = cls._factories[name]()  # type: ignore[attr-defined]
            else:
                raise TypeError(f"{cls.__name__} needs a value for {name}")
        if named:
            raise TypeError(f"{cls.__name__} does not take {', '.join(sorted(named))}, or takes it once")

    def __replace__(self, **changes: Any) -> Any:
        made = object.__new__(type(self))
        old = self.__dict__
        made.__dict__.update([(name, changes.pop(name, old[name])) for name in type(self)._names])  # type: ignore[attr-defined]
        if changes:
            raise TypeError(f"{type(self).__name__} does not take {', '.join(sorted(changes))}")
        return made

    def _compared(self) -> tuple[Any, ...]:
        own = self.__dict__
        return tuple([own[name] for name in type(self)._compare])  # type: ignore[attr-defined]

    def __eq__(self, other: object) -> bool:
        if other.__class__ is not self.__class__:
            return NotImplemented
        return self._compared() == other._compared()  # type: ignore[attr-defined]

    def __hash__(self) -> int:
        return hash(self._compared())

    def __repr__(self) -> str:
        shown = ", ".join(f"{name}={self.__dict__[name]!r}" for name in type(self)._shown)  # type: ignore[attr-defined]
        return f"{type(self).__qualname__}({shown})"

    def __setattr__(self, name: str, value: Any) -> None:
        raise _frozen(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise _frozen(f"cannot delete field {name!r}")


def _frozen(what: str) -> AttributeError:
    from dataclasses import FrozenInstanceError

    return FrozenInstanceError(what)


def replace(one: Kind, **changes: Any) -> Kind:
    """As ``dataclasses.replace``, for records and data classes."""
    if isinstance(one, Record):
        return one.__replace__(**changes)
    from dataclasses import replace

    return replace(one, **changes)  # type: ignore[type-var]


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: Class) -> Class:
    """Makes a subclass of ``Record`` from the fields it declares, as ``dataclass`` reads them."""
    own: dict[str, _Field] = {}
    types: dict[str, Any] = {}
    for base in cls.__mro__[-1:0:-1]:
        own |= base.__dict__.get("_own", {})
        types |= base.__dict__.get("_types", {})
    for name, annotation in cls.__annotations__.items():
        types[name] = annotation
        own[name] = said = _said(cls.__dict__.get(name, _MISSING))
        if said.default is not _MISSING:
            setattr(cls, name, said.default)
        elif name in cls.__dict__:
            delattr(cls, name)
    cls._own, cls._types = own, types  # type: ignore[attr-defined]
    cls._names = cls.__match_args__ = tuple(own)  # type: ignore[attr-defined]
    cls._whole = frozenset(own)  # type: ignore[attr-defined]
    cls._defaults = {n: f.default for n, f in own.items() if f.default is not _MISSING}  # type: ignore[attr-defined]
    cls._factories = {n: f.factory for n, f in own.items() if f.factory is not _MISSING}  # type: ignore[attr-defined]
    cls._compare = tuple([n for n, f in own.items() if f.compare])  # type: ignore[attr-defined]
    cls._shown = tuple([n for n, f in own.items() if f.repr])  # type: ignore[attr-defined]
    return cls


def _said(value: Any) -> _Field:
    """What a class says of a field, by its default, by ``field``, or by the standard library's."""
    if isinstance(value, _Field):
        return value
    standard = sys.modules.get("dataclasses")
    if standard is None or not isinstance(value, standard.Field):
        return _Field(value, _MISSING, True, True)
    default, factory = [_MISSING if v is standard.MISSING else v for v in (value.default, value.default_factory)]
    return _Field(default, factory, value.compare, value.repr)
