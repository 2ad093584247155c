"""Frozen records that are cheap to define: a data class without generated code.

``dataclasses.dataclass(frozen=True)`` compiles six methods for every class, 0.4 ms at every start of the program, and asking
defines seventy of them. ``@record`` leaves fields, defaults, ``match`` and ``dataclasses.replace`` to the standard library
and takes the methods from one base class. For the few modules that every question loads.
"""

from __future__ import annotations

from dataclasses import MISSING, FrozenInstanceError, dataclass, fields
from typing import Any, TypeVar, dataclass_transform

Class = TypeVar("Class", bound=type)


class Record:
    """The methods of a record: made from values by place or name, never changed, equal if class and compared values are.

    Raises TypeError for a value that is missing, unknown or given twice, FrozenInstanceError for a change.
    """

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
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise FrozenInstanceError(f"cannot delete field {name!r}")


@dataclass_transform(frozen_default=True)
def record(cls: Class) -> Class:
    """Makes a subclass of ``Record`` from the fields it declares, as ``dataclass`` reads them."""
    if not cls.__doc__:
        cls.__doc__ = cls.__name__  # else ``dataclass`` works out a signature, which costs more than the class
    dataclass(init=False, repr=False, eq=False)(cls)
    found = fields(cls)
    cls._names = tuple(f.name for f in found)  # type: ignore[attr-defined]
    cls._whole = frozenset(cls._names)  # type: ignore[attr-defined]
    cls._defaults = {f.name: f.default for f in found if f.default is not MISSING}  # type: ignore[attr-defined]
    cls._factories = {f.name: f.default_factory for f in found if f.default_factory is not MISSING}  # type: ignore[attr-defined]
    cls._compare = tuple(f.name for f in found if f.compare)  # type: ignore[attr-defined]
    cls._shown = tuple(f.name for f in found if f.repr)  # type: ignore[attr-defined]
    return cls
