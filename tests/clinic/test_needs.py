"""What each decision about a case needs, and why it is refused: every row of the table of practice note 1.5.

Expected behaviour: sections 1.5 and 4.13 (13, 16, 17, 23, 25, 27) and rulings 24, 37, 54, 55 and 62 of the
clinic's practice notes. Days that the notes do not give: common practice or design, as the rule file says.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from armrise.store.clinic.actions import endings, needs
from armrise.store.clinic.actions.endings import DischargeAsk
from armrise.store.clinic.actions.needs import HoldAsk, Needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import clocks, slots
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Attendance
from armrise.store.record.kinds.paperwork import ReferralAnswer
from armrise.store.record.kinds.plan import HOLD_REASONS
from tests.clinic.build import TODAY, Builder, case, on, rules

FLAG = "motor or sensory loss"


def view(made: Builder) -> View:
    """The view of a built case on the clinic date."""
    return View.of(made.record(), rules(), TODAY)


def ordinary() -> Builder:
    """A case outside any protected stage, last seen 30 days ago with an interval of 21 days."""
    return case("RC2", day=40, last_visit=30, interval=21)


def protected() -> Builder:
    """A case in a time-gated stage after surgery, last seen 18 days ago with an interval of 14 days."""
    return case("PO2", day=20, last_visit=18, interval=14)


def flagged(made: Builder) -> Builder:
    """With a possible red flag open."""
    return made.screen(-1, FLAG, "yes")


# --- seen -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (0, ""),
        (-10, ""),
        (-40, ""),
        (1, "seen on: Tue 3 Mar 2026 lies ahead; at the latest Mon 2 Mar 2026."),
        (-41, "seen on: Tue 20 Jan 2026 is before the first visit, Wed 21 Jan 2026."),
    ],
)
def test_seen_is_neither_ahead_nor_before_the_first_visit(day: int, said: str) -> None:
    assert needs.seen(view(ordinary()), on(day)).faults.get("on", "") == said


def test_a_day_recorded_as_missed_is_no_visit() -> None:
    made = view(ordinary().missed(-5))
    said = (
        "seen on: Wed 25 Feb 2026 is recorded as did not attend; correct that entry, or choose another day."
    )
    assert needs.seen(made, on(-5)).faults == {"on": said}


def test_the_next_review_counts_from_the_visit_told_late() -> None:
    assert needs.due_after_seen(view(ordinary()), on(-3), 14) == on(11)
    assert needs.due_after_seen(view(ordinary()), on(-3)) == on(-3 + 21)  # review interval of RC2
    # A visit before the last one moves nothing.
    assert needs.due_after_seen(view(ordinary()), on(-35)) == on(-9)


# --- rebook ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "reason", "key"),
    [
        (1, "", None),
        (14, "", None),
        (15, "", "slot_reason"),
        (15, "no slot sooner", None),
        (0, "", "slot"),
        (None, "", "slot"),
        (9, "", "slot"),
    ],
)
def test_a_slot_far_ahead_in_a_protected_stage_takes_a_reason(
    day: int | None, reason: str, key: str | None
) -> None:
    """More than one interval (14 days) ahead; day 9 is booked already."""
    wanted = None if day is None else on(day)
    asked = needs.rebook(view(protected().booked(9)), wanted, reason, earliest=on(1))
    assert list(asked.faults) == ([key] if key else [])


def test_elsewhere_a_slot_may_lie_far_ahead() -> None:
    assert needs.rebook(view(ordinary()), on(60), "", earliest=on(1)).met


def test_a_slot_cancelled_may_be_booked_again_for_the_same_day() -> None:
    made = ordinary().booked(9, made=-5).add(Attendance, -2, booked_for=on(9), outcome="cancelled by patient")
    assert clocks.review(view(made)).booked is None
    assert needs.rebook(view(made), on(9), "", earliest=on(1)).met
    made.booked(9, made=-1)
    assert clocks.review(view(made)).booked == on(9)


# --- hold -----------------------------------------------------------------------------------------------


def hold(made: Builder, **given: Any) -> Needs:
    """A hold for a fortnight, unless given otherwise."""
    return needs.hold(view(made), HoldAsk(**{"reason": "holiday", "until": on(14), **given}))


@pytest.mark.parametrize("reason", [r for r in HOLD_REASONS if r != "other"])
def test_a_hold_has_one_of_the_reasons_and_an_end(reason: str) -> None:
    assert hold(ordinary(), reason=reason).met


@pytest.mark.parametrize(
    ("given", "key"),
    [
        ({"reason": ""}, "reason"),
        ({"reason": "other"}, "note"),
        ({"until": None}, "until"),
        ({"until": TODAY}, "until"),
        ({"until": on(43)}, "until"),
    ],
)
def test_a_hold_that_lacks_something_says_what(given: dict[str, Any], key: str) -> None:
    assert list(hold(ordinary(), **given).faults) == [key]


def test_a_hold_lasts_42_days_and_not_a_day_more() -> None:
    assert hold(ordinary(), until=on(42)).met
    said = "until: Tue 14 Apr 2026 is not allowed; from tomorrow to Mon 13 Apr 2026 (42 days)."
    assert hold(ordinary(), until=on(43)).faults["until"] == said


def test_another_reason_is_said() -> None:
    assert hold(ordinary(), reason="other", note="moving house").met


def test_no_hold_with_a_red_flag_open() -> None:
    said = (
        f'No hold while the possible red flag "{FLAG}" of Sun 1 Mar 2026 is open: record its outcome first.'
    )
    assert hold(flagged(ordinary())).refused == said
    assert not hold(flagged(ordinary()).flag_outcome(0, FLAG)).refused


def test_a_protected_stage_names_who_agreed() -> None:
    assert list(hold(protected()).faults) == ["named"]
    assert hold(protected(), named="the surgeon").met


def test_a_hold_moves_the_review_and_keeps_the_original_date() -> None:
    assert needs.review_under_hold(view(ordinary()), on(14)) == (on(14), on(-9))
    later = case("RC2", day=40, last_visit=1, interval=21)
    assert needs.review_under_hold(view(later), on(14)) is None


# --- refer ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("to", "urgency", "about", "day", "keys"),
    [
        ("surgeon", "urgent", "nerve", 0, []),
        ("", "urgent", "nerve", 0, ["to"]),
        ("surgeon", "", "nerve", 0, ["urgency"]),
        ("surgeon", "urgent", "", 0, ["about"]),
        ("surgeon", "urgent", "nerve", 1, ["sent"]),
    ],
)
def test_a_referral_says_to_whom_how_urgent_about_what_and_when(
    to: str, urgency: str, about: str, day: int, keys: list[str]
) -> None:
    assert list(needs.refer(view(ordinary()), to, urgency, about, on(day)).faults) == keys


def test_a_referral_waits_until_its_answer_comes() -> None:
    made = ordinary().referral(-20, "nerve").referral(-5, "image cuff")
    assert [r.about for r in needs.referrals_waiting(view(made))] == ["nerve", "image cuff"]
    made.add(ReferralAnswer, -1, about="nerve", answer="conduction study normal")
    assert [r.about for r in needs.referrals_waiting(view(made))] == ["image cuff"]


# --- discharge ------------------------------------------------------------------------------------------

WHOLE: dict[str, Any] = {
    "outcome": "goal met",
    "measures": "recorded",
    "review": "not needed",
    "review_reason": "goal met by phone",
    "score": Decimal(12),
}


def discharge(made: Builder, **given: Any) -> Needs:
    """A discharge that lacks nothing in an ordinary case, unless given otherwise."""
    return endings.discharge(view(made), DischargeAsk(**{**WHOLE, **given}))


def test_a_discharge_with_everything_is_allowed() -> None:
    assert discharge(ordinary()).met


@pytest.mark.parametrize(
    ("given", "keys"),
    [
        ({"outcome": ""}, ["outcome"]),
        ({"measures": ""}, ["measures"]),
        ({"measures": "not obtained"}, []),
        ({"score": Absence.NOT_MEASURED}, []),
        ({"score": Decimal(101)}, ["score"]),
        ({"review": ""}, ["review"]),
        ({"review_reason": "no"}, ["review_reason"]),
        ({"review": "seen", "seen_on": on(-2)}, []),
        ({"review": "seen", "seen_on": on(1)}, ["on"]),
    ],
)
def test_a_discharge_says_what_it_lacks(given: dict[str, Any], keys: list[str]) -> None:
    """Review outstanding: seen, or not needed with a reason (practice note 4.13, case 25)."""
    assert list(discharge(ordinary(), **given).faults) == keys


def test_a_score_is_asked_unless_a_recent_one_stands() -> None:
    """A total of the last 28 days answers it, as for a score that falls due."""
    assert not discharge(case("RC2", day=40, last_visit=20, interval=14), score=None).faults
    old = case("RC2", day=40, last_visit=30, interval=21, scored=False).score(-29, "SPADI", 20)
    assert list(discharge(old, score=None).faults) == ["score"]


def test_a_review_not_yet_due_asks_nothing() -> None:
    early = case("RC2", day=40, last_visit=3, interval=21)
    assert endings.review_outstanding(view(early)) is None
    assert discharge(early, review="", review_reason="").met


def test_a_hold_does_not_answer_the_review() -> None:
    held = ordinary().hold(-12, 10)
    assert endings.review_outstanding(view(held)) == on(-9)
    assert list(discharge(held, review="").faults) == ["review"]


def test_no_discharge_with_a_red_flag_open_save_for_a_death() -> None:
    said = f'No discharge while the possible red flag "{FLAG}" of Sun 1 Mar 2026 is open: '
    assert discharge(flagged(ordinary())).refused == said + "record its outcome first."
    assert discharge(flagged(ordinary()), outcome="moved").refused
    assert discharge(flagged(ordinary()), outcome="died").met


@pytest.mark.parametrize(
    ("contacts", "told", "refused", "faults"),
    [
        ([], True, True, []),
        ([(-3, "no answer")], True, True, []),
        ([(-3, "no answer"), (-3, "message left")], True, True, []),  # one day is one attempt
        ([(-3, "no answer"), (-2, "wrong number")], True, True, []),
        ([(-20, "no answer"), (-3, "no answer")], True, True, []),  # before the last visit
        ([(-3, "no answer"), (-2, "message left")], False, False, ["told"]),
        ([(-3, "no answer"), (-2, "spoke")], True, False, []),
    ],
)
def test_a_protected_stage_needs_two_attempts_and_the_referrer_told(
    contacts: list[tuple[int, str]], told: bool, refused: bool, faults: list[str]
) -> None:
    made = protected()
    for day, outcome in contacts:
        made.contact(day, outcome)
    asked = discharge(made, outcome="patient choice", referrer_told=told, score=Decimal(30))
    assert bool(asked.refused) is refused
    assert list(asked.faults) == faults
    if refused:
        assert "Protected stage PO2: no discharge before contact was tried on 2 days" in asked.refused


def test_a_surgeon_told_by_an_entry_need_not_be_typed() -> None:
    made = protected().contact(-3, "no answer").contact(-2, "no answer", surgeon_told=True)
    assert discharge(made, outcome="patient choice", score=Decimal(30)).met
    seen = protected().contact(-3, "no answer").contact(-2, "no answer").visit(-4, surgeon_told=True)
    assert discharge(seen, outcome="patient choice", score=Decimal(30)).met


def test_whoever_is_seen_that_day_need_not_be_rung() -> None:
    asked = discharge(protected(), review="seen", seen_on=TODAY, referrer_told=True, score=Decimal(30))
    assert asked.met


def test_who_was_not_brought_is_thought_about_before_a_discharge() -> None:
    child = case("RC2", day=40, last_visit=30, interval=21, age_band="under 16")
    asked = discharge(child, outcome="did not attend")
    assert list(asked.faults) == ["safeguarding"]
    assert discharge(child, outcome="did not attend", safeguarding="talked over with the lead").met
    assert discharge(ordinary(), outcome="did not attend").met


def test_a_death_asks_nothing_more() -> None:
    assert discharge(protected(), outcome="died", measures="", review="", score=None).met


def test_a_closed_case_is_not_closed_again() -> None:
    closed = ordinary().discharge(-2)
    assert discharge(closed).refused == "C-01 was discharged on Sat 28 Feb 2026 already."


@pytest.mark.parametrize(
    ("letter", "said"),
    [
        (None, "No letter to the patient is recorded; 14 days to reply come first."),
        (-4, "Letter to the patient sent Thu 26 Feb, until Thu 12 Mar 2026 to reply."),
        (-15, "Letter to the patient sent Sun 15 Feb, reply was due Sun 1 Mar 2026."),
    ],
)
def test_a_letter_with_days_to_reply_comes_before_a_discharge_for_missed_visits(
    letter: int | None, said: str
) -> None:
    made = ordinary().missed(-25).missed(-20)
    if letter is not None:
        made.letter(letter, "missed visits")
    assert endings.unanswered_misses(view(made)) == f"Missed visits in a row: 2. {said}"


def test_one_missed_visit_calls_for_no_letter_yet() -> None:
    made = view(ordinary().missed(-5))
    assert endings.unanswered_misses(made) == "Missed visits in a row: 1; after 2 the patient is written to."
    assert endings.unanswered_misses(view(ordinary())) == ""


# --- reopening ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("closed", "new", "same"), [(-90, False, True), (-91, False, False), (-90, True, False)]
)
def test_within_90_days_and_the_same_problem_the_episode_goes_on(closed: int, new: bool, same: bool) -> None:
    made = view(case("RC4", day=120, last_visit=100).discharge(closed))
    assert endings.same_episode(made, new_mechanism=new) is same


def test_a_reopening_asks_for_the_mechanism_and_a_reason() -> None:
    closed = view(ordinary().discharge(-2))
    assert list(endings.reopen(closed, "", mechanism_answered=False).faults) == ["new_mechanism", "reason"]
    assert endings.reopen(closed, "same trouble", mechanism_answered=True).met
    assert endings.reopen(view(ordinary()), "same", mechanism_answered=True).refused
    died = view(ordinary().discharge(-2, "died"))
    assert "closed as died" in endings.reopen(died, "same", mechanism_answered=True).refused


# --- slots ----------------------------------------------------------------------------------------------


def test_slots_without_an_answer() -> None:
    made = ordinary().booked(-30).booked(-12).missed(-6).booked(0).booked(4)
    assert slots.unanswered(view(made)) == [on(-12), TODAY]  # 30 days ago there was a visit
    assert slots.ahead(view(made)) == [on(4)]


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (protected().booked(0), "Protected stage PO2: phone today, and book within the week."),
        (ordinary().booked(0), "Contact within 7 days: by Mon 9 Mar 2026."),
        (
            ordinary().missed(-9).booked(0),
            "2 visits missed in a row: write to the patient with 14 days to reply; after that a clinician "
            "decides. Nothing is discharged by itself.",
        ),
        (
            ordinary().missed(-9).contact(-5).booked(0),
            "Contact within 7 days: by Mon 9 Mar 2026.",
        ),
    ],
)
def test_what_follows_a_missed_visit(made: Builder, said: str) -> None:
    """Practice note 1.5; a contact begins the count anew (ruling 25)."""
    assert slots.follows(view(made), TODAY, "did not attend") == said


def test_what_follows_any_other_outcome() -> None:
    made = view(ordinary().booked(0))
    assert "no missed visit" in slots.follows(made, TODAY, "cancelled by clinic")
    assert "only when the visit itself is recorded" in slots.follows(made, TODAY, "attended")
    spoken = view(ordinary().booked(-2).contact(-1))
    assert "Somebody has spoken" in slots.follows(spoken, on(-2), "did not attend")


def test_minors_and_dependent_adults_are_not_brought() -> None:
    """Practice note 1.5: the wording, and a thought of safeguarding."""
    grown = view(ordinary())
    assert not slots.brought_by_others(grown)
    assert slots.outcomes_for(grown)[1] == "did not attend"
    for made in (
        case("RC2", day=40, age_band="16-17"),
        ordinary().finding(-30, "guardian consent"),
        ordinary().missed(-3, "was not brought"),
    ):
        assert slots.brought_by_others(view(made))
        assert slots.outcomes_for(view(made))[1] == "was not brought"
    assert not slots.brought_by_others(view(ordinary().finding(-30, "guardian consent", "not asked")))


def test_attempts_are_counted_since_somebody_was_last_reached() -> None:
    made = (
        ordinary().contact(-9, "no answer").contact(-8).contact(-5, "no answer").contact(-5, "message left")
    )
    seen = view(made.contact(-4, "wrong number"))
    assert clocks.last_contact(seen) == on(-8)
    assert [c.on for c in slots.attempts(seen)] == [on(-5), on(-5)]
