"""A healed shoulder is read for a window like any other, and says what it says when read in full."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.clinic.standing.stand import stand
from armrise.store.database.place import Store
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import LOAD_CLASSES, DoneItem
from armrise.store.rules import read as rulefile
from armrise.store.rules.pathway import Rules
from tests.store.drafts import MORNING, TODAY, draft
from tests.store.test_board import on, put

START = -700
"""Day of the operation or injury, counted from today: every template gate is long past."""

PATHWAYS = ("PO", "AD", "FX")
NEVER_FREE = ("FX",)
"""Its last stage still bars a class of work, so that no session is ever without a limit."""


@pytest.fixture(scope="module")
def rules() -> Rules:
    return rulefile.load()


def told(kind: str, day: int, **values: Any) -> Entry:
    """An entry recorded on the day it tells of."""
    values.setdefault("recorded_on", on(day))
    at = {"recorded_at": MORNING + (values["recorded_on"] - TODAY)}
    return draft(kind, on(day), **(at | values))


def stages(rules: Rules, code: str) -> list[Entry]:
    """From the first stage to the last, sixty days each."""
    found: list[Entry] = []
    for at, stage in enumerate(rules.pathways[code].stages):
        direction = "forward" if at else "placing"
        found.append(told("step", START + 60 * at, stage=stage.code, direction=direction))
    return found


def course(rules: Rules, code: str, seed: int, *more: Entry) -> list[Entry]:
    """A shoulder that went through every stage and did what it liked at any time."""
    chance = random.Random(seed)
    made = [told("onset", START, what=rules.pathways[code].clock or "gradual"), *stages(rules, code), *more]
    for day in range(START, 0, chance.choice((2, 3, 5))):
        item = DoneItem(
            exercise="lift",
            load_class=chance.choice(LOAD_CLASSES),
            sets=chance.choice((2, 3, 4)),
            sets_asked=3,
            reps=10,
            load=Decimal(chance.choice((1, 4))),
            combined=chance.random() < 0.2,
        )
        pains = {
            "during": chance.randint(0, 4),
            "later": chance.randint(0, 3),
            "morning": chance.randint(0, 4),
        }
        made.append(told("session", day, items=(item,), sling_off=chance.random() < 0.2, **pains))
    answered = {"plan_corrected": True, "injury_assessed": True}
    made += [told("visit", day, **(answered if day > START + 300 else {})) for day in range(START, 0, 40)]
    return made


def sessions_read(store: Store, rules: Rules) -> tuple[int, date | None]:
    (record,) = caseload.board(store, today=TODAY, rules=rules)
    return len(record.sessions), record.known_from


@pytest.mark.parametrize("code", PATHWAYS)
def test_a_healed_shoulder_is_read_for_a_window(store: Store, rules: Rules, code: str) -> None:
    put(store, "A", course(rules, code, 1), pathway=code, registered_on=on(START))
    everything = len(caseload.case(store, "A").sessions)
    read, known_from = sessions_read(store, rules)
    assert (read < everything, known_from is not None) == ((code not in NEVER_FREE,) * 2)
    assert len(caseload.board(store, today=TODAY)[0].sessions) == everything


@pytest.mark.parametrize("code", PATHWAYS)
@pytest.mark.parametrize(
    "more",
    [
        [("orders", -650, {"lifting_limit": Decimal(2)})],
        [("orders", -650, {"no_resisted_until": TODAY})],
        [("orders", -650, {"stage3_from": TODAY})],
        [("orders", -650, {"recorded_on": TODAY})],
        [("step", -50, {"stage": "{code}2", "direction": "back"})],
        [("onset", -60, {"what": "{clock}"})],
        [("finding", -650, {"name": "large tear or poor tissue", "answer": "yes", "recorded_on": TODAY})],
    ],
    ids=lambda more: f"{more[0][0]} {' '.join(more[0][2])}",
)
def test_while_a_session_can_still_break_a_limit_all_are_read(
    store: Store, rules: Rules, code: str, more: list[tuple[str, int, dict[str, Any]]]
) -> None:
    words = {"{code}2": f"{code}2", "{clock}": rules.pathways[code].clock}
    extra = [
        told(kind, day, **{name: words.get(str(value), value) for name, value in values.items()})
        for kind, day, values in more
    ]
    put(store, "A", course(rules, code, 1, *extra), pathway=code, registered_on=on(START))
    assert sessions_read(store, rules) == (len(caseload.case(store, "A").sessions), None)


def test_the_list_says_of_a_healed_shoulder_what_its_whole_history_says(store: Store, rules: Rules) -> None:
    """Breaches of the protected time stay open, however old; those of the window are found; none is lost."""
    for number in range(24):
        code = PATHWAYS[number % len(PATHWAYS)]
        chance = random.Random(number)
        extra: list[Entry] = []
        if chance.random() < 0.5:
            extra.append(told("orders", START + 20, sling_until=on(START + 200), stage3_from=on(START + 150)))
        if chance.random() < 0.3:
            extra.append(told("in hand", -5, reason="healing limit broken", action="call", until=on(5)))
        made = course(rules, code, number, *extra)
        if chance.random() < 0.5:  # nothing corrected: the old breaches stand
            made = [entry for entry in made if entry.KIND != "visit" or entry.on < on(START + 300)]
        put(store, f"H-{number}", made, pathway=code, registered_on=on(START))
    listed = {standing.code: standing for standing in caseload.standings(store, rules, TODAY)}
    assert len(listed) == 24
    assert 0 < sum(reason.code == "LIM" for s in listed.values() for reason in s.reasons) < 24
    for code, standing in listed.items():
        assert standing == stand(caseload.case(store, code), rules, TODAY), code


@pytest.mark.parametrize("code", ["RC", "FS", "AD"])
def test_surgery_before_the_case_is_placed_anew_is_read_from_the_first(
    store: Store, rules: Rules, code: str
) -> None:
    """Its limits hold from the operation on, whatever the pathway; a breach long before the window counts."""
    made = course(rules, code, 3, told("onset", -330, what="surgery", operation="cuff repair"))
    made = [
        entry for entry in made if entry.KIND != "visit" or entry.on < on(-330)
    ]  # nobody has corrected it
    put(store, "A", made, pathway=code, registered_on=on(START))
    assert sessions_read(store, rules)[1] is None
    assert caseload.board(store, today=TODAY)[0].known_from is None
    (standing,) = caseload.standings(store, rules, TODAY)
    assert standing == stand(caseload.case(store, "A"), rules, TODAY)
    assert any(reason.code == "LIM" for reason in standing.reasons)


def test_a_case_that_left_a_healing_pathway_is_read_for_a_window(store: Store, rules: Rules) -> None:
    made = course(rules, "PO", 1, told("step", -300, stage="FS1", direction="back"))
    put(store, "A", made, pathway="PO", registered_on=on(START))
    assert sessions_read(store, rules)[1] is not None
    (standing,) = caseload.standings(store, rules, TODAY)
    assert standing == stand(caseload.case(store, "A"), rules, TODAY)
