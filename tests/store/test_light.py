"""Light records do what the standard library's frozen dataclasses do: each is made both ways and compared."""

from __future__ import annotations

import pickle
import typing
from dataclasses import FrozenInstanceError, dataclass, field, fields, is_dataclass, replace

import pytest

from armrise.store.record.light import NamedTuple as LightTuple
from armrise.store.record.light import dataclass as light
from armrise.store.rules.figure import Figure


def _plain(made):
    @made(frozen=True, slots=True)
    class Plain:
        """Two by their places, one left out."""

        one: int
        two: str = "two"
        seen: int = field(default=0, compare=False, repr=False)

    return Plain


def _named(made):
    @made(frozen=True, slots=True, kw_only=True)
    class Named:
        """By name alone, a list of its own each time."""

        parts: list[int] = field(default_factory=list, hash=False)
        one: int

    @made(frozen=True, slots=True, kw_only=True)
    class Further(Named):
        """What it has of the one above, and more."""

        two: int = 2
        three: int = field(init=False, default=3)

    return Further


def _checked(made):
    @made(frozen=True)
    class Checked:
        """Without slots, and with a word of its own."""

        one: int

        def __post_init__(self):
            if self.one < 0:
                raise ValueError("below zero")

        def __repr__(self):
            return f"<{self.one}>"

    return Checked


def _nothing(made):
    @made(frozen=True, slots=True)
    class Nothing:
        """Without a field."""

    return Nothing


MADE = [
    (_plain, (1,), {}),
    (_plain, (1, "x"), {"seen": 4}),
    (_plain, (), {"one": 5}),
    (_named, (), {"one": 1}),
    (_named, (), {"one": 1, "parts": [1], "two": 7}),
    (_checked, (3,), {}),
    (_nothing, (), {}),
]
REFUSED = [
    (_plain, (), {}),
    (_plain, (1, 2, 3, 4), {}),
    (_named, (1,), {}),
    (_named, (), {"one": 1, "other": 2}),
    (_named, (), {"one": 1, "three": 2}),
    (_checked, (-1,), {}),
    (_nothing, (1,), {}),
]


def both(shape):
    return shape(light), shape(dataclass)


@pytest.mark.parametrize(("shape", "given", "named"), MADE)
def test_a_record_is_the_same_either_way(shape, given, named):
    for kind in (light_kind := shape(light)), light_kind:  # the second is made by what the first wrote out
        ours, theirs = kind(*given, **named), shape(dataclass)(*given, **named)
        assert [(f.name, getattr(ours, f.name)) for f in fields(ours)] == [
            (f.name, getattr(theirs, f.name)) for f in fields(theirs)
        ]
        assert repr(ours) == repr(theirs)
        assert is_dataclass(kind)
        assert kind.__match_args__ == type(theirs).__match_args__
        assert ours == kind(*given, **named)
        assert ours != theirs
        assert ours.__eq__(theirs) is NotImplemented
        assert hash(ours) == hash(kind(*given, **named))
        assert hasattr(ours, "__dict__") == hasattr(theirs, "__dict__")


@pytest.mark.parametrize(("shape", "given", "named"), REFUSED)
def test_what_is_refused_is_refused_in_the_same_words(shape, given, named):
    told = []
    for kind in both(shape):
        with pytest.raises((TypeError, ValueError)) as refused:
            kind(*given, **named)
        told.append(str(refused.value).split("__init__")[-1])
    assert told[0] == told[1]


@pytest.mark.parametrize("kind", both(_plain))
def test_nothing_is_changed_afterwards(kind):
    one = kind(1)
    with pytest.raises(FrozenInstanceError):
        one.one = 2
    with pytest.raises(FrozenInstanceError):
        del one.one
    assert replace(one, one=2) == kind(2) != one
    assert {one, kind(1), kind(1, seen=5)} == {one}  # what is not compared does not count


def test_lists_of_their_own_and_what_stands_beneath():
    kind = _named(light)
    one, other = kind(one=1), kind(one=1)
    assert one == other
    assert one.parts is not other.parts
    assert kind.__mro__[1](one=1) != one


def test_a_record_goes_to_another_process_and_back():
    figure = Figure(3, "a book", "published")
    assert pickle.loads(pickle.dumps(figure, pickle.HIGHEST_PROTOCOL)) == figure


def _tuple(made):
    class Named(made):
        """A tuple with names."""

        one: int
        two: str | None = None
        three: tuple[Figure, ...] = ()

        @property
        def both(self):
            return self.one, self.two

    return Named


def test_a_tuple_with_names_is_the_same_either_way():
    ours, theirs = _tuple(LightTuple), _tuple(typing.NamedTuple)
    assert typing.get_type_hints(ours) == typing.get_type_hints(theirs)
    for name in ("_fields", "_field_defaults", "__doc__", "__module__", "__qualname__", "__mro__"):
        assert str(getattr(ours, name)) == str(getattr(theirs, name)), name
    one, other = ours(1, three=(2,)), theirs(1, three=(2,))
    assert one == other == (1, None, (2,))
    assert (repr(one), one.both, one._replace(one=3), ours._make(one)) == (
        repr(other),
        other.both,
        (3, None, (2,)),
        one,
    )
    with pytest.raises(TypeError):
        ours()
    with pytest.raises(AttributeError):
        one.one = 2


def test_names_with_a_default_come_last():
    with pytest.raises(AssertionError):

        class Wrong(LightTuple):
            one: int = 1
            two: int
