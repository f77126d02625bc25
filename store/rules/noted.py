"""A version of the rules that notes when something is read that another version has otherwise.

What was worked out without reading any of it comes out the same under both versions, and need not be worked
out twice. It errs to one side only: a part that cannot be looked into is noted as a whole.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cached_property
from typing import Any, cast

from armrise.store.rules.pathway import Rules

OF_THE_FILES = frozenset(("version", "signed_by", "signed_on", "doubt", "completed", "origin", "digest"))
"""What says which version it is and who signed it: no reason and no word of a verdict rests on it."""
_FIGURES = "_whole"
"""The values of the figures, which :class:`Rules` keeps together; each is noted by itself."""

Note = Callable[[str], None]


class Noted:
    """``rules`` says what ``old`` says; ``read`` holds what was asked of it that ``new`` has otherwise."""

    def __init__(self, old: Rules, new: Rules) -> None:
        self.read: set[str] = set()
        self.rules: Rules = _record(old, new, "", self.read.add)


def _record(old: Any, new: Any, place: str, note: Note) -> Any:
    """A copy of a record of the rules that notes whoever asks for one of its changed fields."""
    kind = cast("type[Any]", type(old))
    kept: dict[str, Any] = {one.name: getattr(old, one.name) for one in fields(old)}
    changed: set[str] = set()
    for name, was in kept.items():
        now = getattr(new, name)
        if _alike(was, now) or (kind is Rules and name in OF_THE_FILES):
            continue
        inside = _inside(was, now, f"{place}{name}", note)
        if inside is None:
            changed.add(name)
        else:
            kept[name] = inside
    for name in _worked_out(kind):
        kept[name] = getattr(old, name)
        if name != _FIGURES and not _alike(kept[name], getattr(new, name)):
            changed.add(name)
    noting = _noting(kind, {name: f"{place}{name}" for name in changed}, old, new, note)
    return _filled(object.__new__(noting), kept)


def _filled(made: Any, kept: Mapping[str, Any]) -> Any:
    for name, value in kept.items():
        if hasattr(made, "__dict__"):
            made.__dict__[name] = value  # what it works out of itself is kept there, and asked for there
        else:
            object.__setattr__(made, name, value)
    return made


def _alike(was: Any, now: Any) -> bool:
    """Equal, and in the same order: two tables may be equal and say something else first."""
    return was == now and repr(was) == repr(now)


def _worked_out(kind: type[Any]) -> list[str]:
    """What a record works out of its fields once and keeps: whoever asks later reads no field any more."""
    return [name for one in kind.__mro__ for name, of in vars(one).items() if isinstance(of, cached_property)]


def _inside(was: Any, now: Any, place: str, note: Note) -> Any:
    """The same with notes on what is changed in it; None where it cannot be looked into."""
    if type(was) is not type(now):
        return None
    if is_dataclass(was):
        return _record(was, now, f"{place}.", note)
    if isinstance(was, dict):
        return _table(cast("dict[Any, Any]", was), cast("dict[Any, Any]", now), place, note)
    if isinstance(was, tuple):
        before, after = cast("tuple[Any, ...]", was), cast("tuple[Any, ...]", now)
        found = _table(dict(enumerate(before)), dict(enumerate(after)), place, note)
        return tuple(found.values()) if found is not None else None
    return None


def _table(was: Mapping[Any, Any], now: Mapping[Any, Any], place: str, note: Note) -> dict[Any, Any] | None:
    if list(was) != list(now):
        return None
    found: dict[Any, Any] = {}
    for key, value in was.items():
        alike = _alike(value, now[key])
        found[key] = value if alike else _inside(value, now[key], f"{place}.{key}", note)
        if not alike and found[key] is None:
            return None
    return found


def _noting(kind: type[Any], changed: Mapping[str, str], old: Any, new: Any, note: Note) -> Any:
    """A kind of record like ``kind`` that notes when one of the changed fields is asked for."""

    def asked(self: Any, name: str) -> Any:
        if name in changed:
            note(changed[name])
        # To everybody else it is of its kind: equal to what is equal, and copied as such.
        return kind if name == "__class__" else object.__getattribute__(self, name)

    body: dict[str, Any] = {"__slots__": (), "__getattribute__": asked}
    if kind is Rules:
        body["__getitem__"] = _figure(old, new, note)
    return type(kind.__name__, (kind,), body)


def _figure(old: Rules, new: Rules, note: Note) -> Callable[[Any, str], int]:
    """How a figure is read: noted where the other version has another value, or none."""
    values = {name: figure.whole for name, figure in old.figures.items()}
    others = {name: figure.whole for name, figure in new.figures.items()}
    changed = {name for name, value in values.items() if others.get(name) != value}

    def value(rules: Any, name: str) -> int:
        if name in changed:
            note(f"figures.{name}")
        return values[name]

    return value
