"""Frozen records as JSON and back, by their type hints alone: a field added to one is carried at once.

A record, a dataclass or a tuple with names, is an array of its fields in order, a tuple an array, a date ISO
text, a word of an enumeration its value. What comes back equals what went in. JSON and not what Python offers
for objects, because a file that somebody else could write must never be able to run code. The arrays bear no
names, so they are read by the very program that wrote them or not at all: see
:class:`armrise.store.caseload.mark.Mark`.

What many values have in common, as what to do about a reason, is written once as a text of its own, under the
digest of that text, which stands in its place.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Collection, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, cast, get_args, get_origin

from armrise.store.kept.digest import digest
from armrise.store.record.light import NamedTuple, annotated

PLAIN = (str, int, float, bool, NoneType)
"""What JSON holds as it is."""
_PLAIN_WORDS = frozenset(f"{one.__name__}{end}" for one in PLAIN[:-1] for end in ("", " | None"))
"""Annotations of fields that hold such."""
Turn = Callable[[Any], Any]
T = TypeVar("T")


class NotCarried(TypeError):
    """A type that no JSON is known for here: a line of :meth:`Codec.both` is missing."""


class Both(NamedTuple):
    """To JSON and from it; None where the value stays as it is."""

    write: Turn | None
    read: Turn | None


class Codec:
    """Values to JSON text and back; each value of the ``shared`` types is written once, among the parts."""

    def __init__(self, shared: Collection[type[Any]] = ()) -> None:
        self.parts: dict[str, str] = {}
        """The text of every shared value that was written or taken, by its digest."""
        self._shared = frozenset(shared)
        self._both: dict[Any, Both] = {}
        self._whole = {kind: self._record(kind) for kind in self._shared}
        self._known: dict[Any, str] = {}
        self._made: dict[str, Any] = {}

    def written(self, value: Any) -> str:
        """A value as JSON text on one line. Raises :class:`NotCarried`."""
        return _line(value, self.both(type(value)).write)

    def read(self, kind: type[T], text: str) -> T:
        """The value that :meth:`written` made this text of.

        Raises ValueError, TypeError or LookupError for any other text, and for a shared value not taken.
        """
        turn = self.both(kind).read
        value = json.loads(text)
        return turn(value) if turn else value

    def take(self, kind: type[Any], text: str) -> None:
        """Take a shared value, before what refers to it is read. Raises as :meth:`read`."""
        turn, known = self._whole[kind].read, digest(text)
        assert turn is not None
        value = self._made[known] = turn(json.loads(text))
        self._known[value] = known
        self.parts[known] = text

    def both(self, kind: Any) -> Both:
        """How values of a type are written and read. Raises :class:`NotCarried`."""
        found = self._both.get(kind)
        if found is None:
            found = self._both[kind] = self._turns(kind)
        return found

    def _turns(self, kind: Any) -> Both:
        origin, inner = get_origin(kind), get_args(kind)
        if kind in PLAIN:
            return Both(None, None)
        if kind in (date, datetime):
            return Both(kind.isoformat, kind.fromisoformat)
        if origin in (Union, UnionType):
            return self._one_of(inner)
        if origin is tuple:
            return self._tuple(inner)
        if _is_enum(kind):
            return Both(_value_of, {member.value: member for member in kind}.__getitem__)
        if kind in self._shared:
            return self._by_digest(kind)
        if is_dataclass(kind) or hasattr(kind, "_fields"):
            return self._record(kind)
        raise NotCarried(f"{kind} is written as no JSON")

    def _by_digest(self, kind: Any) -> Both:
        write = self._whole[kind].write

        def refer(value: Any) -> str:
            known = self._known.get(value)
            if known is None:
                text = _line(value, write)
                known = self._known[value] = digest(text)
                self.parts[known] = text
            return known

        return Both(refer, self._made.__getitem__)

    def _tuple(self, inner: tuple[Any, ...]) -> Both:
        if Ellipsis not in inner:
            turns = [self.both(kind) for kind in inner]
            return Both(
                _placed([turn.write for turn in turns]), _placed([turn.read for turn in turns], tuple)
            )
        write, read = self.both(inner[0])
        return Both(_each(write) if write else list, _all_of(read) if read else tuple)

    def _one_of(self, inner: tuple[Any, ...]) -> Both:
        """A union: None, plain types, and at most one other type that does not look like one of them."""
        kinds = [kind for kind in inner if kind is not NoneType]
        turned = [kind for kind in kinds if self.both(kind).read]
        if not turned:
            return Both(None, None)
        looks = [self._looks(kind) for kind in kinds]
        if len(turned) > 1 or len(set(looks)) < len(looks):
            raise NotCarried(f"{inner} is written as no JSON: two types in it would look alike")
        write, read = (cast(Turn, turn) for turn in self.both(turned[0]))
        if len(kinds) == 1:
            return Both(_unless_none(write), _unless_none(read))
        own = get_origin(turned[0]) or turned[0]
        return Both(_where(own, write), _where(self._looks(turned[0]), read))

    def _looks(self, kind: Any) -> type:
        """As what a type comes out of JSON."""
        if kind in PLAIN:
            return kind
        word = kind in (date, datetime) or kind in self._shared or _is_enum(kind)
        return str if word else list

    def _record(self, kind: Any) -> Both:
        """A dataclass, or a tuple with names: what is plain in it goes over untouched, the rest is turned.

        One that holds itself is met again while it is worked out: so its fields are, when first used.
        """
        named = [field.name for field in fields(kind) if field.init] if is_dataclass(kind) else kind._fields
        turns: list[tuple[int, Turn, Turn]] | None = None

        def worked_out() -> list[tuple[int, Turn, Turn]]:
            said = [(place, _hint(kind, name)) for place, name in enumerate(named)]
            found = [(place, *self.both(hint)) for place, hint in said if hint is not None]
            return [(place, write, read) for place, write, read in found if write and read]

        def write(value: Any) -> list[Any]:
            nonlocal turns
            found = [getattr(value, name) for name in named]
            for place, turn, _ in turns if turns is not None else (turns := worked_out()):
                found[place] = turn(found[place])
            return found

        make = _maker(kind, named)

        def read(found: list[Any]) -> Any:
            nonlocal turns
            for place, _, turn in turns if turns is not None else (turns := worked_out()):
                found[place] = turn(found[place])
            return make(found)

        return Both(write, read)


def _hint(kind: Any, name: str) -> Any:
    """The type of a field; None for one that is plain by its words: those are never looked up."""
    said, module = annotated(kind, name)
    if said in _PLAIN_WORDS:
        return None
    return eval(said, sys.modules[module].__dict__) if isinstance(said, str) else said


def _maker(kind: Any, named: Sequence[str]) -> Callable[[list[Any]], Any]:
    """What makes a record of the values of its fields, all of them in their order."""
    if not is_dataclass(kind):
        return kind._make
    make = cast(Callable[..., Any], kind)
    if any(field.kw_only for field in fields(kind)):
        return lambda found: make(**dict(zip(named, found, strict=True)))
    return lambda found: make(*found)


def _line(value: Any, write: Turn | None) -> str:
    return json.dumps(write(value) if write else value, ensure_ascii=False, separators=(",", ":"))


def _is_enum(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Enum)


def _value_of(member: Enum) -> Any:
    return member.value


def _each(turn: Turn) -> Turn:
    def each(values: Any) -> list[Any]:
        return [turn(value) for value in values]

    return each


def _placed(turns: Sequence[Turn | None], made: Turn = list) -> Turn:
    """Of a tuple of a fixed length, each place by its own."""

    def placed(values: Any) -> Any:
        pairs = zip(turns, values, strict=True)
        return made([value if turn is None else turn(value) for turn, value in pairs])

    return placed


def _all_of(turn: Turn) -> Turn:
    def all_of(values: Any) -> tuple[Any, ...]:
        return tuple([turn(value) for value in values]) if values != [] else ()

    return all_of


def _unless_none(turn: Turn) -> Turn:
    def unless_none(value: Any) -> Any:
        return None if value is None else turn(value)

    return unless_none


def _where(kind: type[Any], turn: Turn) -> Turn:
    def where(value: Any) -> Any:
        return turn(value) if isinstance(value, kind) else value

    return where
