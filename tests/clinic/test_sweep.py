"""Who is in the weekly sweep, in which order, until when a decision takes one out, and the minutes.

Expected behaviour: section 1.5 and rulings 24, 37, 44, 46 and 55 of the clinic's practice notes. What the
notes do not say is design: a decision falls when what it wrote is withdrawn, cancelled or ended, or when a
visit is missed.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from armrise.store.clinic.actions.minutes import counted, decided_in, minutes, week_of
from armrise.store.clinic.actions.sweep import (
    SweepCase,
    guards,
    look,
    order,
    standing_decision,
    until_of,
    why,
)
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.stand import stand_view
from armrise.store.record.kinds.care import Appointment, Attendance, Contact, SweepDecision, Visit
from armrise.store.record.kinds.paperwork import Referral
from armrise.store.record.kinds.plan import Hold
from tests.clinic.build import TODAY, Builder, case, on, rules


def view(made: Builder, day: int = 0) -> View:
    """The view of a built case, ``day`` days from the clinic date."""
    return View.of(made.record(), rules(), on(day))


def swept(made: Builder, day: int = 0) -> SweepCase | None:
    """The case as the sweep shows it."""
    seen = view(made, day)
    return look(seen, stand_view(seen))


def overdue(days: int = 9, **head: Any) -> Builder:
    """A case whose review was due so many days ago, of 21; somebody spoke with the patient five days ago."""
    return case("RC2", day=60, last_visit=21 + days, interval=21, **head).contact(-5)


def decided(made: Builder, decision: str, until: int, day: int = 0) -> Builder:
    """With a sweep decision and what it writes beside itself."""
    beside: dict[str, tuple[Any, dict[str, Any]]] = {
        "seen": (Visit, {"interval": 21}),
        "rebook": (Appointment, {"booked_for": on(until)}),
        "phone": (Contact, {"outcome": "no answer"}),
        "hold": (Hold, {"until": on(until), "reason": "holiday"}),
        "refer": (Referral, {"to": "surgeon", "urgency": "soon", "about": "stalled"}),
    }
    if decision in beside:
        kind, fields = beside[decision]
        made.add(kind, day, **fields)
    return made.add(SweepDecision, day, decision=decision, until=on(until), reasons="review overdue")


# --- who is in it ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "reasons"),
    [
        (overdue(), "review overdue"),
        (overdue(21), "review overdue by a whole interval"),
        (
            case("PO2", day=20, last_visit=18, interval=14).contact(-8),
            "protected case out of sight, review overdue",
        ),
        (
            case("RC2", day=60, last_visit=18, interval=28).missed(-8).session(-2, 2, 2, 2),
            "missed visit unanswered",
        ),
        (case("RC2", day=60, last_visit=20, interval=21).morning(-23, 2), "nothing recorded"),
        (overdue().in_hand(-1, "OVD1", 3), "review overdue"),
    ],
)
def test_overdue_out_of_sight_missed_and_silent_cases_are_swept(made: Builder, reasons: str) -> None:
    """A reason in hand does not place a case on the list, and is decided in the sweep all the same."""
    found = swept(made)
    assert found is not None
    assert why(found.standing) == reasons


@pytest.mark.parametrize(
    "made",
    [
        case("RC2", day=40, last_visit=3),
        overdue().hold(-3, 5),
        overdue().discharge(-1),
        case("RC2", day=40, last_visit=3).screen(-1, "motor or sensory loss", "yes"),
    ],
    ids=["in time", "on hold", "closed", "red flag only"],
)
def test_nobody_else_is(made: Builder) -> None:
    assert swept(made) is None


def test_a_hold_hides_no_protected_case_out_of_sight() -> None:
    """Ruling 37."""
    made = case("PO2", day=20, last_visit=18, interval=14).contact(-8).hold(-3, 5, named="surgeon")
    found = swept(made)
    assert found is not None
    assert why(found.standing) == "protected case out of sight"


def test_the_order_is_that_of_triage_and_then_the_longest_overdue_of_its_interval() -> None:
    first, second = overdue(9, code="C-01"), overdue(12, code="C-02")
    protected = case("PO2", day=20, last_visit=18, interval=14, code="C-03").contact(-8)
    cases = [found for made in (first, second, protected) if (found := swept(made))]
    assert [c.standing.code for c in order(cases)] == ["C-03", "C-02", "C-01"]


# --- until when -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("decision", "own", "until"),
    [
        ("phone", None, 7),
        ("rebook", 4, 4),
        ("seen", 20, 20),
        ("hold", 14, 14),
        ("refer", -3, 11),
        ("refer", None, 14),
        ("discharge", None, 0),
    ],
)
def test_each_decision_has_its_own_date(decision: str, own: int | None, until: int) -> None:
    """Ruling 24: phone seven days. Referral: 14 days after it was sent (common practice)."""
    assert until_of(view(overdue()), decision, None if own is None else on(own)) == on(until)


def test_an_unanswered_call_keeps_a_protected_case_out_for_its_own_day_only() -> None:
    """The safer reading of ruling 24: an attempt is no contact, and the case is out of sight."""
    protected = case("PO2", day=20, last_visit=18, interval=14)
    assert until_of(view(protected), "phone", reached=False) == on(1)
    assert until_of(view(protected), "phone") == on(7)
    assert until_of(view(overdue()), "phone", reached=False) == on(7)


@pytest.mark.parametrize(("decision", "until"), [("phone", 7), ("rebook", 4), ("refer", 14)])
def test_a_decision_takes_the_case_out_until_its_date_and_not_a_day_longer(decision: str, until: int) -> None:
    made = decided(overdue(), decision, until)
    assert swept(made) is None
    assert swept(made, until - 1) is None
    assert swept(made, until) is not None


def test_a_hold_takes_the_case_out_until_its_end_which_is_the_new_due_date() -> None:
    """Practice note 4.13, case 13: due on the day the hold ends, overdue from the day after."""
    made = decided(overdue(), "hold", 10)
    assert swept(made) is None
    assert swept(made, 10) is None
    assert swept(made, 11) is not None


def test_a_decision_without_a_date_ahead_counts_for_its_own_day() -> None:
    """A referral sent 20 days ago was to be followed up six days ago: it is asked again tomorrow."""
    made = decided(overdue(), "refer", -6)
    assert swept(made) is None
    assert swept(made, 1) is not None


@pytest.mark.parametrize("decision", ["seen", "rebook", "phone", "hold", "refer"])
def test_a_decision_without_what_it_rests_on_is_none(decision: str) -> None:
    made = overdue().add(SweepDecision, 0, decision=decision, until=on(7), reasons="review overdue")
    assert standing_decision(view(made)) is None
    assert swept(made) is not None


def test_a_visit_missed_after_the_decision_brings_the_case_back() -> None:
    """Rebooking the same non-attender is decided anew each time."""
    made = decided(overdue(), "phone", 7, day=-2).booked(-1, made=-2)
    assert swept(made) is None
    assert swept(made.attendance(-1)) is not None


def test_a_cancelled_slot_and_a_hold_ended_early_bring_the_case_back() -> None:
    rebooked = decided(overdue(), "rebook", 4, day=-2)
    assert swept(rebooked) is None
    rebooked.add(Attendance, 0, booked_for=on(4), outcome="cancelled by patient")
    assert swept(rebooked) is not None
    held = decided(overdue(), "hold", 10, day=-2)
    assert swept(held) is None
    assert swept(held, 1) is None
    held.hold(0, 0)
    assert swept(held, 1) is not None


def test_a_reopened_case_is_not_out_for_good() -> None:
    """Nothing is discharged by itself, and nothing stays out by an old discharge."""
    made = overdue().discharge(-2)
    made.add(SweepDecision, -2, decision="discharge", until=on(-2), reasons="review overdue")
    assert swept(made) is None
    assert swept(made.reopen(0)) is not None


# --- what to mind ---------------------------------------------------------------------------------------


def test_protected_cases_and_minors_are_guarded_in_words() -> None:
    minor = case("AD1", day=10, last_visit=9, age_band="under 16").missed(-2, "was not brought")
    told = " ".join(guards(view(minor)))
    assert "Protected stage AD1: phone today" in told
    assert "Safeguarding: think about why" in told
    assert guards(view(overdue())) == ()


def test_missed_visits_in_a_row_and_holds_already_had_are_told() -> None:
    made = overdue().missed(-4).missed(-2).hold(-40, -30)
    assert guards(view(made)) == (
        "Missed visits in a row: 2. No letter to the patient is recorded; 14 days to reply come first.",
        "On hold this episode already: 10 days.",
    )


# --- minutes --------------------------------------------------------------------------------------------


def test_a_week_goes_from_monday_to_sunday() -> None:
    assert week_of(TODAY) == (date(2026, 3, 2), date(2026, 3, 8))
    assert week_of(on(6)) == (date(2026, 3, 2), date(2026, 3, 8))
    assert week_of(on(7)) == (date(2026, 3, 9), date(2026, 3, 15))


def told(made: Builder, day: int = 0) -> str:
    """What remains of a decided case."""
    seen = view(made, day)
    (line,) = decided_in(seen, stand_view(seen), *week_of(on(day)))
    return line.remains


def test_minutes_say_what_remains_of_each_case() -> None:
    assert told(decided(overdue(), "phone", 7)) == (
        "in the sweep again from Mon 9 Mar; still: review overdue"
    )
    assert told(decided(overdue(), "rebook", 4)) == "booked Fri 6 Mar; still: review overdue"
    assert told(decided(overdue(), "seen", 21)) == "next review Mon 23 Mar"
    assert told(decided(overdue(), "hold", 10)) == "on hold until Thu 12 Mar"
    referred = decided(overdue(), "refer", 14)
    assert told(referred) == "answer to be asked for on Mon 16 Mar; still: review overdue"
    closed = overdue().discharge(0).add(SweepDecision, 0, decision="discharge", until=TODAY, reasons="x")
    assert told(closed) == "closed; still: discharge letter owed"
    assert told(closed.letter(0)) == "closed"


def test_minutes_count_decisions_and_what_is_left() -> None:
    two = [decided(overdue(code="C-01"), "phone", 7), decided(overdue(code="C-02"), "rebook", 4)]
    lines = [line for made in two for line in decided_in(view(made), stand_view(view(made)), *week_of(TODAY))]
    left = swept(overdue(code="C-03"))
    assert left is not None
    made = minutes(TODAY, lines, [left])
    assert (made.closed, made.total) == (2, 3)
    assert counted(made) == "2 decided: 1 rebook, 1 phone; 1 remains"


def test_a_case_decided_and_back_again_is_counted_as_remaining() -> None:
    made = overdue().add(SweepDecision, 0, decision="phone", until=on(7), reasons="review overdue")
    back = swept(made)
    assert back is not None
    lines = decided_in(view(made), stand_view(view(made)), *week_of(TODAY))
    assert (minutes(TODAY, lines, [back]).closed, minutes(TODAY, lines, [back]).total) == (0, 1)


def test_decisions_of_another_week_are_not_of_this_one() -> None:
    made = decided(overdue(), "phone", 4, day=-3)
    assert decided_in(view(made), stand_view(view(made)), *week_of(TODAY)) == []
