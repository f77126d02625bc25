"""Ways in which a rule, read one way, could hide a dangerous case or move one on wrongly.

Each test is named after the ruling of the practice notes that decides it, and says which text it rests on.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.standing.stand import NeedsFullHistory, stand
from armrise.store.database.reading import as_dates, windows
from armrise.store.record.kinds.head import Entry
from tests.clinic.build import TODAY, Builder, case, item, reason, rules, standing_of
from tests.clinic.build_more import (
    MET,
    NOT_MET,
    live_codes,
    own_refer,
    printed,
    ready_ad1,
    ready_po3,
    ready_rc2,
    run_state,
    twos,
    word,
)

MASS = "mass, cancer history, weight loss or unrelenting night pain"
NERVE = "motor or sensory loss"
ROTATION = "passive_external_rotation"
GOOD = (3, 2, 2)


def closed() -> Builder:
    """Discharged 20 days ago, nothing owed."""
    return case("RC4", day=60, last_visit=21).discharge(-20, letter=False)


# --- dangers: an answer must not cover what nobody knew when it was given ---------------------------------


def test_ruling_04_a_breach_recorded_after_the_contact_is_not_answered_by_it() -> None:
    """Plan corrected in the morning, band rows that evening, told next day: the breach is live."""
    made = case("PO2", day=18).session(-6, 1, 1, None, A2=(3, 10))
    made.contact(-3, "spoke", plan_corrected=True)
    assert "LIM" not in live_codes(made)
    made.session(-3, 1, 1, None, R1=(3, 10), recorded=-2)
    assert reason(standing_of(made), "LIM").severity == 3


def test_ruling_04_a_red_flag_told_late_is_not_answered_by_an_earlier_outcome() -> None:
    """Happened before the recorded outcome, recorded after it: nobody has looked at it (ruling 46)."""
    made = case("RC2", day=20).screen(-8, MASS, "yes").flag_outcome(-5, MASS)
    assert "RED" not in live_codes(made)
    made.screen(-6, NERVE, "yes", recorded=-1)
    assert "RED" in live_codes(made)
    every = case("RC2", day=20).screen(-8, MASS, "yes").flag_outcome(-5, "all")
    every.screen(-6, NERVE, "yes", recorded=-1)
    assert "RED" in live_codes(every)


def test_ruling_04_an_injury_told_late_is_not_answered_by_an_earlier_visit() -> None:
    """A second fall that was told after the visit that assessed the first one (ruling 46)."""
    made = case("RC2", day=20).event(-10, "fall").visit(-5, injury_assessed=True).screen_all_no(-5)
    assert "INJ" not in live_codes(made)
    made.event(-6, "sudden loss of active lift", recorded=-1)
    assert reason(standing_of(made), "INJ").severity == 2


# --- dangers: loads and dates of the orders --------------------------------------------------------------


@pytest.mark.parametrize(("load", "breach"), [(2, False), (3, True)])
def test_ruling_08_a_load_over_the_ordered_lifting_limit(load: int, breach: bool) -> None:
    """ "A class, range or load forbidden on that date" (2.2): 3 kg where 2 kg is ordered, severity 3."""
    made = case("PO4", day=10).orders(-20, lifting_limit=Decimal(2))
    made.session(-1, 1, 1, None, item("R1", load=Decimal(load)))
    assert ("LIM" in live_codes(made)) is breach
    if breach:
        assert reason(standing_of(made), "LIM").severity == 3


@pytest.mark.parametrize(("until", "expected"), [(0, Word.READY), (20, Word.NOT_YET)])
def test_ruling_08_no_resisted_until_keeps_the_strength_stage_shut(until: int, expected: Word) -> None:
    """The more restrictive of orders and template (3.3): day 85, but no resisted work for 20 days more."""
    assert word(ready_po3().orders(-10, no_resisted_until=until)) is expected


@pytest.mark.parametrize(("until", "expected"), [(0, Word.READY), (20, Word.NOT_YET)])
def test_ruling_08_no_active_until_keeps_the_active_stage_shut(until: int, expected: Word) -> None:
    """PO2 on day 44, all met, but no active movement for 20 days more by order: PO3 is not opened."""
    made = twos(case("PO2", day=30, onset=44)).good(3, last=-2, P1=(3, 10))
    made.clearance(-3, "surgeon").finding(-2, "sling weaned").orders(-10, no_active_until=until)
    assert word(made) is expected


def test_ruling_08_movement_clearance_opens_no_resisted_work() -> None:
    """Each clearance has its scope; a withdrawn one is not met (3.0: withdrawable)."""
    assert word(ready_po3(cleared=False).clearance(-3, "surgeon", scope="movement")) is Word.UNKNOWN
    assert word(ready_po3().clearance(-1, "surgeon", "withdrawn", scope="resisted")) is Word.NOT_YET
    assert word(ready_po3().clearance(-1, "surgeon", "withdrawn", scope="movement")) is not Word.READY


# --- dangers: a change of pathway inside an episode ------------------------------------------------------


def test_ruling_42_flares_before_a_step_back_stay_behind_after_stepping_forward() -> None:
    """What came before the step back does not count again because the case stepped forward since."""
    made = twos(case("RC3", day=20, first=40)).session(-12, 7, 3, None).session(-11, 7, 3, None)
    made.step(-10, "RC2").step(-5, "RC3")
    assert "FLA" not in live_codes(made)


def test_ruling_51_a_referral_before_the_loss_does_not_clear_it() -> None:
    """Cleared by what happened since its newest evidence (ruling 21), not by a referral of weeks before."""
    made = case("RC1", day=30).measure(-28, ROTATION, 60).referral(-25, "losing range")
    assert "STF" in live_codes(made.measure(-12, ROTATION, 44).measure(-3, ROTATION, 44))


def test_ruling_10_11_the_episode_goes_on_in_another_conservative_pathway() -> None:
    """RC, then FS in one episode: the episode's first baseline, best score and first treatment visit
    stay the yardstick (rulings 10, 11, 29); surgery or a new episode sets a new one (4.13)."""
    crept = case("RC1", day=60).mornings(-58, *[2] * 20).step(-30, "FS1", "forward")
    crept.mornings(-30, *[3] * 15).mornings(-15, *[4] * 15)
    assert "FLA" in live_codes(crept)
    worse = case("RC1", day=60, scored=False).score(-58, "SPADI", 30).step(-30, "FS1", "forward")
    assert "WRS" in live_codes(worse.score(-2, "SPADI", 60))
    stuck = case("RC1", day=90, scored=False).score(-90, "SPADI", 60).step(-30, "FS1", "forward")
    assert "WRS" in live_codes(stuck.score(-2, "SPADI", 58))


def test_ruling_58_a_message_on_the_day_of_discharge_is_seen() -> None:
    """Recorded after the discharge of the same day: a message after discharge."""
    made = closed().contact(-20, "message received")
    assert "MSG" in live_codes(made)


def test_ruling_58_a_message_after_a_contact_of_the_same_day_is_unanswered() -> None:
    """Spoken to in the morning, writes again in the evening."""
    made = closed().contact(-3, "message received").contact(-2, "spoke").contact(-2, "message received")
    assert reason(standing_of(made), "MSG").severity == 2


def test_ruling_52_a_breach_of_the_criterions_limit_counts_though_another_score_is_missing() -> None:
    """A known breach beats a missing score (4.2): during 4 where 3 is asked, later not told: a slip (75)."""
    made = ready_rc2(sessions=False).session(-8, *GOOD, R1=(3, 10)).session(-6, *GOOD, R1=(3, 10))
    made.session(-4, *GOOD, R1=(3, 10))
    assert run_state(made) is MET
    assert run_state(made.session(-2, 4, None, 2, R1=(3, 10))) is NOT_MET


def test_ruling_16_of_two_sessions_on_a_date_the_worse_counts() -> None:
    """Both good by pain, one of them short of its dose: the date does not count as done (4.3)."""
    made = ready_rc2(sessions=False).session(-6, *GOOD, R1=(3, 10)).session(-4, *GOOD, R1=(3, 10))
    made.session(-2, *GOOD, R1=(3, 10))
    assert run_state(made) is MET
    made.session(-2, *GOOD, item("R1", 1, 10, sets_asked=3), ordinal=2)
    assert run_state(made) is NOT_MET  # the newest is a slip (ruling 75)


# --- dangers: the list reads a window of the history -----------------------------------------------------


def as_listed(made: Builder) -> Standing:
    """The standing as the list gives it: from the window it reads, or from everything if it asks for it."""
    record = made.session(-3, None, None, None).record()
    spans, known_from = windows(sorted([record.registered_on, record.steps[-1].on]), TODAY)

    def is_read(entry: Entry) -> bool:
        return any(low <= entry.on.isoformat() < high for low, high in spans)

    kept = {name: tuple(e for e in getattr(record, name) if is_read(e)) for name in ("sessions", "mornings")}
    try:
        read = tuple(as_dates(span) for span in spans) if known_from else ()
        return stand(replace(record, **kept, known_from=known_from, known_spans=read), rules(), TODAY)
    except NeedsFullHistory:
        return stand(record, rules(), TODAY)


def test_ruling_11_the_list_sees_creep_whose_first_baseline_lies_outside_its_window() -> None:
    """No morning told in the first 45 days, 2 from day 48 on, 5 now: creep of three, on the list too."""
    made = case("OA2", day=148, last_visit=5).mornings(-100, *[2] * 20).mornings(-80, *[3] * 20)
    made.mornings(-60, *[4] * 20).mornings(-40, *[5] * 40)
    assert reason(standing_of(made), "FLA").severity == 3
    assert as_listed(made) == standing_of(made)
    two_at_first = case("RC2", day=190, last_visit=5).mornings(-190, 0, 0).mornings(-120, *[1] * 20)
    two_at_first.mornings(-40, *[4] * 41)
    assert reason(standing_of(two_at_first), "FLA").severity == 3
    assert as_listed(two_at_first) == standing_of(two_at_first)
    silent_between = case("OA2", day=148, last_visit=5).mornings(-100, *[2] * 20).mornings(-30, *[5] * 30)
    assert "FLA" in live_codes(silent_between)
    assert as_listed(silent_between) == standing_of(silent_between)


def test_ruling_11_the_list_sees_creep_against_the_days_before_the_step() -> None:
    """Baseline at stage entry rests on mornings before the step: 0 then, told again as 2 a week later."""
    made = case("FS2", day=129, first=195, last_visit=5).mornings(-195, *[2] * 10).mornings(-140, *[0] * 11)
    made.mornings(-120, *[1] * 40).mornings(-80, *[2] * 80)
    assert reason(standing_of(made), "FLA").severity == 2
    assert as_listed(made) == standing_of(made)
    later = case("RC4", day=62, first=137, last_visit=5).mornings(-137, *[4] * 10).mornings(-75, *[3] * 8)
    later.mornings(-60, *[2] * 20).mornings(-40, *[4] * 40)
    assert as_listed(later) == standing_of(later)


# --- dangers: what clears a reason, and what does not ----------------------------------------------------


def test_ruling_42_a_settled_morning_recalled_late_settles_nothing() -> None:
    """Told more than 3 days later it counts where it shows a breach, not where it comforts (4.13, 4)."""
    made = twos(case("RC2", day=20)).session(-9, 8, 3, None).session(-8, 8, 3, None)
    made.morning(-6, 2, recorded=-1).morning(-5, 2, recorded=0)
    assert "FLA" in live_codes(made)
    assert "FLA" not in live_codes(made.morning(-4, 2).morning(-3, 2))


def test_ruling_51_a_decision_does_not_cover_a_score_recorded_after_it() -> None:
    """Score filled in before the decision visit, entered after it: nobody had it in hand (ruling 46)."""
    made = case("RC2", day=40, scored=False, last_visit=6).score(-40, "SPADI", 40)
    made.visit(-3, decision=True).score(-5, "SPADI", 70, recorded=-1)
    assert "WRS" in live_codes(made)


def test_ruling_51_a_red_flag_is_not_cleared_by_a_later_no() -> None:
    """RED needs its recorded outcome: asked again and answered no is none (2.2)."""
    made = ready_rc2().screen(-6, MASS, "yes").screen(-2, MASS, "no").screen_all_no(-1)
    assert "RED" in live_codes(made)
    assert word(made) is Word.REFER


def test_ruling_51_an_unknown_age_is_not_young() -> None:
    """A clinic's own refer rule from 40 on, age not recorded: it speaks, and says that nobody knows.

    Absence is never zero. The shipped rules ask no age of a cuff (ruling 66)."""
    stiff = own_refer("AD", "image cuff", ("firm end-feel", "yes"), age_from=40, from_day=14)
    made = standing_of(ready_ad1(day=16, age_band=None).finding(-1, "firm end-feel"), using=stiff)
    assert (made.verdict.word, made.verdict.rule) == (Word.REFER, "image cuff")
    assert "age not recorded" in made.verdict.line
    young = standing_of(ready_ad1(day=16, age_band="20s").finding(-1, "firm end-feel"), using=stiff)
    assert young.verdict.word is Word.READY
    assert "younger than 40, but otherwise" in printed(young)
    early = standing_of(ready_ad1(day=13, onset=13, age_band="50s").finding(-1, "firm end-feel"), using=stiff)
    assert early.verdict.word is Word.READY


def test_ruling_47_another_device_does_not_end_a_confirmed_loss() -> None:
    """A new series has no drift of its own; the loss of the old one was not measured again (4.13, 34)."""
    made = case("RC2", day=30).measure(-28, ROTATION, 60).measure(-15, ROTATION, 42).measure(-8, ROTATION, 42)
    assert "STF" in live_codes(made)
    assert "STF" in live_codes(made.measure(-1, ROTATION, 41, method="inclinometer"))


def test_ruling_25_an_old_screen_of_the_other_side_is_no_screen_of_this_episode() -> None:
    """Shared between both sides of one time (4.13, 1); an answer of 400 days before says nothing today."""
    made = case("RC2", day=20, screened=False, linked=("C-02",)).screen_all_no(-400)
    assert "SCR" in live_codes(made)
    both = case("RC2", day=20, screened=False, linked=("C-02",)).screen_all_no(-20)
    assert "SCR" not in live_codes(both)


def test_ruling_46_a_new_cause_makes_a_flare_in_hand_live() -> None:
    """Load cut for two flares; then four more nights woken: new evidence, live with its own date."""
    made = twos(case("RC2", day=30)).session(-6, 8, 3, None).session(-5, 8, 3, None)
    made.measure(-12, "night_waking", 1).in_hand(-4, "FLA", 5)
    assert reason(standing_of(made), "FLA").in_hand
    made.measure(-1, "night_waking", 5)
    now = reason(standing_of(made), "FLA")
    assert (now.in_hand, now.days_open) == (False, 1)


# --- dangers: READY into a stage whose work would at once be a breach ------------------------------------


def work_of(made: Builder, stage: str) -> list[str]:
    """Live reasons once the case is stepped to ``stage`` today with every class of it in the programme."""
    found = rules().pathways[stage[:2]].stage(stage)
    assert found is not None
    made.step(0, stage)
    for load_class in found.allowed:
        made.programme(0, load_class)
    return live_codes(made)


def test_ruling_62_an_order_that_shuts_the_present_stage_shuts_the_next() -> None:
    """PO2 on day 60, the newest order opens stage 2 in ten days: PO3 cannot be open before PO2 is."""

    def made(opens: int) -> Builder:
        one = twos(case("PO2", day=30, onset=60)).good(3, last=-5, P1=(3, 10))
        return one.clearance(-3, "surgeon").finding(-3, "sling weaned").orders(-1, stage2_from=opens)

    assert word(made(-1)) is Word.READY
    assert "LIM" not in work_of(made(-1), "PO3")
    assert word(made(10)) is not Word.READY


def test_ruling_27_union_opens_work_and_step_alike() -> None:
    """FX3 on day 38 with union: if READY for FX4, its work is no breach (ruling 27: on any day)."""
    made = twos(case("FX3", day=28, onset=38)).good(3, last=-2, P1=(3, 10)).clearance(-3, "union")
    made.measure(-2, "active_flexion", 110).measure(-2, "night_pain", 2)
    if word(made) is Word.READY:
        assert "LIM" not in work_of(made, "FX4")
