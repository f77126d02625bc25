"""What a file brings is answered only by what was recorded here after it came, or came with it.

Whoever wrote something down here before could not see it (ruling 4: an answer has to know what it answers),
whatever instant the entry was recorded at where it comes from.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from armrise.store.clinic.standing.stand import stand
from armrise.store.record.case import Came, CaseRecord
from tests.clinic.build import TODAY, Builder, case, rules
from tests.clinic.build_more import ready_po3

AT = datetime(2026, 3, 1, 12, tzinfo=UTC)
MASS = "mass, cancer history, weight loss or unrelenting night pain"
HERE, THERE, AGAIN = -4, -6, -1
"""Days: somebody acted here, the trouble was told elsewhere before that, somebody acts after it came."""

Part = Callable[[Builder, int], object]


def rc2() -> Builder:
    return case("RC2", day=30, last_visit=20)


def po2() -> Builder:
    return case("PO2", day=19, onset=33)


WAYS: dict[str, tuple[Callable[[], Builder], Part, Part, str]] = {
    "a fall, by the visit that assesses it": (
        rc2,
        lambda made, day: made.event(day),
        lambda made, day: made.visit(day, 21, injury_assessed=True),
        "INJ",
    ),
    "a red flag, by its outcome": (
        rc2,
        lambda made, day: made.screen(day, MASS, "yes"),
        lambda made, day: made.flag_outcome(day, MASS),
        "RED",
    ),
    "something new that nobody named, by an event": (
        rc2,
        lambda made, day: made.contact(day, anything_new="yes"),
        lambda made, day: made.event(day),
        "RED",
    ),
    "a message, by a call": (
        rc2,
        lambda made, day: made.contact(day, "message received"),
        lambda made, day: made.contact(day),
        "MSU",
    ),
    "a limit broken, by a corrected plan": (
        po2,
        lambda made, day: made.session(day, 1, 1, None, R1=(3, 10)),
        lambda made, day: made.contact(day, plan_corrected=True),
        "LIM",
    ),
    "a finding, by a referral": (
        lambda: ready_po3(flexion=None).measure(-8, "active_flexion", 130),
        lambda made, day: made.finding(day, "can lift to 90 degrees", "no"),
        lambda made, day: made.referral(day, about="image cuff"),
        "FND",
    ),
    "a flare as told, by a decision": (
        lambda: case("RC2", day=40, last_visit=30),
        lambda made, day: made.summary(day, day - 14, "11/14 4 3 4 w s"),
        lambda made, day: made.decision(day, "flare"),
        "FLA",
    ),
    "a flare as told, by a visit": (
        lambda: case("RC2", day=40, last_visit=30),
        lambda made, day: made.summary(day, day - 14, "11/14 4 3 4 w s"),
        lambda made, day: made.visit(day, 21),
        "FLA",
    ),
    "a score got worse, by a visit that decides": (
        lambda: case("RC2", day=60, last_visit=50).score(-50, "SPADI", 40),
        lambda made, day: made.score(day, "SPADI", 70),
        lambda made, day: made.visit(day, 21, decision=True),
        "WRS",
    ),
    "a fall, by an answer that puts it in hand": (
        rc2,
        lambda made, day: made.event(day),
        lambda made, day: made.in_hand(day, "INJ", 3),
        "INJ",
    ),
}


def of(way: str, *days: int) -> tuple[CaseRecord, int]:
    """The case with what was done here, then what came, then what was done on each of ``days``."""
    build, trouble, answer, _ = WAYS[way]
    made = build()
    answer(made, HERE)
    trouble(made, THERE)
    came = len(made.entries)
    for day in days:
        answer(made, day)
    return made.record(), came


def came(record: CaseRecord, first: int, last: int) -> CaseRecord:
    return replace(record, came=(Came(1, 1, AT - timedelta(days=400)), Came(first, last, AT)))


def live(record: CaseRecord, code: str) -> bool:
    """Whether the reason is live and not in hand."""
    found = [r for r in stand(record, rules(), TODAY).reasons if r.code == code]
    return any(r.in_hand_until is None for r in found)


@pytest.mark.parametrize("way", WAYS)
def test_what_was_done_here_before_it_came_answers_nothing(way: str) -> None:
    code = WAYS[way][-1]
    record, entry = of(way)
    assert not live(record, code), "recorded here, it would be answered"
    assert live(came(record, entry, entry), code)
    record, entry = of(way, AGAIN)
    assert not live(came(record, entry, entry), code), "what is recorded after it came answers it"


@pytest.mark.parametrize("way", WAYS)
def test_what_one_file_brings_is_answered_as_it_was_there(way: str) -> None:
    record, entry = of(way)
    assert not live(came(record, entry - 1, entry), WAYS[way][-1])
