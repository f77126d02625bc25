"""What is kept comes back as it was: every standing of the demonstration, and any other frozen record."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Any, NamedTuple, get_type_hints

import pytest

from armrise.store.caseload.read import standings
from armrise.store.clinic.case.standing import Standing
from armrise.store.database.place import Store
from armrise.store.kept import codec as codecs
from armrise.store.kept.codec import Codec, NotCarried
from armrise.store.kept.kept import SHARED
from tests.clinic.build import rules

TODAY = date(2026, 3, 2)


def through_a_file(values: list[Any], kind: type[Any]) -> list[Any]:
    """What another process reads of what this one wrote."""
    writing, reading = Codec(SHARED), Codec(SHARED)
    texts = [writing.written(value) for value in values]
    for shared in SHARED:
        for text in writing.parts.values():
            reading.take(shared, text)
    return [reading.read(kind, text) for text in texts]


@pytest.mark.parametrize("days", [-40, -13, -1, 0, 1, 5, 60])
def test_every_standing_of_the_demonstration_comes_back(demo: Store, days: int) -> None:
    listed = standings(demo, rules(), TODAY + timedelta(days=days))
    assert len(listed) > 20
    assert through_a_file(listed, Standing) == listed


def test_a_text_is_json_of_plain_values_alone(demo: Store) -> None:
    """Reading it can run nothing: there are arrays, texts, numbers, true, false and null in it."""
    writing = Codec(SHARED)
    texts = [writing.written(standing) for standing in standings(demo, rules(), TODAY)]

    def kinds(value: Any) -> set[type]:
        inner = value if isinstance(value, list) else []
        return {type(value)}.union(*map(kinds, inner))

    found = set[type]().union(*(kinds(json.loads(text)) for text in (*texts, *writing.parts.values())))
    assert found <= {list, str, int, float, bool, type(None)}


def test_a_new_field_of_a_standing_is_carried_without_a_word_here(demo: Store) -> None:
    """A field is added to the class as it is, with types that a standing has and some that it has not."""

    more: dict[str, Any] = {
        "seen": tuple[tuple[date, int | None], ...],
        "at": datetime | None,
        "ratio": float,
    }
    wider = NamedTuple("Wider", list((get_type_hints(Standing) | more).items()))
    old = standings(demo, rules(), TODAY)[0]
    one = wider(*old, ((TODAY, 3), (TODAY, None)), datetime(2026, 3, 2, 8, tzinfo=UTC), 0.1)
    assert through_a_file([one], wider) == [one]


class Word(StrEnum):
    A = "a"
    B = "b"


class Pair(NamedTuple):
    first: int
    last: date


@dataclass(frozen=True, kw_only=True)
class Inner:
    word: Word
    children: tuple[Inner, ...] = ()


@dataclass(frozen=True)
class Outer:
    pair: Pair
    told: int | Word | None
    pairs: tuple[Pair, ...]
    placed: tuple[str, date, bool]
    inner: Inner | None = None
    held: tuple[tuple[int, ...], ...] = ()


@pytest.mark.parametrize(
    "value",
    [
        Outer(Pair(1, TODAY), 4, (), ("x", TODAY, True)),
        Outer(Pair(1, TODAY), Word.A, (Pair(2, TODAY),), ("", TODAY, False), Inner(word=Word.B)),
        Outer(Pair(-1, TODAY), None, (), ('"é\u2028', TODAY, True), None, ((), (1, 2))),
        Outer(
            Pair(0, TODAY),
            0,
            (),
            ("0", TODAY, False),
            Inner(word=Word.A, children=(Inner(word=Word.B), Inner(word=Word.A))),
        ),
    ],
    ids=str,
)
def test_any_frozen_dataclass_comes_back(value: Outer) -> None:
    assert through_a_file([value], Outer) == [value]
    assert type(through_a_file([value], Outer)[0].told) is type(value.told)


@dataclass(frozen=True)
class LooksAlike:
    told: str | Word


@dataclass(frozen=True)
class Unknown:
    told: set[int]


@pytest.mark.parametrize(("kind", "value"), [(LooksAlike, LooksAlike(Word.A)), (Unknown, Unknown({1}))])
def test_what_would_not_come_back_is_refused_when_it_is_written(kind: type[Any], value: Any) -> None:
    with pytest.raises(NotCarried):
        Codec().written(value)
    with pytest.raises(NotCarried):
        Codec().read(kind, "[1]")


@pytest.mark.parametrize("text", ["", "[", "null", "[]", "[1]", '["a","b"]', '{"a":1}', "[[1],[2],[3],[4]]"])
def test_any_other_text_is_an_error_and_no_value(text: str) -> None:
    with pytest.raises((ValueError, TypeError, LookupError)):
        Codec().read(Outer, text)


def test_what_is_shared_is_written_once_and_is_one_object(demo: Store) -> None:
    listed = standings(demo, rules(), TODAY)
    found = [reason.do for one in through_a_file(listed, Standing) for reason in one.reasons if reason.do]
    assert len({id(do) for do in found}) == len(set(found)) < len(found)


def test_a_reference_to_what_was_not_taken_is_an_error(demo: Store) -> None:
    one = next(one for one in standings(demo, rules(), TODAY) if one.reasons)
    text = Codec(SHARED).written(one)
    with pytest.raises(LookupError):
        Codec(SHARED).read(Standing, text)


def test_a_digest_names_one_text() -> None:
    assert codecs.digest("a") == codecs.digest("a") != codecs.digest("a ")
