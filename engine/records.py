"""Frozen dataclasses that cost little to define and little to make.

To the type checker, and to `dataclasses.fields`, `replace` and `asdict`, they are dataclasses like any other. What the
standard library compiles for each class anew (to compare, to hash, to print, to refuse a change) is written once here,
and what it sets field by field is put in place in one stroke: sixty classes are defined at every start of the command
line, and an assessment makes records by the thousand.
"""

from __future__ import annotations

import dataclasses
from functools import partial
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls=None, /, *, frozen=False, **options):
        """As `dataclasses.dataclass`; a class that is frozen and asks for nothing else is made the short way."""
        if cls is None:
            return partial(dataclass, frozen=frozen, **options)
        if not frozen or options:
            return dataclasses.dataclass(cls, frozen=frozen, **options)
        cls.__doc__ = cls.__doc__ or cls.__name__  # without words of its own it would be given its signature, slowly
        made = dataclasses.dataclass(cls, init=False, repr=False, eq=False)
        made._values = attrgetter(*(field.name for field in dataclasses.fields(made) if field.compare))
        for method in (_init(made), __eq__, __hash__, __repr__, __setattr__, __delattr__):
            if method.__name__ not in made.__dict__:
                setattr(made, method.__name__, method)
        return made


def _init(cls: Any) -> Any:
    """`__init__` of a record. Made as text, as the standard library makes it; the names are those of the fields."""
    known: dict[str, Any] = {"put": object.__setattr__, "none": dataclasses.MISSING}
    arguments, values = [], []
    for name, field in cls.__dataclass_fields__.items():
        if not field.init:
            continue
        argument, value = name, name
        if field.default is not dataclasses.MISSING:
            known[f"default_{name}"] = field.default
            argument = f"{name}=default_{name}"
        elif field.default_factory is not dataclasses.MISSING:
            known[f"factory_{name}"] = field.default_factory
            argument, value = f"{name}=none", f"factory_{name}() if {name} is none else {name}"
        arguments.append(argument)
        values.append(f"{name!r}: {value}")
    source = f"def __init__(self, {', '.join(arguments)}):\n put(self, '__dict__', {{{', '.join(values)}}})"
    if hasattr(cls, "__post_init__"):
        source += "\n self.__post_init__()"
    exec(source, known)  # noqa: S102
    return known["__init__"]


def __eq__(self: Any, other: Any) -> Any:
    return self._values(self) == self._values(other) if other.__class__ is self.__class__ else NotImplemented


def __hash__(self: Any) -> int:
    return hash(self._values(self))


def __repr__(self: Any) -> str:
    shown = (field.name for field in dataclasses.fields(self) if field.repr)
    return f"{self.__class__.__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in shown)})"


def __setattr__(self: Any, name: str, value: object) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def __delattr__(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
