"""The dataclass of the record beside the standard library's.

What it has to do is said at https://docs.python.org/3/library/dataclasses.html.
"""

from __future__ import annotations

import copy
import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import field, fields, is_dataclass, replace
from pathlib import Path
from typing import Any, ClassVar

import pytest

from armrise.store.record.light import dataclass

ROOT = Path(__file__).parents[2]


def classes(make: Callable[..., Any]) -> dict[str, Any]:
    """The same classes, made by one decorator or the other."""

    @make(frozen=True, slots=True)
    class Plain:
        """Some values."""

        number: int
        word: str = "none"
        told: list[int] = field(default_factory=lambda: [])
        hidden: str = field(default="", repr=False, compare=False)
        SHARED: ClassVar[int] = 3

    @make(frozen=True, slots=True, kw_only=True)
    class Named:
        """Given by name alone."""

        first: int = 1
        second: int

    @make(frozen=True, slots=True)
    class One:
        """One value."""

        only: int

    @make(frozen=True)
    class Under(One):
        """With one more, and worked out."""

        more: int = 2
        both: int = field(init=False)

        def __post_init__(self) -> None:
            object.__setattr__(self, "both", self.only + self.more)

    @make(frozen=True, eq=False)
    class Itself:
        """Equal to itself alone."""

        number: int = 1

    @make(frozen=True)
    class Own:
        """With words and equality of its own."""

        number: int

        def __repr__(self) -> str:
            return "own"

        def __eq__(self, other: object) -> bool:
            return isinstance(other, type(self))

        __hash__ = None  # pyright: ignore[reportAssignmentType]

    @make
    class Changing:
        """May change."""

        number: int = 1
        inner: list[int] = field(init=False, default_factory=lambda: [1])

    @make(slots=True)
    class Empty:
        """Nothing."""

    return {name: made for name, made in locals().items() if isinstance(made, type)}


OURS, LIBRARY = classes(dataclass), classes(dataclasses.dataclass)
GIVEN: list[tuple[str, tuple[Any, ...], dict[str, Any]]] = [
    ("Plain", (1,), {}),
    ("Plain", (1, "b", [2]), {"hidden": "h"}),
    ("Plain", (1, "b", [2], "h"), {}),
    ("Plain", (), {}),
    ("Plain", (1,), {"number": 2}),
    ("Plain", (1, 2, 3, 4, 5), {}),
    ("Plain", (1,), {"nothing": 1}),
    ("Named", (), {"second": 2}),
    ("Named", (), {"first": 3, "second": 2}),
    ("Named", (1, 2), {}),
    ("Named", (), {}),
    ("One", (1,), {}),
    ("Under", (1,), {}),
    ("Under", (1, 5), {}),
    ("Under", (1, 5, 6), {}),
    ("Itself", (), {}),
    ("Own", (1,), {}),
    ("Changing", (2,), {}),
    ("Changing", (2, 3), {}),
    ("Empty", (), {}),
]


def outcome(does: Callable[[], Any]) -> Any:
    try:
        return does()
    except Exception as fault:
        return type(fault), str(fault).replace("<locals>.", "")


def observed(of: type, given: tuple[Any, ...], named: dict[str, Any]) -> list[Any]:
    """What can be seen of an object that was made with these values, or of the refusal."""
    made = outcome(lambda: of(*given, **named))
    if isinstance(made, tuple):
        return [made]
    again = of(*given, **named)
    first: str = next((f.name for f in fields(of)), "number")
    return [
        repr(made),
        made == made,
        made == again,
        made != again,
        made == 1,
        outcome(lambda: hash(made) == hash(again)),
        [(f.name, getattr(made, f.name), f.kw_only, f.repr, f.compare) for f in fields(of)],
        outcome(lambda: dataclasses.astuple(made)),
        outcome(lambda: setattr(made, first, 9)),
        outcome(lambda: delattr(made, first)),
        outcome(lambda: repr(replace(again, **{first: 7}))),
        outcome(lambda: repr(copy.copy(again)) == repr(copy.deepcopy(again)) == repr(again)),
        (is_dataclass(made), of.__doc__, getattr(of, "__slots__", None), getattr(of, "__match_args__", ())),
    ]


@pytest.mark.parametrize(("name", "given", "named"), GIVEN)
def test_whatever_can_be_seen_is_as_the_library_has_it(
    name: str, given: tuple[Any, ...], named: dict[str, Any]
) -> None:
    assert observed(OURS[name], given, named) == observed(LIBRARY[name], given, named)


def test_equal_values_are_equal_and_others_are_not() -> None:
    one, under = OURS["One"], OURS["Under"]
    assert (one(1) == one(1), one(1) == one(2), one(1) == under(1)) == (True, False, False)
    assert {one(1): "a"}[one(1)] == "a"
    made = OURS["Plain"]
    assert made(1, hidden="a") == made(1, hidden="b")
    assert made(1) != made(2)


def test_nothing_is_put_beside_the_fields_of_what_does_not_change() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        OURS["Plain"](1).unknown = 2


def test_each_object_has_its_own_default() -> None:
    made = OURS["Changing"]
    assert made().inner is not made().inner


@dataclass(frozen=True, slots=True)
class Sent:
    """At the top of a module, where it can be found again."""

    number: int
    words: tuple[str, ...] = ()


def test_what_is_pickled_comes_back() -> None:
    there = Sent(3, ("a", "b"))
    for protocol in range(2, pickle.HIGHEST_PROTOCOL + 1):
        assert pickle.loads(pickle.dumps(there, protocol)) == there


def test_a_value_is_matched_by_its_place() -> None:
    match Sent(3):
        case Sent(number, words):
            assert (number, words) == (3, ())


def test_every_class_of_the_program_is_made_so() -> None:
    """Save in the room beneath the record, which knows no record."""
    late = [
        str(path.relative_to(ROOT))
        for room in ("store", "tui")
        for path in (ROOT / room).rglob("*.py")
        if "from dataclasses import dataclass" in path.read_text(encoding="utf-8")
    ]
    assert [name for name in late if not name.startswith("store/files/")] == ["store/record/light.py"]
