"""``dataclass`` as the standard library has it, made in a tenth of the time.

The library writes six functions a class and compiles them on import, which was two thirds of all importing
before the first rows. Here comparing, hashing, saying and refusing a change are functions that know the
fields and need no compiling; ``__init__`` is written when the first object is made. What the library gives
besides (``fields``, ``replace``, ``match``, slots, defaults) is made by it. It knows no ``InitVar``.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls=None, /, *, frozen=False, slots=False, kw_only=False, eq=True):
        """The decorator, with the words of the library's own."""

        def made(cls):
            own = set(cls.__dict__) - ({"__hash__"} if cls.__dict__.get("__hash__", 0) is None else set())
            cls = dataclasses.dataclass(init=False, repr=False, eq=False, slots=slots, kw_only=kw_only)(cls)
            for name, function in _shared(cls, frozen=frozen, slots=slots, eq=eq).items():
                if name not in own:
                    setattr(cls, name, function)
            return cls

        return made if cls is None else made(cls)


_DEFAULT_MADE = object()
"""Stands in ``__init__`` for a default that is made anew for each object."""


def _shared(cls: type, *, frozen: bool, slots: bool, eq: bool) -> dict[str, Callable[..., Any] | None]:
    """The functions of a class; each knows its fields, none is compiled for it."""
    fields = dataclasses.fields(cls)
    made: dict[str, Callable[..., Any] | None] = {"__init__": _first_init(cls)}
    made["__repr__"] = _repr_of([field.name for field in fields if field.repr])
    if eq:
        made |= _comparing([field.name for field in fields if field.compare])
    if frozen:
        made |= {"__setattr__": _refuse_to_set, "__delattr__": _refuse_to_delete}
    elif eq:
        made["__hash__"] = None
    if frozen and slots:
        made |= {"__getstate__": _state, "__setstate__": _set_state}
    return made


def _comparing(names: list[str]) -> dict[str, Callable[..., Any]]:
    compared = _values(names)

    def __eq__(self: Any, other: Any) -> Any:  # noqa: N807
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    def __hash__(self: Any) -> int:  # noqa: N807
        return hash(compared(self))

    return {"__eq__": __eq__, "__hash__": __hash__}


def _values(names: list[str]) -> Callable[[Any], tuple[Any, ...]]:
    if len(names) > 1:
        return attrgetter(*names)
    return lambda told: tuple(getattr(told, name) for name in names)


def _repr_of(names: list[str]) -> Callable[[Any], str]:
    def __repr__(self: Any) -> str:  # noqa: N807
        told = ", ".join(f"{name}={getattr(self, name)!r}" for name in names)
        return f"{self.__class__.__qualname__}({told})"

    return __repr__


def _refuse_to_set(self: Any, name: str, value: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: Any) -> list[Any]:
    """What a copy is made of, where the values lie in slots."""
    return [getattr(self, field.name) for field in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for field, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, field.name, value)


def _first_init(cls: type) -> Callable[..., None]:
    def __init__(self: Any, *given: Any, **named: Any) -> None:  # noqa: N807
        written = _written_init(cls)
        setattr(cls, "__init__", written)  # noqa: B010
        written(self, *given, **named)

    return __init__


def _written_init(cls: type) -> Callable[..., None]:
    """``__init__`` with a parameter a field, as the library writes it."""
    fields = dataclasses.fields(cls)
    known: dict[str, Any] = {"put": object.__setattr__, "DEFAULT_MADE": _DEFAULT_MADE}
    positional = [_parameter(field, known) for field in fields if field.init and not field.kw_only]
    keyword = [_parameter(field, known) for field in fields if field.init and field.kw_only]
    heads = ["self", *positional, *(["*", *keyword] if keyword else [])]
    lines = [line for field in fields if (line := _assigned(field, known))]
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    exec("\n ".join([f"def __init__({', '.join(heads)}):", *(lines or ["pass"])]), known)
    written = known["__init__"]
    written.__qualname__ = f"{cls.__qualname__}.__init__"
    written.__module__ = cls.__module__
    return written


def _parameter(field: dataclasses.Field[Any], known: dict[str, Any]) -> str:
    if field.default_factory is not dataclasses.MISSING:
        return f"{field.name}=DEFAULT_MADE"
    if field.default is dataclasses.MISSING:
        return field.name
    known[f"default_{field.name}"] = field.default
    return f"{field.name}=default_{field.name}"


def _assigned(field: dataclasses.Field[Any], known: dict[str, Any]) -> str:
    """The line that puts a field there; none for one that ``__post_init__`` puts there."""
    value = field.name
    if field.default_factory is not dataclasses.MISSING:
        known[f"make_{field.name}"] = field.default_factory
        given = f" if {field.name} is DEFAULT_MADE else {field.name}" if field.init else ""
        value = f"make_{field.name}(){given}"
    elif not field.init:
        if field.default is dataclasses.MISSING:
            return ""
        known[f"default_{field.name}"] = field.default
        value = f"default_{field.name}"
    return f"put(self, {field.name!r}, {value})"
