"""The edge cases of the clinic's practice notes, table 4.13, one test each, numbered as there.

The expected answer is that of the table, with the rulings of section 12 standing over it where a docstring
names one. Cases that are about later work (a discharge form's refusals, dose proposals) are not here.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from armrise.store.clinic.case.standing import CriterionResult, Standing, Truth, Word
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from tests.clinic.build import TODAY, Builder, case, codes, on, reason, rules, standing_of, waiting


def spoken(standing: Standing) -> str:
    """Every word the standing says, lower case, to look for a caution wherever it is printed."""
    return repr(standing).lower()


def cautions(standing: Standing) -> str:
    """The cautions of the case and of its verdict, lower case."""
    return " | ".join((*standing.cautions, *standing.verdict.cautions, *standing.extra)).lower()


def criterion(standing: Standing, word: str) -> CriterionResult:
    """The first criterion whose text contains ``word``."""
    found = [c for c in standing.verdict.criteria if word in c.text.lower()]
    assert found, [c.text for c in standing.verdict.criteria]
    return found[0]


def run_of(made: Builder, *, every: int = 2, count: int = 3, last: int = -2, pain: int = 2) -> Builder:
    """Usual mornings of ``pain`` and ``count`` good sessions."""
    made.mornings(last - (count - 1) * every - 5, pain, pain, pain)
    return made.good(count, last=last, every=every, morning=pain)


def rc1(day: int = 12, **head: Any) -> Builder:
    """RC1 with everything met but the run of good sessions."""
    made = case("RC1", day=day, **head).measure(-7, "night_pain", 3).measure(-1, "night_pain", 2)
    return made.measure(-1, "worst_pain", 5).both(-1, "active_flexion", 150, 160)


def caseload(entries: list[dict[str, Any]], **head: Any) -> dict[str, Any]:
    """A caseload file with one case holding ``entries``."""
    usual = {"code": "C-01", "person": "P-01", "side": "RIGHT", "pathway": "RC", "clinician": "TK"}
    one = {**usual, "referrer": "GP", "age_band": "50s", "registered": -40, "entries": entries, **head}
    return {
        "format": "armrise caseload 1",
        "clinic_date": TODAY.isoformat(),
        "zone": "Europe/London",
        "fictional": True,
        "clinic": "test clinic",
        "cases": [one],
    }


FIRST: list[dict[str, Any]] = [
    {"kind": "visit", "on": -40, "author": "TK", "interval": 21},
    {"kind": "screen", "on": -40, "author": "TK", "item": "all", "answer": "no"},
    {"kind": "step", "on": -40, "author": "TK", "stage": "RC1", "direction": "placing"},
]


def refused(*entries: dict[str, Any]) -> str:
    """Why the caseload file with these entries is refused."""
    from armrise.store.exchange.into.caseload_file import CaseloadRefused, parse

    with pytest.raises(CaseloadRefused) as refusal:
        parse(caseload([*FIRST, *entries]), "test.json")
    return " ".join(str(fault) for fault in refusal.value.faults)


def accepted(*entries: dict[str, Any]) -> int:
    """Number of entries taken from the caseload file with these entries."""
    from armrise.store.exchange.into.caseload_file import parse

    return len(parse(caseload([*FIRST, *entries]), "test.json").cases[0].entries)


# -- people and sides -------------------------------------------------------------------------------------


def test_case_01_both_shoulders_share_the_screen(tmp_path: Path):
    """Two cases, linked person; the red-flag screen is shared; each prints its side in full (clarification
    11.6: a red flag of a person shows on both cases)."""
    from armrise.store.caseload.read import case as read_case
    from armrise.store.caseload.taking.take import take_whole
    from armrise.store.database.place import Store
    from armrise.store.exchange.into.caseload_file import parse

    flagged = {"kind": "screen", "on": -1, "author": "TK", "item": "motor or sensory loss", "answer": "yes"}
    data = caseload([*FIRST, flagged])
    other = {**data["cases"][0], "code": "C-02", "side": "LEFT", "entries": [FIRST[0], FIRST[2]]}
    data["cases"].append(other)
    store = Store.create(tmp_path / "clinic.armrise", zone="Europe/London")
    take_whole(store, parse(data, "test.json"))
    right, left = (standing_of(read_case(store, code)) for code in ("C-01", "C-02"))
    assert (right.side, left.side) == ("RIGHT", "LEFT")
    assert "RED" in codes(right)
    assert "RED" in codes(left)
    assert "SCR" not in codes(left), "the screen of the person was asked once, for both"
    assert left.linked == ("C-01",)


def test_case_01_both_shoulders_have_no_other_side():
    """Other-side reference unavailable: a value is judged by the case's own first and best, never by the
    other shoulder, which is a case too."""
    made = rc1(linked=("C-02",)).both(-1, "passive_external_rotation", 20, 55)
    made.measure(-12, "active_flexion", 170).both(0, "active_flexion", 100, 105)  # 95 % of other, 59 % of own
    found = standing_of(made)
    assert criterion(found, "flexion").state is not Truth.MET
    assert "STF" not in codes(found)


def test_case_02_pain_zero_throughout():
    """0 is data: baseline 0, 0 to 3 next morning is a flare, READY still needs the function criteria."""
    calm = standing_of(run_of(case("RC2", day=30), pain=0).session(-1, 0, 0, 0))
    assert (calm.pain.during, calm.pain.later, calm.pain.morning, calm.pain.baseline) == (0, 0, 0, 0)
    assert calm.verdict.word is Word.UNKNOWN
    flare = case("RC2", day=30).mornings(-12, 0, 0, 0).session(-4, 0, 0, 3).session(-2, 0, 0, 3)
    assert reason(standing_of(flare), "FLA").severity == 3
    raised = case("RC2", day=30).mornings(-12, 0, 0, 0).session(-4, 0, 0, 2).session(-2, 0, 0, 2)
    assert "FLA" not in codes(standing_of(raised))
    assert criterion(standing_of(raised), "good session").state is Truth.NOT_MET


def test_case_02_pain_zero_opens_no_gate():
    """PO: gate unaffected by painlessness."""
    found = standing_of(run_of(case("PO2", day=25, onset=39), pain=0).clearance(-1, "surgeon"))
    assert found.verdict.word is Word.NOT_YET


def test_case_03_other_side_is_no_reference():
    """Percent criteria become unknown; a target typed by the clinician with its reason replaces them."""
    made = rc1().finding(-1, "other side is a reference", "no")
    assert criterion(standing_of(made), "flexion").state is Truth.UNKNOWN
    assert criterion(standing_of(made.target(-1, "active_flexion", 150)), "flexion").state is Truth.MET
    higher = rc1().finding(-1, "other side is a reference", "no").target(-1, "active_flexion", 151)
    judged = criterion(standing_of(higher), "flexion")
    assert judged.state is Truth.NOT_MET
    assert "target 151" in judged.needed + judged.observed


# -- time -------------------------------------------------------------------------------------------------


def late(recorded: int, morning: int = 2) -> Builder:
    """RC1, three good sessions, the middle one of D-6 recorded on ``recorded``."""
    made = rc1(day=14).mornings(-13, 2, 2, 2).session(-8, 3, 2, 2)
    return made.session(-6, 3, 2, morning, recorded=recorded).session(-2, 3, 2, 2)


def test_case_04_late_check_in_counts_by_its_day_but_does_not_qualify():
    """Counted by happened date; recalled more than 3 days later the morning is unknown for qualifying."""
    in_time = standing_of(late(-4))
    assert criterion(in_time, "good session").state is Truth.MET
    recalled = standing_of(late(0))
    assert criterion(recalled, "good session").state is Truth.UNKNOWN
    assert "recorded 6 days later" in cautions(recalled)


def test_case_04_late_check_in_still_shows_a_breach():
    """... still counts if it shows a breach."""
    made = case("RC2", day=20).mornings(-13, 2, 2, 2)
    made.session(-6, 3, 2, 6, recorded=0).session(-4, 3, 2, 6, recorded=0)
    assert "FLA" in codes(standing_of(made))


def test_case_05_daylight_saving_is_no_day():
    """Date arithmetic only: the clocks of Europe/London went forward on 29 March 2026."""
    today = date(2026, 4, 2)
    made = case("RC2", day=10, last_visit=None, interval=7, today=today)
    found = standing_of(made, today)
    assert (found.days_in_stage, found.review.overdue_days) == (10, 3)


def test_case_06_the_clinics_zone_is_set_in_the_store(tmp_path: Path):
    """Clinic zone set in the file, not from the machine."""
    from armrise.store.database.place import Store

    instant = datetime(2026, 3, 1, 12, 30, tzinfo=UTC)
    far = Store.create(tmp_path / "far.armrise", zone="Pacific/Auckland")
    near = Store.create(tmp_path / "near.armrise", zone="Europe/London")
    assert far.today(instant) == date(2026, 3, 2)
    assert near.today(instant) == date(2026, 3, 1)


def test_case_07_a_check_in_belongs_to_the_day_it_names():
    """The exercise day named, not the typing instant."""
    made = case("RC2", day=20).session(-1, 3, 2, 2, recorded=0)
    found = standing_of(made)
    assert (found.pain.date, found.pain.days_ago) == (on(-1), 1)


def test_case_08_two_check_ins_of_one_day_the_worse_counts():
    """Keep both; the worse class counts; at most one session per calendar date counts (4.3)."""
    good = run_of(rc1())
    assert criterion(standing_of(good), "good session").state is Truth.MET
    worse = run_of(rc1()).session(-4, 6, 2, 2, ordinal=2)
    assert criterion(standing_of(worse), "good session").state is Truth.NOT_MET
    doubled = rc1().mornings(-10, 2, 2, 2).good(2).session(-1, 3, 2, 2, ordinal=2)
    assert criterion(standing_of(doubled), "good session").state is Truth.UNKNOWN


def test_case_08_the_same_check_in_twice_is_questioned():
    """Duplicates identical within 10 minutes are flagged "duplicate?", and both kept (ruling 76: of equal
    ordinal; a second session of the day is none)."""
    once = case("RC2", day=20).session(-3, 3, 2, 2)
    twice = case("RC2", day=20).session(-3, 3, 2, 2).session(-3, 3, 2, 2)
    assert "duplicate?" in cautions(standing_of(twice))
    second = case("RC2", day=20).session(-3, 3, 2, 2).session(-3, 3, 2, 2, ordinal=2)
    assert "duplicate?" not in cautions(standing_of(second))
    assert "duplicate?" not in cautions(standing_of(once))
    other = case("RC2", day=20).session(-3, 3, 2, 2).session(-3, 4, 2, 2)
    assert "duplicate?" not in cautions(standing_of(other))


def test_case_09_future_observations_are_refused():
    """Refused; future appointments allowed."""
    said = refused({"kind": "session", "on": 1, "author": "TK", "during": 3})
    assert "2026-03-03" in said
    booked = {"kind": "appointment", "on": 0, "author": "TK", "booked_for": 5}
    assert accepted(booked) == len(FIRST) + 1


def test_case_10_a_date_before_the_episode_is_refused_or_history():
    """Refused, or filed as history if marked."""
    early = {"kind": "measure", "on": -60, "author": "TK", "name": "passive_flexion", "value": 150}
    assert "2026-01-01" in refused(early)
    assert accepted({**early, "history": True}) == len(FIRST) + 1


def test_case_10_history_is_no_observation_of_this_episode():
    """4.6: best is the largest value in this episode."""
    made = case("RC2", day=20).measure(-60, "passive_flexion", 170, history=True)
    assert "WAT" not in codes(standing_of(made.measure(-1, "passive_flexion", 150)))
    inside = case("RC2", day=20).measure(-20, "passive_flexion", 170)
    assert "WAT" in codes(standing_of(inside.measure(-1, "passive_flexion", 158)))


def test_case_11_step_back_then_forward():
    """4.11: days in stage restart; the minimum counts as served when the total reaches it and the step back
    lasted at most 14 days."""

    def back_for(days: int) -> Standing:
        made = case("RC2", day=60)
        return standing_of(made.step(-4 - days, "RC1").step(-4, "RC2"))

    short, long = back_for(14), back_for(15)
    assert short.days_in_stage == 4
    assert short.total_days_in_stage == 60 - 14
    assert _minimum(short) is Truth.MET
    assert _minimum(long) is Truth.NOT_MET


def _minimum(standing: Standing) -> Truth:
    """State of the minimum-days criterion: the one that opens on a date, met when none does."""
    opening = [c for c in standing.verdict.criteria if c.opens_on and c.state is Truth.NOT_MET]
    return Truth.NOT_MET if opening else Truth.MET


def test_case_12_two_forward_steps_in_one_day():
    """Refused unless override; the initial placement is free, not a step."""
    placed = [e for e in FIRST if e["kind"] != "step"]
    first = {"kind": "step", "on": -1, "author": "TK", "stage": "RC2", "direction": "forward"}
    second = {**first, "stage": "RC3"}
    assert "override" in refused(first, second)
    why = {"override_category": "patient goal", "override_reason": "back to rowing already"}
    assert accepted(first, {**second, **why}) == len(FIRST) + 2
    placing = {"kind": "step", "on": -1, "author": "TK", "stage": "RC1", "direction": "placing"}
    from armrise.store.exchange.into.caseload_file import parse

    taken = parse(caseload([*placed, placing, first]), "test.json")
    assert len(taken.cases[0].entries) == len(FIRST) + 1


# -- holds ------------------------------------------------------------------------------------------------


def test_case_13_a_hold_stops_stall_and_silence():
    """Days in stage stop for the stall and for silence (ruling 32: minimum days and days in stage run on)."""
    without = standing_of(case("RC2", day=60))
    assert "STL" in codes(without)
    held = standing_of(case("RC2", day=60).hold(-30, -20))
    assert "STL" not in codes(held)
    assert held.days_in_stage == 60
    silent = case("RC3", day=25, last_visit=None, interval=28).morning(-28, 2)
    assert "SIL" in codes(standing_of(silent))  # threshold 21 days
    paused = case("RC3", day=25, last_visit=None, interval=28).morning(-28, 2).hold(-15, -5)
    assert "SIL" not in codes(standing_of(paused))


def test_case_13_a_hold_keeps_healing_gates_running():
    """Biology does not pause."""
    made = case("PO2", day=30, onset=44).hold(-20, -2, named="consultant A")
    found = standing_of(made)
    assert not [c for c in found.verdict.criteria if c.opens_on and c.state is Truth.NOT_MET]


def test_case_13_a_review_due_inside_the_hold_moves_to_its_end():
    """A review due before the hold end is moved to the hold end; the original date is kept and printed."""
    made = case("RC2", day=40, last_visit=31, interval=21).contact(-6).hold(-20, -5)
    found = standing_of(made)
    assert found.review.due == on(-5)
    assert found.review.original_due == on(-10)
    assert found.review.overdue_days == 5
    later = standing_of(case("RC2", day=40, last_visit=31, interval=21).contact(-6).hold(-30, -20))
    assert later.review.due == on(-10)


def test_case_13_sessions_before_the_hold_count_within_21_days_only():
    """Sessions before the hold count only if within the 21 days of ruling 75."""
    recent = rc1(day=30).mornings(-17, 2, 2, 2).good(3, last=-9).hold(-8, -1)
    assert criterion(standing_of(recent), "good session").state is Truth.MET
    older = rc1(day=30).mornings(-27, 2, 2, 2).good(3, last=-18).hold(-17, -1)
    assert criterion(standing_of(older), "good session").state is not Truth.MET


def test_case_14_hold_ended_without_a_decision():
    """Overdue from the hold end, wording "hold ended 25 Feb, no decision"; the original due date shown."""
    found = standing_of(case("RC2", day=40, last_visit=31, interval=21).contact(-6).hold(-20, -5))
    overdue = reason(found, "OVD1")
    assert (overdue.severity, overdue.days_open) == (23, 5)  # 5 of 21 days
    assert re.search("hold ended .*25 feb, no decision", overdue.sentence.lower())
    assert found.review.original_due == on(-10)


def test_case_15_a_hold_does_not_hide_a_red_flag():
    """A hold does not hide tier A; ruling 3: the verdict is REFER even on hold."""
    made = case("RC2", day=20).hold(-5, 9).screen(-1, "hot or swollen joint, or unwell", "yes", severity=3)
    found = standing_of(made)
    assert found.status == "on hold"
    assert found.tier == "today"
    assert found.verdict.word is Word.REFER


def test_case_15_a_hold_alone_has_no_verdict():
    """4.8 line 1, the other side; ruling 32: a hold is active while start <= T < end."""
    assert standing_of(case("RC2", day=20).hold(-5, 1)).verdict.word is Word.ON_HOLD
    assert standing_of(case("RC2", day=20).hold(-5, 0)).verdict.word is not Word.ON_HOLD


# -- reopened, injured again, operated --------------------------------------------------------------------


def reopened(after: int, **more: Any) -> Standing:
    """RC2 from D-200, discharged, and reopened five days ago ``after`` days later."""
    made = case("RC2", day=200, last_visit=None).discharge(-5 - after)
    return standing_of(made.letter(-5 - after).reopen(-5, **more).visit(-5).screen_all_no(-5))


def test_case_16_reopened_within_90_days_goes_on():
    """Same episode reopened, all clocks continue."""
    found = reopened(90)
    assert found.status == "active"
    assert found.days_in_episode == 200


def test_case_16_a_reopened_case_is_screened_again_and_shows_its_gap():
    """... gap shown; screen repeated."""
    made = case("RC2", day=100, last_visit=None).discharge(-35).letter(-35).reopen(-5).visit(-5)
    owed = reason(standing_of(made), "SCR")
    assert owed.days_open == 5
    assert "SCR" not in codes(standing_of(made.screen_all_no(-5)))
    assert re.search("reopened|closed", cautions(standing_of(made)))


def test_case_17_reopened_later_or_by_a_new_mechanism_begins_again():
    """After 90 days or new mechanism: a new episode."""
    assert reopened(91).days_in_episode == 5
    assert reopened(30, new_mechanism=True).days_in_episode == 5


def test_case_18_re_injury_blocks_and_restarts_no_clock():
    """INJ; verdict blocked (ruling 43); the healing clock restarts only with a new injury date."""
    made = case("AD2", day=20, onset=50).event(-2, "fall")
    found = standing_of(made)
    assert reason(found, "INJ").severity == 1
    assert found.verdict.word is Word.NOT_YET
    assert "injury" in found.verdict.line.lower()
    assert found.days_since_onset == 50
    again = standing_of(made.visit(-1, injury_assessed=True).onset(-2, "dislocation"))
    assert again.days_since_onset == 2
    assert "INJ" not in codes(again)


def test_case_18_best_values_restart_with_the_new_injury_date():
    """... previous series kept, best restarts."""
    before = case("AD3", day=30).measure(-30, "passive_flexion", 170).measure(-1, "passive_flexion", 156)
    assert "WAT" in codes(standing_of(before))
    assert "WAT" not in codes(standing_of(before.onset(-10, "dislocation")))


def test_case_19_surgery_during_a_conservative_pathway():
    """Surgery opens PO within the same episode; the old programme stops on that date."""
    made = case("RC2", day=60).programme(-40, "R1").onset(-10, "surgery").orders(-10, surgeon="consultant A")
    made.step(-10, "PO1", "placing").visit(-9).screen_all_no(-9)
    found = standing_of(made)
    assert (found.pathway, found.stage, found.days_in_stage) == ("PO", "PO1", 10)
    assert found.days_since_onset == 10
    assert "LIM" not in codes(found)
    kept = standing_of(made.programme(-3, "R1"))
    assert reason(kept, "LIM").severity == 3


def test_case_19_surgery_opens_no_new_episode():
    """... within the same episode."""
    made = case("RC2", day=60).onset(-10, "surgery").orders(-10, surgeon="consultant A")
    made.step(-10, "PO1", "placing").visit(-9).screen_all_no(-9)
    assert standing_of(made).days_in_episode == 60


def test_case_20_surgery_date_unknown_opens_no_gate():
    """PO1, no gate opens: UNKNOWN "surgery date missing"; the date recomputes the gates."""
    made = case("PO1", day=20, onset=-1).orders(-20, surgeon="consultant A").finding(-1, "wound dry")
    found = standing_of(made)
    assert found.verdict.word is Word.UNKNOWN
    assert "surgery date missing" in spoken(found)
    assert standing_of(made.onset(-20, "surgery")).verdict.word is Word.READY


def test_case_21_a_new_order_judges_nothing_done_before_it():
    """New order dated, old retained; effective from document date; past sessions not re-judged."""
    made = case("PO2", day=16, onset=30, ordered=False)
    made.orders(-30, sling_until=-20).session(-10, 1, 1, 1, sling_off=True)
    assert "LIM" not in codes(standing_of(made))
    made.orders(-5, sling_until=5)
    assert "LIM" not in codes(standing_of(made))
    made.session(-3, 1, 1, 1, sling_off=True)
    assert reason(standing_of(made), "LIM").severity == 1


def test_case_22_a_vague_order_leaves_the_template():
    """Stored as text; the template still applies unless a numeric limit or date is typed."""
    made = case("PO2", day=16, onset=30, ordered=False).orders(-30, text="movement as tolerated")
    made.session(-1, 0, 0, A2=(3, 10))
    assert reason(standing_of(made), "LIM").severity == 2
    calm = case("PO2", day=16, onset=30, ordered=False).orders(-30, text="movement as tolerated")
    assert "SCR" not in codes(standing_of(calm))


# -- people who need another reading ----------------------------------------------------------------------


def test_case_23_a_minor_is_marked_adult_data():
    """Adult thresholds marked; AD: surgical opinion prompt (ruling 35: a prompt, not a REFER)."""
    found = standing_of(case("AD2", day=10, age_band="under 16"))
    assert "adult" in cautions(found)
    assert found.verdict.word is not Word.REFER
    assert "adult" not in cautions(standing_of(case("AD2", day=10, age_band="30s")))


def test_case_23_a_surgical_opinion_is_prompted_until_answered():
    """AD: surgical opinion prompt for a minor (3.4: under 25, or contact sport); its answer is recorded."""
    young = case("AD2", day=10, age_band="under 16")
    assert "surgical opinion" in spoken(standing_of(young))
    sport = case("AD2", day=10, age_band="30s").finding(-5, "contact or overhead sport")
    assert "surgical opinion" in spoken(standing_of(sport))
    assert "surgical opinion" not in spoken(standing_of(case("AD2", day=10, age_band="30s")))
    answered = young.finding(-1, "surgical opinion offered")
    assert "offer a surgical opinion" not in spoken(standing_of(answered))


@pytest.mark.parametrize("fact", ["pregnancy", "cancer history", "anticoagulant", "osteoporosis"])
def test_case_24_context_is_a_caution_and_no_rule(fact: str):
    """Caution lines; no rule changes."""
    plain = standing_of(run_of(rc1()))
    made = run_of(rc1()).finding(-1, fact, "yes")
    if fact == "cancer history":
        # Ruling 67: the "no" of the red-flag list does not go with it until somebody says why it does.
        assert "SCR" in codes(standing_of(made))
        made.screen(-1, "cancer in the past", "no", note="skin, 1998, cured")
    found = standing_of(made)
    assert fact in cautions(found)
    assert (found.verdict.word, codes(found)) == (plain.verdict.word, codes(plain))


# -- the end of an episode --------------------------------------------------------------------------------


def test_case_25_a_discharge_leaves_a_letter_owed():
    """The letter becomes an owed item, from the discharge date (ruling 23); scores are not owed (54)."""
    found = standing_of(case("RC4", day=60).discharge(-5))
    assert found.status == "closed"
    assert [(r.code, r.severity, r.days_open) for r in found.reasons] == [("LTR", 5, 5)]
    assert found.verdict.word is Word.NONE
    assert codes(standing_of(case("RC4", day=60).discharge(-5).letter(-2))) == []
    assert codes(standing_of(case("RC4", day=60).discharge(-5, letter=False))) == []


def test_case_26_a_message_after_discharge():
    """Stored, flagged in the contact tier, not reopened; 58: days since the first one; 63: rank."""
    made = case("RC4", day=60, last_visit=20).discharge(-9).letter(-9)
    made.session(-4, 3, 2, 2).session(-2, 3, 2, 2)
    found = standing_of(made)
    assert found.status == "closed"
    assert codes(found) == ["MSG"]
    owed = reason(found, "MSG")
    assert (owed.tier, owed.severity, owed.days_open, owed.rank) == ("contact owed", 4, 4, 13)
    assert codes(standing_of(made.contact(-1))) == []


@pytest.mark.parametrize("outcome", ["died", "moved"])
def test_case_27_a_person_who_died_or_moved_prompts_nothing(outcome: str):
    """Closed with a neutral reason; all prompts stop at once, letters suppressed."""
    made = case("RC2", day=60, last_visit=40, interval=7).missed(-20).discharge(-3, outcome)
    found = standing_of(made)
    assert found.status == "closed"
    assert codes(found) == []
    assert found.tier == "none"


def test_case_27_death_stops_an_open_flag_too():
    """All prompts stop at once."""
    made = case("RC2", day=30).screen(-3, "motor or sensory loss", "yes").discharge(-2, "died")
    assert codes(standing_of(made)) == []


# -- sessions and criteria --------------------------------------------------------------------------------


def test_case_28_a_missing_morning_makes_no_progress():
    """Session incomplete; no progress."""
    made = rc1(day=14).mornings(-13, 2, 2, 2).session(-6, 3, 2, 2).session(-4, 3, 2, None)
    made.session(-2, 3, 2, 2)
    judged = criterion(standing_of(made), "good session")
    assert judged.state is Truth.UNKNOWN
    assert criterion(standing_of(made.session(-1, 3, 2, 2)), "good session").state is Truth.MET


def test_case_29_few_sessions_is_a_caution():
    """All good but few sessions: READY with caution "few sessions: 3 in 14 days", counted where each of the
    two weeks holds a session (ruling 76); dose-complete failing makes it no run."""
    made = run_of(rc1(day=20), every=3).programme(-20, "A1", per_week=5)
    found = standing_of(made)
    assert found.verdict.word is Word.READY
    assert "few sessions: 3 in 14 days" in cautions(found)
    often = run_of(rc1(day=20), every=1, count=11).programme(-20, "A1", per_week=5)
    assert "few sessions" not in cautions(standing_of(often))


def test_case_29_an_incomplete_dose_is_no_run():
    """4.3: at least 80 per cent of the prescribed sets (ruling 16: sets not recorded is incomplete)."""
    from tests.clinic.build import item

    def done(sets: int | None) -> Truth:
        made = rc1().mornings(-11, 2, 2, 2)
        for day in (-6, -4, -2):
            made.session(day, 3, 2, 2, item("A1", sets, 10, sets_asked=5))
        return criterion(standing_of(made), "good session").state

    assert done(4) is Truth.MET
    assert done(3) is Truth.NOT_MET
    assert done(None) is Truth.UNKNOWN


def test_case_30_more_than_prescribed():
    """Counts as qualifying for pain, shown as "self-progressed"."""
    from tests.clinic.build import item

    made = rc1().mornings(-11, 2, 2, 2)
    for day in (-6, -4, -2):
        made.session(day, 3, 2, 2, item("A1", 4, 15, sets_asked=3, reps_asked=10))
    found = standing_of(made)
    assert found.verdict.word is Word.READY
    assert "self-progressed" in spoken(found)


def test_case_30_more_than_prescribed_in_a_healing_stage():
    """... in a healing stage it is a broken limit."""
    from tests.clinic.build import item

    asked = case("PO2", day=16, onset=30).session(-1, 1, 1, None, item("P1", 3, 10, sets_asked=3))
    assert "LIM" not in codes(standing_of(asked))
    more = case("PO2", day=16, onset=30).session(-1, 1, 1, None, item("P1", 5, 20, sets_asked=3))
    assert "LIM" in codes(standing_of(more))


def test_case_31_masked_pain():
    """Injection within 6 weeks, new analgesic within 14 days: READY allowed in RC with caution..."""
    for what, day in (("injection", -21), ("analgesic", -5)):
        found = standing_of(run_of(rc1(day=30)).medicine(day, what))
        assert found.verdict.word is Word.READY
        assert f"masked: {what}" in cautions(found)
    old = standing_of(run_of(rc1(day=60)).medicine(-43, "injection").medicine(-15, "analgesic"))
    assert "masked" not in cautions(old)


def test_case_31_masked_pain_after_surgery():
    """... never opens a healing gate (ruling 15: pain criteria unknown in PO, AD and FX)."""
    made = case("PO3", day=44, onset=86).measure(-1, "active_flexion", 130).session(-2, 2, 2, 1, A2=(3, 10))
    made.finding(-1, "shrug seen", "no").clearance(-1, "surgeon", scope="resisted")
    assert standing_of(made).verdict.word is Word.READY
    assert standing_of(made.medicine(-5, "analgesic")).verdict.word is Word.UNKNOWN


def test_case_32_baseline_unknown():
    """Sessions incomplete, so no qualifying; print "2 more mornings needed"."""
    made = rc1(day=5).morning(-4, 2).session(-2, 3, 2, None)
    found = standing_of(made)
    assert criterion(found, "good session").state is Truth.UNKNOWN
    assert "2 more mornings" in spoken(found)
    assert found.pain.baseline is None


def test_case_33_another_rater_widens_the_allowance():
    """Watch from 10 degrees with one rater, from 20 with two; both initials printed."""

    def lost(degrees: int, rater: str) -> Standing:
        made = case("RC3", day=30).measure(-30, "passive_flexion", 160)
        return standing_of(made.measure(-1, "passive_flexion", 160 - degrees, rater=rater))

    assert "WAT" not in codes(lost(9, "TK"))
    assert "WAT" in codes(lost(10, "TK"))
    assert "WAT" not in codes(lost(19, "AB"))
    watched = reason(lost(20, "AB"), "WAT")
    assert watched.severity == 20
    assert "TK" in watched.sentence
    assert "AB" in watched.sentence


def test_case_34_another_device_or_position_is_a_new_series():
    """New series; no drift across series."""
    for change in ({"method": "inclinometer"}, {"position": "sitting"}):
        made = case("RC3", day=30).measure(-30, "passive_flexion", 160)
        found = standing_of(made.measure(-1, "passive_flexion", 130, **change))
        assert codes(found) == []


def test_case_35_another_version_or_language_is_not_comparable():
    """Not comparable; baseline re-taken."""
    made = case("RC3", day=30, scored=False).score(-30, "SPADI", 40, version="1991", language="en")
    worse = made.score(-1, "SPADI", 60, version="1991", language="en")
    assert reason(standing_of(worse), "WRS").severity == 2
    for change in ({"version": "2009", "language": "en"}, {"version": "1991", "language": "no"}):
        other = case("RC3", day=30, scored=False).score(-30, "SPADI", 40, version="1991", language="en")
        assert "WRS" not in codes(standing_of(other.score(-1, "SPADI", 60, **change)))


def test_case_36_an_incomplete_questionnaire_leaves_the_score_owed():
    """Stored as "incomplete", no total, the score stays due."""
    made = case("RC3", day=20, first=51, scored=False).score(-51, "SPADI", 46).score(-2, "SPADI", None)
    found = standing_of(made)
    assert reason(found, "PRM").days_open == 9
    assert "PRM" not in codes(standing_of(made.score(-1, "SPADI", 40)))


def test_case_37_score_improves_but_patient_says_worse():
    """Global change against the score: a contradiction, for the clinician to decide."""
    made = case("RC3", day=20).score(-1, "GROC", -4)
    found = standing_of(made)
    assert "disagree" in cautions(found)
    assert "disagree" not in cautions(standing_of(case("RC3", day=20).score(-1, "GROC", 4)))


def test_case_38_measured_once_where_two_are_needed():
    """Not met if the single value fails; unknown ("one more needed") if it passes."""
    fails = criterion(standing_of(case("RC1", day=10).measure(-1, "night_pain", 4)), "night")
    assert fails.state is Truth.NOT_MET
    passes = criterion(standing_of(case("RC1", day=10).measure(-1, "night_pain", 3)), "night")
    assert passes.state is Truth.UNKNOWN
    assert "one more" in (passes.ask + passes.observed + passes.needed).lower()


@pytest.mark.parametrize(
    ("name", "value", "state"),
    [
        ("worst_pain", 5, Truth.MET),
        ("worst_pain", 6, Truth.NOT_MET),
        ("active_flexion", 120, Truth.MET),
        ("active_flexion", 119, Truth.NOT_MET),
    ],
)
def test_case_39_a_value_at_the_limit(name: str, value: int, state: Truth):
    """Comparators as written: >= and <= include equality. Flexion: 80 per cent of 150."""
    made = case("RC1", day=10).measure(-1, name, value).measure(-1, "active_flexion", 150, other=True)
    word = "worst pain" if name == "worst_pain" else "flexion"
    assert criterion(standing_of(made), word).state is state


# -- the list ---------------------------------------------------------------------------------------------


def test_case_40_overdue_but_booked_keeps_its_place():
    """Stays overdue by date and keeps its place, printed "booked 3 Mar"; may be marked in hand."""
    made = case("RC2", day=30, last_visit=24, interval=21).contact(-1).booked(1)
    found = standing_of(made)
    assert codes(found) == ["OVD1"]
    assert found.review.booked == on(1)
    assert found.tier == "contact owed"
    answered = standing_of(made.in_hand(0, "OVD1", 1))
    assert codes(answered) == ["OVD1"]
    assert answered.tier == "none"


def test_case_41_a_referral_waiting_for_its_first_visit():
    """Status "waiting"; not staged; a red flag from the referral is still of the first tier."""
    found = standing_of(waiting())
    assert (found.status, found.stage, found.days_in_stage, codes(found)) == ("waiting", "", None, [])
    text = "mass, cancer history, weight loss or unrelenting night pain"
    flagged = standing_of(waiting().screen(-15, text, "yes", severity=2, source="referral letter"))
    assert codes(flagged) == ["RED"]
    assert flagged.tier == "today"


def _taken(tmp_path: Path) -> Any:
    """A store with one case taken from a file."""
    from armrise.store.caseload.taking.take import take_whole
    from armrise.store.database.place import Store
    from armrise.store.exchange.into.caseload_file import parse

    store = Store.create(tmp_path / "clinic.armrise", zone="Europe/London")
    take_whole(store, parse(caseload(FIRST), "test.json"))
    return store


def _call(instant: datetime) -> Any:
    from armrise.store.record.kinds.care import Contact

    local = instant.date()
    return Contact(on=local, recorded_at=instant, recorded_on=local, author="AB", outcome="spoke")


def test_case_42_two_clinicians_edit_the_same_case(tmp_path: Path):
    """Last write never overwrites: the second save is refused with "changed since you opened"."""
    from armrise.store.caseload.read import case as read_case
    from armrise.store.caseload.write import ChangedSinceOpened, Ledger

    store = _taken(tmp_path)
    opened: CaseRecord = read_case(store, "C-01")
    seen = max(e.id for e in (*opened.visits, *opened.screens, *opened.steps))
    now = datetime(2026, 3, 2, 19, tzinfo=UTC)
    Ledger(store, "TK", lambda: now).append("C-01", [_call(now)], seen=seen)
    with pytest.raises(ChangedSinceOpened, match="since you opened"):
        Ledger(store, "AB", lambda: now).append("C-01", [_call(now)], seen=seen)
    assert len(read_case(store, "C-01").contacts) == 1


def test_case_43_the_machines_clock_is_behind_the_records(tmp_path: Path):
    """If today is before the newest recorded instant: warn, refuse new writes until confirmed."""
    from armrise.store.caseload.read import case as read_case
    from armrise.store.caseload.write import Ledger, Refused

    store = _taken(tmp_path)
    right, wrong = datetime(2026, 3, 2, 19, tzinfo=UTC), datetime(2026, 2, 20, 9, tzinfo=UTC)
    Ledger(store, "TK", lambda: right).append("C-01", [_call(right)])
    with pytest.raises(Refused, match="clock"):
        Ledger(store, "TK", lambda: wrong).append("C-01", [_call(wrong)])
    assert len(read_case(store, "C-01").contacts) == 1
    Ledger(store, "TK", lambda: wrong).append("C-01", [_call(wrong)], confirmed=True)
    assert len(read_case(store, "C-01").contacts) == 2


def test_case_44_a_stage_that_is_no_longer_in_the_rule_file():
    """Case shown "stage not in rule file", no verdict, not lost."""
    made = case("RC2", day=10)
    found = standing_of(made.step(-2, "RC9"))
    assert found.verdict.word is Word.NONE
    assert "stage not in rule file" in found.verdict.line
    assert found.stage == "RC9"
    flagged = standing_of(made.screen(0, "motor or sensory loss", "yes"))
    assert "RED" in codes(flagged)


def test_case_45_leap_day_and_year_end():
    """Plain date arithmetic."""
    leap = date(2028, 3, 1)
    assert standing_of(case("RC2", day=2, today=leap), leap).days_in_stage == 2
    assert case("RC2", day=2, today=leap).record().steps[0].on == date(2028, 2, 28)
    new_year = date(2027, 1, 3)
    found = standing_of(case("RC2", day=10, last_visit=None, interval=7, today=new_year), new_year)
    assert (found.review.due, found.review.overdue_days) == (date(2026, 12, 31), 3)


# -- the four kinds of absence ----------------------------------------------------------------------------


@pytest.mark.parametrize("absence", list(Absence))
def test_absence_is_never_zero(absence: Absence):
    """6.1: not measured, not asked, declined and prohibited are four values, none equal to 0 or "no"."""
    made = case("RC1", day=10).measure(-1, "worst_pain", absence).measure(-1, "active_flexion", absence)
    found = standing_of(made)
    assert criterion(found, "worst pain").state is Truth.UNKNOWN
    assert criterion(found, "flexion").state is Truth.UNKNOWN


def test_every_figure_the_table_names_is_in_the_rule_files():
    """4.13 cases 4, 11, 16, 31: the numbers of the table are data."""
    known = rules()
    assert known["response.recall_days"] == 3
    assert known["step.back_within_days"] == 14
    assert known["reopening.same_episode_days"] == 90
    assert (known["mask.analgesic_days"], known["mask.injection_days"]) == (14, 42)


def test_the_builder_alone_raises_nothing():
    """What the tests rest on: a case without anything added has no live reason in any stage."""
    for pathway in rules().pathways.values():
        for stage in pathway.stages:
            assert codes(standing_of(case(stage.code, day=5))) == [], stage.code
