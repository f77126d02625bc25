"""What an entry may hold: each refusal with its sentence, and what has to be let through."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from armrise.store.entries.build import build
from armrise.store.entries.check import check_case
from armrise.store.entries.words import CaseHead
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure, Score
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.safety import NOT_NAMED, RETIRED_SCREEN_ITEMS, SCREEN_ITEMS
from armrise.store.rules.read import load

TODAY = date(2026, 3, 2)
LONDON = ZoneInfo("Europe/London")
RULES = load()
HOT = SCREEN_ITEMS[0]


def made(kind: str, on: Any = 0, **raw: Any) -> Entry:
    entry, faults = build(kind, {"on": on, **raw}, case="C-1", label="entry 1", base=TODAY, zone=LONDON)
    assert faults == []
    assert entry is not None
    return entry


def refused(kind: str, raw: dict[str, Any]) -> list[str]:
    entry, faults = build(kind, raw, case="C-1", label="entry 4", base=TODAY, zone=LONDON)
    assert entry is None
    return [str(fault) for fault in faults]


def the_one(sentences: list[str]) -> str:
    assert len(sentences) == 1, sentences
    return sentences[0]


# one entry


def test_an_entry_is_built_with_its_dates_and_defaults():
    entry = made("visit", "2026-02-27", author="TK", interval=14)
    assert isinstance(entry, Visit)
    assert (entry.on, entry.recorded_on, entry.interval, entry.mode) == (
        date(2026, 2, 27),
        date(2026, 2, 27),
        14,
        "in person",
    )
    assert entry.recorded_at == datetime(2026, 2, 27, 18, tzinfo=LONDON)


def test_a_session_with_its_next_morning_is_recorded_the_day_after():
    assert made("session", -3, morning=2).recorded_on == TODAY - timedelta(days=2)
    assert made("session", -3, morning="not asked").recorded_on == TODAY - timedelta(days=3)
    assert made("session", -3, during=0).recorded_on == TODAY - timedelta(days=3)


def test_zero_and_the_four_absences_are_five_different_values():
    # practice note, 6.1: four distinct values, none equal to 0 or "no"
    words = ("not measured", "not asked", "declined", "prohibited")
    found = [made("session", -3, during=word).during for word in words]  # type: ignore[attr-defined]
    assert found == list(Absence)
    zero = made("session", -3, during=0)
    assert isinstance(zero, Session)
    assert zero.during == 0
    assert zero.during not in found


def test_decimals_keep_what_was_written_and_lose_what_says_nothing():
    value = made("measure", name="external_rotation_strength", value=Decimal("12.50"), unit="kg")
    assert isinstance(value, Measure)
    assert str(value.value) == "12.50"
    round_hundred = made("score", instrument="SPADI", total=Decimal("1E+2"))
    assert isinstance(round_hundred, Score)
    assert str(round_hundred.total) == "100"


@pytest.mark.parametrize(
    ("kind", "raw", "sentence"),
    [
        (
            "sesion",
            {"on": 0},
            'case C-1, entry 4, kind: "sesion" is no kind of entry, did you mean "session"',
        ),
        (
            "session",
            {"on": -2, "durin": 3},
            "case C-1, entry 4 (session of 2026-02-28), durin: "
            '"durin" is no field of a session, did you mean "during"',
        ),
        ("morning", {"on": -2}, "pain: is missing, needed is a whole number from 0 to 10, or one of"),
        ("visit", {}, "case C-1, entry 4 (visit), on: is missing, needed is an ISO date"),
        (
            "session",
            {"on": -2, "during": 11},
            "during: 11 is out of range, allowed is a whole number from 0 to 10",
        ),
        ("session", {"on": -2, "during": -1}, "during: -1 is out of range"),
        ("session", {"on": -2, "during": Decimal("3.5")}, "during: 3.5 is no whole number"),
        ("session", {"on": -2, "during": "3"}, 'during: "3" is no number'),
        ("session", {"on": -2, "during": True}, "during: true is no number"),
        ("session", {"on": -2, "during": [3]}, "during: a list is no number"),
        ("session", {"on": -2, "during": None}, "during: null says nothing, leave the field out or state it"),
        ("session", {"on": -2, "during": "unknown"}, 'during: "unknown" is no number, allowed is'),
        ("session", {"on": -2, "sling_off": 1}, "sling_off: 1 is neither true nor false"),
        ("session", {"on": -2, "ordinal": "declined"}, 'ordinal: "declined" is not allowed here'),
        (
            "measure",
            {"on": -2, "name": "abduction_strength", "value": Decimal("1.234")},
            "value: 1.234 has too many decimals, allowed is a number from -20 to 200 with at most 2 decimals",
        ),
        (
            "measure",
            {"on": -2, "name": "shrug", "value": 1},
            'name: "shrug" is not allowed, allowed is one of "worst_',
        ),
        ("measure", {"on": -2, "name": "night_pain", "value": Decimal("NaN")}, "value: NaN is no number"),
        ("visit", {"on": "2026-02-30"}, 'on: "2026-02-30" is no day of the calendar'),
        ("visit", {"on": "2025-02-29"}, 'on: "2025-02-29" is no day of the calendar'),
        ("visit", {"on": "20260227"}, 'on: "20260227" is no date, allowed is an ISO date such as 2026-02-27'),
        ("visit", {"on": "0026-02-27"}, 'on: "0026-02-27" is outside the years 1900 to 2199'),
        ("visit", {"on": True}, "on: true is no date"),
        ("visit", {"on": Decimal("1.5")}, "on: 1.5 is no date"),
        ("visit", {"on": 10**9}, "on: 1000000000 days from the clinic date is beyond 60000 days"),
        ("visit", {"on": 0, "note": "a\nb"}, 'note: "a<U+000A>b" holds the control character U+000A'),
        ("visit", {"on": 0, "note": "x" * 201}, "has 201 characters, allowed is text of 1 to 200 characters"),
        ("visit", {"on": 0, "note": "  "}, "has 0 characters"),
        ("visit", {"on": 0, "note": 7}, "note: 7 is no text"),
        ("visit", {"on": 0, "source": "the wife"}, 'source: "the wife" is not allowed, allowed is one of'),
        ("visit", {"on": 0, "recorded": "2026-03-02T10:00:00"}, "has no offset, needed is one such as"),
        ("visit", {"on": 0, "recorded": "noon"}, 'recorded: "noon" is neither a date nor an instant'),
        ("visit", {"on": 0, "recorded": "2026-03-02T10:00:00+23:00"}, "an offset that no clock on earth has"),
        (
            "override",
            {"on": 0, "against": "READY", "category": "other", "reason": "too short"},
            "has 9 characters, allowed is text of 10 to 200 characters",
        ),
        ("session", {"on": -2, "items": {}}, "items: an object is no list"),
        (
            "session",
            {"on": -2, "items": ["rowing"]},
            'items 1: "rowing" is no object with the fields of an item',
        ),
        (
            "session",
            {"on": -2, "items": [{"exercise": "row", "load_class": "R9"}]},
            'items 1 load_class: "R9" is not allowed, allowed is one of "P0", "P1"',
        ),
        (
            "session",
            {"on": -2, "items": [{"exercise": "row", "load_class": "R1", "lode": 2}]},
            'items 1 lode: "lode" is no field of an item, did you mean "load"',
        ),
    ],
)
def test_a_value_that_is_not_allowed_is_refused_in_one_sentence(
    kind: str, raw: dict[str, Any], sentence: str
):
    found = the_one(refused(kind, raw))
    assert sentence in found
    assert found.startswith("case C-1, entry 4")
    assert found.endswith(".")
    assert "\n" not in found


@pytest.mark.parametrize("answer", ["no", "not asked", "declined"])
def test_only_a_yes_has_a_severity(answer: str):
    raw = {"on": -2, "item": HOT, "answer": answer, "severity": 3}
    say = f'severity: 3 stands beside the answer "{answer}", allowed only beside "yes".'
    assert the_one(refused("screen", raw)).endswith(say)
    assert made("screen", -2, item=HOT, answer="yes", severity=3)
    assert made("screen", -2, item=HOT, answer=answer)


@pytest.mark.parametrize("outcome", ["no answer", "wrong number", "message left", "message received"])
@pytest.mark.parametrize("field", ["load_cut", "plan_corrected"])
def test_nothing_is_agreed_with_a_patient_nobody_spoke_with(outcome: str, field: str):
    # ruling 38: load cut in a contact with the patient
    say = f'{field}: true stands beside the outcome "{outcome}", allowed only beside '
    say += '"spoke" or "message answered".'
    assert the_one(refused("contact", {"on": -2, "outcome": outcome, field: True})).endswith(say)
    assert made("contact", -2, outcome=outcome, **{field: False})
    assert made("contact", -2, outcome="spoke", **{field: True})
    assert made("contact", -2, outcome="message answered", **{field: True})
    # The surgeon was told, whoever did not answer.
    assert made("contact", -2, outcome=outcome, surgeon_told=True)


def test_an_answer_that_is_refused_is_the_only_fault():
    raw = {"on": -2, "item": HOT, "answer": "maybe", "severity": 3}
    assert 'answer: "maybe" is not allowed' in the_one(refused("screen", raw))


def test_an_exercise_of_which_no_set_was_done_is_taken():
    # practice note, 6.1: zero is a number and not an absence
    session = made("session", -2, items=[{"exercise": "row", "load_class": "R1", "sets": 0, "sets_asked": 3}])
    assert isinstance(session, Session)
    assert session.items[0].sets == 0


def test_every_fault_of_an_entry_is_found_at_once():
    raw = {"on": "yesterday", "during": 12, "later": "x", "colour": 1, "items": [{"sets": 99}]}
    found = refused("session", raw)
    assert len(found) == 7
    for name in ("on:", "colour:", "during:", "later:", "exercise:", "load_class:", "sets:"):
        assert any(name in sentence for sentence in found), name


def test_an_instant_is_dated_by_the_clinics_clock():
    # half past midnight in Berlin is still the evening before in London
    late = datetime(2026, 3, 2, 0, 30, tzinfo=timezone(timedelta(hours=1)))
    assert made("visit", -1, recorded=late).recorded_on == date(2026, 3, 1)
    assert made("visit", -1, recorded=late.isoformat()).recorded_at == late


# entries of a case together


def head(pathway: str = "RC", registered: int = -60) -> CaseHead:
    return CaseHead(
        code="C-1",
        person="P-1",
        side="LEFT",
        pathway=pathway,
        registered_on=TODAY + timedelta(days=registered),
    )


def faults(*entries: Entry, pathway: str = "RC", registered: int = -60, **more: Any) -> list[str]:
    found = check_case(head(pathway, registered), entries, today=TODAY, rules=RULES, **more)
    return [str(fault) for fault in found]


def placed(stage: str = "RC2", on: int = -50) -> Entry:
    return made("step", on, stage=stage, direction="placing")


def test_an_ordinary_case_has_no_fault():
    assert (
        faults(
            made("onset", -90, what="gradual"),
            made("visit", -50, interval=21),
            placed("RC1"),
            made("step", -20, stage="RC2", direction="forward"),
            made("step", -10, stage="RC1", direction="back"),
            made("appointment", -5, booked_for=9),
            made("session", -1, during=1, later=1, morning=1),
            made("hold", 0, until=9, reason="holiday"),
        )
        == []
    )


def test_future_observations_are_refused_and_bookings_are_not():
    # practice note, 4.13 case 9
    say = "on: 2026-03-03 is after the clinic date 2026-03-02, what happened cannot lie ahead"
    assert say in the_one(faults(made("visit", 1)))
    assert faults(made("visit", 0)) == []
    assert faults(made("appointment", 0, booked_for=30)) == []
    assert "on: 2026-03-09" in the_one(faults(made("onset", 7, what="surgery"), pathway="PO"))


def test_recorded_before_it_happened_or_in_the_future_is_refused():
    assert "recorded: 2026-02-28 is before it could be known, on 2026-03-01" in the_one(
        faults(made("visit", -1, recorded=-2))
    )
    assert "recorded: 2026-03-03 is after the clinic date" in the_one(faults(made("visit", -1, recorded=1)))
    assert "is before it could be known, on 2026-03-01" in the_one(
        faults(made("session", -2, morning=3, recorded=-2))
    )
    assert "the next morning, 2026-03-03, is after the clinic date" in the_one(
        faults(made("session", 0, morning=3))
    )
    assert faults(made("session", 0, during=3)) == []


def test_a_date_before_the_episode_needs_to_be_marked_as_history():
    # practice note, 4.13 case 10
    say = "on: 2025-12-31 is before the episode began on 2026-01-01, allowed only with history true"
    assert say in the_one(faults(made("measure", -61, name="night_pain", value=4)))
    assert faults(made("measure", -61, name="night_pain", value=4, history=True)) == []
    assert faults(made("measure", -60, name="night_pain", value=4)) == []
    assert faults(made("onset", -61, what="gradual"), made("measure", -61, name="night_pain", value=4)) == []
    assert faults(made("orders", -61, surgeon="AB"), pathway="PO") == []
    letter = {"item": HOT, "answer": "no", "source": "referral letter"}
    assert faults(made("screen", -61, **letter)) == []
    assert "before the episode" in the_one(faults(made("screen", -61, item=HOT, answer="no")))


@pytest.mark.parametrize(
    ("name", "value", "allowed"),
    [
        # practice note, 3.0: the range of each measure
        ("active_flexion", 181, "0 to 180"),
        ("active_flexion", -1, "0 to 180"),
        ("passive_external_rotation", 111, "-20 to 110"),
        ("active_abduction", 200, "0 to 180"),
        ("passive_abduction", 121, "0 to 120"),
        ("hand_behind_back", 20, "0 to 19"),
        ("night_waking", 8, "0 to 7"),
        ("worst_pain", 11, "0 to 10"),
        ("night_pain", Decimal("3.5"), "no whole number"),
        ("night_waking", Decimal("2.5"), "no whole number"),
    ],
)
def test_a_measure_outside_its_range_is_refused(name: str, value: Any, allowed: str):
    assert allowed in the_one(faults(made("measure", 0, name=name, value=value)))


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # practice note, 3.0
        ("active_flexion", 0, 180),
        ("passive_external_rotation", -20, 110),
        ("passive_abduction", 0, 120),
        ("night_waking", 0, 7),
        ("worst_pain", 0, 10),
    ],
)
def test_a_measure_at_either_end_of_its_range_stands(name: str, low: int, high: int):
    assert faults(made("measure", 0, name=name, value=low), made("measure", 0, name=name, value=high)) == []


@pytest.mark.parametrize(
    ("instrument", "total", "allowed"),
    [
        # practice note, 3.0: PSFS 0-10, SPADI and QuickDASH 0-100, OSS and OSIS 0-48
        ("SPADI", 101, "0 to 100"),
        ("QuickDASH", Decimal("100.5"), "0 to 100"),
        ("OSS", 49, "0 to 48"),
        ("OSIS", 60, "0 to 48"),
        ("PSFS", Decimal("10.5"), "0 to 10"),
        ("GROC", 8, "-7 to 7"),
        ("GROC", -8, "-7 to 7"),
        ("NRS", 11, "0 to 10"),
        ("NRS", Decimal("4.5"), "no whole number"),
        ("SPADI", -1, "0 to 100"),
    ],
)
def test_an_impossible_score_is_refused(instrument: str, total: Any, allowed: str):
    found = the_one(faults(made("score", 0, instrument=instrument, total=total)))
    assert f"total: {total}" in found
    assert allowed in found


def test_the_old_oxford_formula_has_its_own_range():
    # the old scoring of the Oxford shoulder score runs from 12 (best) to 60: published, from memory
    assert faults(made("score", 0, instrument="OSS", total=60, formula="old 12-60")) == []
    assert "12 to 60" in the_one(faults(made("score", 0, instrument="OSS", total=11, formula="old 12-60")))
    assert "Oxford" in the_one(faults(made("score", 0, instrument="SPADI", total=30, formula="old 12-60")))


def test_units_belong_to_strength():
    assert "is for strength only" in the_one(
        faults(made("measure", 0, name="active_flexion", value=90, unit="percent of other side"))
    )
    grade = made("measure", 0, name="abduction_strength", value=6, unit="grade 0-5")
    assert "0 to 5" in the_one(faults(grade))


# steps


def test_the_first_step_places_the_case():
    say = 'direction: "forward" without a stage, the first is "placing"'
    assert say in the_one(faults(made("step", -9, stage="RC2", direction="forward")))


def test_a_step_goes_to_a_stage_of_the_rule_files():
    assert 'stage: "RC9" is no stage of the rule files, did you mean' in the_one(faults(placed("RC9")))


@pytest.mark.parametrize(
    ("stage", "direction", "say"),
    [
        ("RC4", "forward", '"forward" from RC2 to RC4 is not one stage forward'),
        ("RC2", "forward", '"forward" from RC2 to RC2 is not one stage forward'),
        ("RC3", "back", '"back" from RC2 to RC3 is not one stage back'),
        ("FS1", "forward", '"forward" from RC2 leaves the pathway'),
        ("RC3", "placing", '"placing" into RC3 from RC2, inside a pathway go'),
    ],
)
def test_a_step_moves_by_one_stage(stage: str, direction: str, say: str):
    assert say in the_one(faults(placed(), made("step", -9, stage=stage, direction=direction)))


def test_surgery_during_another_pathway_places_the_case_anew():
    # practice note, 4.13 case 19
    assert faults(placed(), made("step", -9, stage="PO1", direction="placing")) == []


def test_a_new_injury_or_a_reopening_lets_the_case_be_placed_anew():
    # practice note, 4.13 cases 17 and 18
    again = made("step", -9, stage="AD1", direction="placing")
    first = placed("AD3")
    assert "inside a pathway" in the_one(faults(first, again, pathway="AD"))
    assert faults(first, made("onset", -9, what="dislocation"), again, pathway="AD") == []


def test_two_forward_steps_on_one_day_need_an_override():
    # practice note, 4.13 case 12
    first = made("step", -9, stage="RC2", direction="forward")
    second = made("step", -9, stage="RC3", direction="forward")
    assert "a second forward step on 2026-02-21 needs an override" in the_one(
        faults(placed("RC1"), first, second)
    )
    reason = {"override_category": "patient goal", "override_reason": "back at sea on Monday"}
    overridden = made("step", -9, stage="RC3", direction="forward", **reason)
    assert faults(placed("RC1"), first, overridden) == []
    assert faults(placed("RC1", -9), first) == []


def test_an_override_needs_its_category_and_its_reason():
    half = made("step", -9, stage="RC3", direction="forward", override_category="other")
    assert "both a category and a reason" in the_one(faults(placed(), half))


# holds and answers


def test_a_hold_lasts_42_days_at_most():
    # practice note, 1.5; ruling 62
    assert faults(placed(), made("hold", 0, until=42, reason="holiday")) == []
    say = "until: 2026-04-14 is 43 days on, allowed is 2026-04-13 (42 days)"
    assert say in the_one(faults(placed(), made("hold", 0, until=43, reason="holiday")))
    assert "before the hold begins" in the_one(faults(placed(), made("hold", 0, until=-1, reason="holiday")))


def test_a_hold_until_the_day_it_is_written_ends_a_hold():
    first = made("hold", -9, until=9, reason="holiday")
    assert faults(placed(), first, made("hold", -2, until=-2, reason="holiday")) == []


def test_a_hold_in_a_protected_stage_names_who_agreed():
    # practice note, 1.5; ruling 37
    say = "named: is missing, a hold in the protected stage PO2"
    hold = {"until": 9, "reason": "holiday"}
    assert say in the_one(faults(placed("PO2"), made("hold", 0, **hold), pathway="PO"))
    assert faults(placed("PO2"), made("hold", 0, named="surgeon AB", **hold), pathway="PO") == []
    assert faults(placed("PO4"), made("hold", 0, **hold), pathway="PO") == []
    assert faults(placed("PO2"), made("hold", 0, until=0, reason="holiday"), pathway="PO") == []


def test_no_hold_and_no_discharge_while_a_red_flag_is_open():
    # practice note, 1.5 and 4.13 case 25
    flag = made("screen", -5, item=HOT, answer="yes")
    hold = made("hold", -1, until=9, reason="holiday")
    end = made("discharge", -1, outcome="goal met")
    outcome = made("flag outcome", -3, item=HOT, outcome="cleared", reason="seen and cool")
    assert "no hold while the red flag" in the_one(faults(placed(), flag, hold))
    assert "no discharge while the red flag" in the_one(faults(placed(), flag, end))
    assert faults(placed(), flag, outcome, hold) == []
    assert faults(placed(), flag, outcome, end) == []
    # the flag belongs to the person: clarification 11.6
    assert "no hold while" in the_one(faults(placed(), hold, linked=[flag]))
    # practice note, 4.13 case 27: somebody who died is closed at once
    assert faults(placed(), flag, made("discharge", -1, outcome="died")) == []


def test_an_answer_lasts_14_days_and_7_in_the_first_tier():
    # ruling 4
    soon = {"reason": "review overdue", "action": "ring Thursday"}
    assert faults(made("in hand", 0, until=14, **soon)) == []
    assert "allowed is 2026-03-02 to 2026-03-16 (14 days)" in the_one(
        faults(made("in hand", 0, until=15, **soon))
    )
    for reason in ("possible red flag", "new injury", "healing limit broken"):
        urgent = {"reason": reason, "action": "referred, answer Monday"}
        assert faults(made("in hand", 0, until=7, **urgent)) == []
        assert "(7 days)" in the_one(faults(made("in hand", 0, until=8, **urgent)))
    message = {"reason": "urgent message", "action": "rung, no answer"}
    assert faults(made("in hand", 0, until=1, **message)) == [], "ruling 84"
    assert "(1 day)" in the_one(faults(made("in hand", 0, until=2, **message)))
    assert 'reason: "overdue" is no reason of the list' in the_one(
        faults(made("in hand", 0, until=3, reason="overdue", action="ring"))
    )


# slots, flags, corrections, endings, orders


def test_attendance_belongs_to_a_booked_slot():
    booked = made("appointment", -20, booked_for=-6)
    seen = made("attendance", -6, booked_for=-6, outcome="attended")
    assert faults(booked, seen) == []
    assert "booked_for: 2026-02-24 was never booked" in the_one(faults(seen))
    early = made("attendance", -8, booked_for=-6, outcome="did not attend")
    assert "had not come yet" in the_one(faults(booked, early))
    assert faults(booked, made("attendance", -8, booked_for=-6, outcome="cancelled by patient")) == []
    assert "before it was booked" in the_one(faults(made("appointment", -6, booked_for=-7)))


def test_a_flag_outcome_answers_a_flag():
    outcome = made("flag outcome", -3, item=HOT, outcome="cleared", reason="seen and cool")
    asked = made("screen", -5, item=HOT, answer="no")
    assert "was never answered yes by 2026-02-27" in the_one(faults(asked, outcome))
    assert faults(outcome, linked=[made("screen", -5, item=HOT, answer="yes")]) == []
    assert "needs the item it is about" in the_one(faults(made("screen", -5, item="all", answer="yes")))


def test_a_correction_points_at_one_entry_of_its_case_once():
    wrong = made("measure", -5, name="active_flexion", value=90)
    right = made("measure", -5, name="active_flexion", value=120)
    fix = made("correction", -4, corrects=1, replaced_by=2, reason="wrong side")
    assert faults(wrong, right, fix) == []
    assert "corrects: 9 is no entry of this case" in the_one(
        faults(wrong, made("correction", -4, corrects=9, reason="wrong side"))
    )
    assert "cannot withdraw itself" in the_one(
        faults(wrong, made("correction", -4, corrects=2, reason="wrong side"))
    )
    again = made("correction", -3, corrects=1, reason="wrong side")
    assert "entry 1 (measure of 2026-02-25) is already corrected by entry 3" in the_one(
        faults(wrong, right, fix, again)
    )
    assert "replaced_by: 8 is no entry" in the_one(
        faults(wrong, made("correction", -4, corrects=1, replaced_by=8, reason="wrong side"))
    )


def test_a_corrected_entry_is_judged_no_more():
    wrong = made("step", -5, stage="RC4", direction="forward")
    assert faults(placed(), wrong, made("correction", -4, corrects=2, reason="wrong case")) == []


def test_what_a_closed_case_still_takes():
    # practice note, 4.13 cases 16 and 26
    end = made("discharge", -9, outcome="goal met")
    say = "on: 2026-03-01 is after the discharge on 2026-02-21, allowed then is only"
    assert say in the_one(faults(placed(), end, made("visit", -1)))
    for entry in (
        made("contact", -1, outcome="message received"),
        made("session", -2, during=2),
        made("morning", -1, pain=2),
        made("period summary", -2, since=-8),
        made("letter", -1, about="discharge"),
        made("screen", -1, item=HOT, answer="yes"),
        made("event", -1, event="fall"),
        made("referral", -1, to="orthopaedics", urgency="soon", about="other"),
        made("decision", -1, about="other", note="nothing more"),
    ):
        assert faults(placed(), end, entry) == [], entry
    reopened = made("reopening", -5, reason="pain came back")
    assert faults(placed(), end, reopened, made("visit", -1)) == []
    assert "is not closed" in the_one(faults(placed(), reopened))
    assert "already discharged" in the_one(faults(placed(), end, made("discharge", -1, outcome="moved")))
    assert faults(placed(), end, made("visit", -9)) == []


def test_nothing_clinical_is_written_after_a_death():
    end = made("discharge", -9, outcome="died")
    assert faults(placed(), end, made("contact", -1, outcome="spoke")) == []
    assert "after the death recorded" in the_one(faults(placed(), end, made("session", -2, during=2)))
    assert "after the death recorded" in the_one(faults(placed(), end, made("reopening", -2, reason="error")))


def test_orders_open_the_stages_in_turn():
    say = "stage3_from: 2026-03-05 is before stage2_from 2026-03-09, a later stage cannot open first"
    assert say in the_one(faults(made("orders", 0, stage2_from=7, stage3_from=3), pathway="PO"))
    assert faults(made("orders", 0, stage2_from=7, stage4_from=7), pathway="PO") == []


def test_an_unknown_pathway_is_refused():
    assert 'case C-1, pathway: "XX" is no pathway of the rule files' in the_one(faults(pathway="XX"))


def test_two_identical_sessions_of_a_date_are_kept():
    # practice note, 4.13 case 8
    assert faults(made("session", -2, during=2), made("session", -2, during=2)) == []


def test_what_rests_on_a_refused_entry_is_not_judged():
    forward = made("step", -9, stage="RC3", direction="forward")
    assert faults(forward, broken={"step"}) == []


# weeks as told, the way of an exercise (rulings 73 and 93)


def summed(on: int = -2, since: int = -16, **told: Any) -> list[str]:
    return faults(made("period summary", on, since=since, **told))


def test_73_a_period_summary_counts_no_more_days_than_were_asked():
    assert summed(days_done=9, days_asked=9) == []
    assert "days_done: 10 is more than days_asked 9" in the_one(summed(days_done=10, days_asked=9))
    assert summed(days_asked=9) == summed() == []


@pytest.mark.parametrize("field", ["days_done", "days_asked", "mornings_worse"])
def test_73_a_period_summary_counts_no_more_days_than_it_has(field: str):
    assert summed(**{field: 14}) == []
    say = f"{field}: 15 is more than the 14 days from 2026-02-14 to 2026-02-28"
    assert say in the_one(summed(**{field: 15}))


def test_73_a_period_summary_covers_5_to_28_days():
    assert summed(since=-7) == summed(since=-30) == []
    assert "makes a period of 4 days to 2026-02-28, allowed is 5 to 28 days" in the_one(summed(since=-6))
    assert "makes a period of 29 days to" in the_one(summed(since=-31))
    assert "makes a period of -1 days to" in the_one(summed(since=-1))


def test_73_two_period_summaries_share_no_day():
    first = made("period summary", -16, since=-30)
    assert faults(first, made("period summary", -2, since=-16)) == []
    shared = made("period summary", -2, since=-17)
    say = "since: 2026-02-13 is before 2026-02-14, up to which a period is summed up already"
    for told in ((first, shared), (shared, first)):
        assert say in the_one(faults(*told))
    assert "summed up already" in the_one(faults(first, first))
    withdrawn = made("correction", -1, corrects=1, reason="typed twice")
    assert faults(first, shared, withdrawn) == []


@pytest.mark.parametrize(
    ("told", "say"),
    [
        ({"lower_s": 3, "lower_s_high": 3}, ""),
        ({"lower_s": 3, "lower_s_high": 2}, "lower_s_high: 2 is below lower_s 3"),
        ({"lower_s_high": 2}, "lower_s: is missing beside lower_s_high 2"),
        ({"arc_from": 0, "arc_to": 1}, ""),
        ({"arc_from": 70, "arc_to": 70}, "arc_from: 70 is not below arc_to 70"),
        ({"arc_from": 70}, ""),
    ],
)
def test_93_the_way_of_an_exercise_holds_together(told: dict[str, int], say: str):
    prescribed = made("programme item", -3, exercise="row", load_class="R1", sets=2, reps=10, **told)
    done = made("session", -3, items=[{"exercise": "row", "load_class": "R1", **told}])
    for entry, path in ((prescribed, ""), (done, "items 1 ")):
        if say:
            assert f"{path}{say}" in the_one(faults(entry))
        else:
            assert faults(entry) == []


def test_93_sets_rise_and_never_fall_to_their_highest():
    item = {"exercise": "row", "load_class": "R1", "sets": 3, "reps": 10}
    assert faults(made("programme item", -3, **item, sets_high=3)) == []
    assert "sets_high: 2 is below sets 3" in the_one(faults(made("programme item", -3, **item, sets_high=2)))


@pytest.mark.parametrize("at", ["24:00", "8:40", "08:60", "noon", 840])
def test_93_the_hour_of_a_slot_is_a_time_of_the_clock(at: Any):
    say = 'is no time of day, allowed is a time of day from "00:00" to "23:59"'
    assert say in the_one(refused("appointment", {"on": -2, "booked_for": 0, "at": at}))
    for told in ("00:00", "08:40", "23:59", None):
        assert made("appointment", -2, booked_for=0, at=told).at == told  # type: ignore[attr-defined]


@pytest.mark.parametrize("outcome", ["no answer", "wrong number", "message left", "message received"])
def test_71_nothing_new_is_said_by_somebody_who_was_asked(outcome: str):
    """A "yes" may stand in a message; nobody answered "no"."""
    assert 'anything_new: "no" beside the outcome' in the_one(
        faults(made("contact", -2, outcome=outcome, anything_new="no"))
    )
    assert faults(made("contact", -2, outcome=outcome, anything_new="yes")) == []
    assert faults(made("contact", -2, outcome=outcome)) == []
    assert faults(made("contact", -2, outcome="spoke", anything_new="no")) == []


@pytest.mark.parametrize("kind", ["visit", "contact"])
def test_71_what_was_told_and_not_named_has_an_outcome_of_its_own(kind: str):
    outcome = made("flag outcome", -3, item=NOT_NAMED, outcome="cleared", reason="a cold, gone")
    stated = {"outcome": "spoke"} if kind == "contact" else {}
    assert faults(made(kind, -3, anything_new="yes", **stated), outcome) == []
    for other in (made(kind, -3, anything_new="no", **stated), made(kind, -2, anything_new="yes", **stated)):
        assert "was never answered yes by 2026-02-27" in the_one(faults(other, outcome))
    say = "is not allowed, allowed is one of"
    assert say in the_one(refused("screen", {"on": -2, "item": NOT_NAMED, "answer": "yes"}))


@pytest.mark.parametrize("item", RETIRED_SCREEN_ITEMS)
def test_85_old_names_are_read_as_before(item: str):
    asked = made("screen", -5, item=item, answer="yes")
    assert faults(asked, made("flag outcome", -3, item=item, outcome="cleared", reason="seen")) == []
