"""``dataclass`` and ``NamedTuple`` for less than the standard ones cost at every start.

That dataclass writes six functions as text for each class and has each of them compiled: half a millisecond
and several kilobytes a class, and there are a hundred before the first row. Here what compares, prints,
guards and carries is the same code for all, and ``__init__`` is written out when the first one is made.
Fields, defaults, ``replace``, ``fields`` and ``is_dataclass`` are the standard library's own. A tuple with
names is that of ``collections``; the standard class compiles the text of each annotation for nobody.
"""

from __future__ import annotations

from collections import namedtuple
from collections.abc import Callable, Sequence
from dataclasses import MISSING, Field, FrozenInstanceError, fields
from dataclasses import dataclass as standard
from inspect import get_annotations
from operator import attrgetter
from typing import TYPE_CHECKING, Any

__all__ = ["NamedTuple", "annotated", "dataclass", "write_out"]

if TYPE_CHECKING:
    from dataclasses import dataclass
    from typing import NamedTuple
else:

    class _Named(type):
        """Makes a tuple with names of the annotations of a class, and puts what else it says on it."""

        def __new__(meta, name, bases, said):
            if not bases:
                return super().__new__(meta, name, bases, said)
            named = said.get("__annotations__", {})
            defaults = [said[one] for one in named if one in said]
            assert all(one in said for one in list(named)[len(named) - len(defaults) :]), "defaults come last"
            made = namedtuple(name, named, defaults=defaults, module=said["__module__"])
            made.__annotations__ = made.__new__.__annotations__ = named
            for key, value in said.items():
                if key not in named and key not in ("__module__", "__annotations__"):
                    setattr(made, key, value)
            return made

    class NamedTuple(metaclass=_Named):
        """As the standard one."""

    def dataclass(*, frozen=False, slots=False, kw_only=False):
        """As the standard one."""

        def made(given):
            kind = standard(init=False, repr=False, eq=False, slots=slots, kw_only=kw_only)(given)
            return _finished(kind, frozen, slots)

        return made


_set = object.__setattr__


def write_out(*kinds: Any) -> None:
    """Have the first record of each of these classes wait for nothing."""
    for kind in kinds:
        kind.__init__ = _init(kind, fields(kind))


def annotated(kind: Any, name: str) -> tuple[Any, str]:
    """What a field is said to be, as a text where it was written as one, and the module that says it."""
    for of in kind.__mro__:
        said = get_annotations(of)
        if name in said:
            return getattr(said[name], "__forward_arg__", said[name]), of.__module__
    raise LookupError(name)


def _finished(kind: Any, frozen: bool, slots: bool) -> Any:
    """The class with what the standard library would have written out, where it has none of its own."""
    told: Sequence[Field[Any]] = fields(kind)
    compared = _values([one.name for one in told if one.compare])
    hashed = _values([one.name for one in told if (one.compare if one.hash is None else one.hash)])

    def equal(self: Any, other: Any) -> Any:
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    def init(self: Any, *given: Any, **named: Any) -> None:
        kind.__init__ = written = _init(kind, told)
        written(self, *given, **named)

    made: dict[str, Any] = {"__init__": init, "__eq__": equal, "__hash__": None, "__repr__": _repr}
    if frozen:
        made["__hash__"] = _hash_of(hashed)
        made |= {"__setattr__": _refuse_set, "__delattr__": _refuse_del}
    if slots:
        made |= {"__getstate__": _state, "__setstate__": _take_state}
    for name, function in made.items():
        if kind.__dict__.get(name) is None:
            setattr(kind, name, function)
    return kind


def _hash_of(values: Callable[[Any], Any]) -> Callable[[Any], int]:
    return lambda of: hash(values(of))


def _values(names: Sequence[str]) -> Callable[[Any], Any]:
    return attrgetter(*names) if names else lambda of: ()


def _init(kind: Any, told: Sequence[Field[Any]]) -> Callable[..., None]:
    """``__init__`` of a class: its fields in their order, those by name alone last."""
    known: dict[str, Any] = {"_set": _set, "_left": MISSING}
    asked = [one for one in told if one.init]
    by_name = [_asked(one, known) for one in asked if one.kw_only]
    head = [
        "self",
        *(_asked(one, known) for one in asked if not one.kw_only),
        *(["*", *by_name] if by_name else []),
    ]
    body = [
        f"_set(self, {one.name!r}, {_given(one, known)})" for one in told if one.init or _has_default(one)
    ]
    if hasattr(kind, "__post_init__"):
        body.append("self.__post_init__()")
    exec(f"def __init__({', '.join(head)}):\n " + "\n ".join(body or ["pass"]), known)
    written = known["__init__"]
    written.__qualname__ = f"{kind.__qualname__}.__init__"
    written.__module__ = kind.__module__
    return written


def _has_default(one: Field[Any]) -> bool:
    return one.default is not MISSING or one.default_factory is not MISSING


def _asked(one: Field[Any], known: dict[str, Any]) -> str:
    """A parameter, its default among the names ``known`` to the function."""
    if one.default_factory is not MISSING:
        return f"{one.name}=_left"
    if one.default is MISSING:
        return one.name
    known[f"_default_{one.name}"] = one.default
    return f"{one.name}=_default_{one.name}"


def _given(one: Field[Any], known: dict[str, Any]) -> str:
    """What a field is set to."""
    if one.default_factory is not MISSING:
        known[f"_make_{one.name}"] = one.default_factory
        made = f"_make_{one.name}()"
        return f"{made} if {one.name} is _left else {one.name}" if one.init else made
    if not one.init:
        known[f"_default_{one.name}"] = one.default
        return f"_default_{one.name}"
    return one.name


def _repr(self: Any) -> str:
    told = ", ".join(f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
    return f"{self.__class__.__qualname__}({told})"


def _refuse_set(self: Any, name: str, value: Any) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_del(self: Any, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, one.name) for one in fields(self)]


def _take_state(self: Any, state: Sequence[Any]) -> None:
    for one, value in zip(fields(self), state, strict=True):
        _set(self, one.name, value)
