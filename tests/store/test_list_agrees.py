"""The list reads a window of a long history; what it says must be what the whole history says.

Random histories (fixed seeds, so that a failure comes back) of every pathway, through a real store: the
standing of the list against the standing of the case read in full.
"""

from __future__ import annotations

import random
from datetime import timedelta

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.clinic.standing.stand import stand
from armrise.store.database.place import Store
from tests.clinic.build import ONSET_OF, TODAY, Builder, case, item, rules
from tests.store.test_board import put

CLASSES = ("P0", "P1", "A1", "A2", "I1", "R1", "R2", "S1", "W2")


def walk(made: Builder, rng: random.Random, stages: list[str], start: int) -> None:
    """Steps forward and back from ``start`` days ago."""
    day, at = start, 0
    while day > 5 and rng.random() < 0.8:
        day -= rng.randint(5, 60)
        way = -1 if at and rng.random() < 0.25 else 1
        if day >= 0 and 0 <= at + way < len(stages):
            at += way
            made.step(-day, stages[at], "forward" if way > 0 else "back")


def check_ins(made: Builder, rng: random.Random, start: int) -> None:
    """Sessions and mornings with a pain that wanders, gaps, flares, late entries and stray classes."""
    pain, density, silent = rng.randint(0, 4), rng.choice([0.15, 0.4, 0.9]), rng.randint(0, start)
    for day in range(-start, 1):
        if rng.random() < 0.06:
            pain = max(0, min(10, pain + rng.choice([-1, 1, 1])))
        if rng.random() > density or -silent <= day < -silent + 30:
            continue
        morning = max(0, min(10, pain + rng.choice([0, 0, 0, 1, -1, 3])))
        if rng.random() < 0.6:
            stray = item(rng.choice(CLASSES), 3, 10) if rng.random() < 0.1 else item("P1", 3, 10)
            during = rng.choice([2, 3, 3, 4, 5, 7, None])
            made.session(day, during, 2, morning if day < 0 else None, stray)
        else:
            made.morning(day, morning, recorded=min(0, day + rng.choice([0, 0, 0, 6])))


def weeks_as_told(made: Builder, rng: random.Random, start: int) -> None:
    """A programme, and periods told of the time up to today, none of them sharing a day."""
    made.programme(-start, "P1", per_week=rng.choice([2, 7, 21]))
    end = -rng.randint(0, 25)
    while end > -start and rng.random() < 0.8:
        since = end - rng.randint(5, 28)
        mornings, settled = rng.choice([0, 0, 1, 2, 4]), rng.choice("sn.")
        made.summary(end, since, f"{rng.randint(1, 5)}/5 {rng.randint(1, 5)} 2 {mornings} w {settled}")
        end = since - rng.randint(0, 10)


def random_case(seed: int) -> Builder:
    """A case of any pathway with a long, untidy history."""
    rng = random.Random(seed)
    pathway = rng.choice(sorted(rules().pathways))
    stages = [stage.code for stage in rules().pathways[pathway].stages]
    start = rng.randint(60, 400)
    onset = {"onset": start + rng.randint(0, 5)} if pathway in ONSET_OF else {}
    made = case(stages[0], day=start, last_visit=rng.randint(1, 30), **onset)
    walk(made, rng, stages, start)
    check_ins(made, rng, start)
    for _ in range(rng.randint(0, 4)):
        made.measure(-rng.randint(0, start), "night_waking", rng.randint(0, 7))
        made.measure(-rng.randint(0, start), "passive_external_rotation", rng.randint(20, 70))
    if rng.random() < 0.4:
        weeks_as_told(made, rng, start)
    if rng.random() < 0.3:
        made.contact(-rng.randint(0, 20), load_cut=True, plan_corrected=rng.random() < 0.5)
    if pathway == "PO" and rng.random() < 0.4:
        made.orders(-rng.randint(0, start), no_active_until=-rng.randint(0, start))
    return made


@pytest.mark.parametrize("seed", range(8))
def test_the_list_says_what_the_whole_history_says(store: Store, seed: int) -> None:
    """Fifteen random cases in one store: every standing equal, reasons, days open and verdict included."""
    for number in range(15):
        made = random_case(seed * 1000 + number)
        start = min(e.on for e in made.entries) - timedelta(days=1)
        put(store, f"C-{number:02}", made.entries, registered_on=start, pathway=made.head["pathway"])
    with store.several_readings():
        listed = {s.code: s for s in caseload.standings(store, rules(), TODAY)}
        for code in caseload.codes(store):
            full = stand(caseload.case(store, code), rules(), TODAY)
            if code in listed:
                assert listed[code] == full, code


def test_the_list_sees_what_was_told_after_a_discharge_of_long_ago(store: Store) -> None:
    """Discharged 200 days ago, told 150 days ago of a session of before it: still unanswered (ruling 58)."""
    made = case("RC2", day=320, last_visit=210).discharge(-200, letter=False)
    made.session(-230, 3, 2, None, recorded=-150)
    put(store, "C-01", made.entries, registered_on=min(e.on for e in made.entries))
    (listed,) = caseload.standings(store, rules(), TODAY)
    assert [(r.code, r.days_open) for r in listed.reasons] == [("MSG", 150)]


def test_the_list_sees_a_warning_word_of_long_ago_that_nobody_answered(store: Store) -> None:
    """A note of 150 days ago, outside the window of sessions, and no visit or call since (ruling 84)."""
    made = case("RC2", day=320, last_visit=210)
    made.session(-150, 3, 2, None, note="fingers numb", source="patient reported")
    put(store, "C-01", made.entries, registered_on=min(e.on for e in made.entries))
    (listed,) = caseload.standings(store, rules(), TODAY)
    assert [(r.code, r.days_open) for r in listed.reasons if r.code == "MSU"] == [("MSU", 150)]
    assert listed == stand(caseload.case(store, "C-01"), rules(), TODAY)
