"""What is said to the patient: worked sentences for each pathway, stage and limit (practice note 8.13).

The pain limits are those of practice note 3, the dates follow from section 3's opening days; the wording has
no source.
"""

import re
from datetime import date

import pytest

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.advice.today import ring_us_if, say_to_patient
from armrise.store.clinic.case.view import View
from tests.clinic.build import OPENS, TODAY, USUAL_CLASS, case, on, rules, waiting
from tests.clinic.demo_records import demo, records
from tests.clinic.spoken import exercises

SEE_YOU_FIRST = "We need to see you first, before you go on with the exercises."
NO_EXERCISES = "Leave out the exercises until you have been seen."


def say(made, today=TODAY):
    return say_to_patient(View.of(made.record(), rules(), today))


def pain_line(made):
    return next((line for line in say(made) if "Keep pain" in line), None)


@pytest.mark.parametrize(
    ("stage", "during", "later"),
    [
        *[("RC1", 3, 3), ("RC2", 4, 4), ("RC3", 4, 4), ("RC4", 4, 4)],
        *[("FS1", 3, 3), ("FS2", 5, 4), ("FS3", 5, 4)],
        *[("PO1", 3, 3), ("PO2", 3, 3), ("PO3", 3, 3), ("PO4", 4, 4), ("PO5", 5, 4)],
        *[("AD1", 3, 3), ("AD2", 4, 4), ("AD3", 5, 4), ("AD4", 5, 4), ("AD5", 5, 4)],
        *[("OA1", 3, 3), ("OA2", 5, 4), ("OA3", 5, 4)],
        *[("FX1", 4, 4), ("FX2", 4, 4), ("FX3", 5, 4), ("FX4", 5, 4)],
    ],
)
def test_the_pain_limits_of_every_stage_are_said_with_the_usual_morning(stage, during, later):
    limits = rules().pathways[stage[:2]].stage(stage).limits
    assert (limits.during.whole, limits.later.whole, limits.rise.whole) == (during, later, 1)
    if during == later:
        pain = f"Keep pain in the exercises and later that day to {during} of 10 or less"
    else:
        pain = f"Keep pain in the exercises to {during} of 10 or less, later that day to {later} or less"
    made = case(stage, day=5).mornings(-4, 2, 2, 2)
    assert say(made)[-1] == f"{pain}. By next morning pain should be back to your usual 2."


def test_an_unknown_baseline_is_not_made_up():
    assert pain_line(case("RC2", day=5)).endswith(
        "By next morning pain should be back to what it usually is."
    )


def test_a_baseline_that_crept_is_not_the_usual_one():
    made = case("OA2", day=40).mornings(-39, *[2] * 12).mornings(-20, *[3] * 10).mornings(-9, *[4] * 9)
    assert "back to your usual 2" in pain_line(made)
    leave_out = "Leave out the exercises with weight or band until the mornings are back to 3."
    assert leave_out in say(made)  # ruling 79: baseline 2, and 1


def test_a_usual_pain_above_the_limit_keeps_the_gentle_movement():
    """Ruling 79, in place of "ask us before you exercise"."""
    made = case("RC1", day=5).mornings(-4, 5, 5, 5)
    assert say(made)[-1].startswith("Your usual pain is above that. Keep the gentle movement going:")


BEFORE = "Until we tell you, and not before"
RIGHT_LOAD = "no weights, no bands, no carrying, pushing or pulling with the right arm"


@pytest.mark.parametrize(
    ("stage", "days", "lines"),
    [
        # after a repair 5 days ago: opening days 14, 42, 84; sling through day 27 (ruling 8)
        ("PO1", 5, ["Keep the sling on until Wed 8 Apr.",
                    f"{BEFORE} Wed 11 Mar: do not move the right shoulder, not even with help.",
                    f"{BEFORE} Wed 8 Apr: do not lift the right arm by itself.",
                    f"{BEFORE} Wed 20 May: {RIGHT_LOAD}; do not lean on the right hand.",
                    "Do not lift or move the arm by its own strength. "
                    "Washing the armpit with the arm hanging, dressing as you were shown, and moving hand, "
                    "wrist and elbow are fine."]),
        ("PO2", 19, ["Keep the sling on until Wed 25 Mar.",
                     f"{BEFORE} Wed 25 Mar: do not join in when the right arm is moved for you; "
                     "do not lift the right arm by itself.",
                     f"{BEFORE} Wed 6 May: {RIGHT_LOAD}; do not lean on the right hand."]),
        ("PO3", 47, [f"{BEFORE} Wed 8 Apr: {RIGHT_LOAD}; do not lean on the right hand."]),
        ("PO4", 89, [f"{BEFORE} Wed 22 Apr: no sport and no heavy or fast work with the right arm; "
                     "do not put your full weight on the right arm."]),
        ("PO5", 145, []),
        ("AD1", 5, [f"{BEFORE} Wed 4 Mar: do not lift the right arm by itself; {RIGHT_LOAD}; "
                    "do not lean on the right hand.",
                    "Do not take the arm out to the side and turn it backwards at once, as in throwing, "
                    "until we tell you."]),
        ("AD2", 12, [f"{BEFORE} Wed 1 Apr: do not put your full weight on the right arm.",
                     f"{BEFORE} Wed 13 May: no sport and no heavy or fast work with the right arm.",
                     "Do not take the arm out to the side and turn it backwards at once, as in throwing, "
                     "until Wed 1 Apr."]),
        ("AD3", 47, [f"{BEFORE} Wed 8 Apr: no sport and no heavy or fast work with the right arm."]),
        ("AD4", 89, []),
        ("FX1", 5, [f"{BEFORE} Wed 11 Mar: do not join in when the right arm is moved for you.",
                    f"{BEFORE} Wed 8 Apr: do not lift the right arm by itself; "
                    "do not lean on the right hand.",
                    f"{BEFORE} Wed 20 May: {RIGHT_LOAD}."]),
        ("FX3", 47, [f"{BEFORE} Wed 8 Apr: {RIGHT_LOAD}; do not put your full weight on the right arm."]),
    ],
)  # fmt: skip
def test_healing_limits_carry_their_dates_and_no_date_opens_anything_by_itself(stage, days, lines):
    made = case(stage, day=days - OPENS[stage], onset=days)
    assert list(say(made)[:-1]) == lines


def test_the_surgeons_orders_prevail_over_the_template():
    made = case("PO2", day=5).orders(
        -2,
        sling_until=12,
        no_active_until=40,
        external_rotation_limit=30,
        elevation_limit=90,
        lifting_limit=1,
    )
    told = say(made)
    assert told[0] == "Keep the sling on until Sat 14 Mar."
    assert f"{BEFORE} Sat 11 Apr: do not join in when the right arm is moved for you; " in told[1]
    assert "With the elbow at your side, turn the forearm out no further than 30 degrees." in told
    assert "Raise the arm, or let it be raised, to 90 degrees, shoulder height at most." in told
    assert "Lift nothing heavier than 1 kg with the right arm." in told


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (0, "turn the forearm out no further than straight ahead"),
        (-20, "keep the forearm turned in, 20 degrees short of straight ahead"),
    ],
)
def test_a_limit_of_straight_ahead_and_less_can_be_followed(limit, words):
    assert f"With the elbow at your side, {words}." in say(
        case("PO2", day=5).orders(-1, external_rotation_limit=limit)
    )


def test_the_surgeons_free_text_is_not_read_out():
    told = say(case("PO2", day=5).orders(-1, text="massive tear, guarded outlook"))
    assert "Your surgeon has added an instruction: we go through it with you." in told
    assert not any("massive" in line for line in told)


def test_without_orders_the_patient_hears_that_they_are_awaited():
    made = case("PO1", day=9, ordered=False)
    assert (
        say(made)[0] == "We are waiting for your surgeon's instructions; until they come, these limits hold."
    )


def test_without_a_surgery_date_only_we_can_say_when():
    told = say(case("PO2", day=5, onset=-1))
    assert any(line.startswith("Until we tell you: ") for line in told)
    assert not any("not before" in line for line in told)


def test_orders_in_a_pathway_without_healing_limits_are_said_too():
    made = case("RC2", day=5).orders(-1, no_active_until=10, lifting_limit=2)
    assert f"{BEFORE} Thu 12 Mar: do not lift the right arm by itself; " in say(made)[0]


def test_surgery_not_yet_placed_brings_its_limits_at_once():
    made = case("RC2", day=60).onset(-5, "surgery")
    told = say(made)
    assert told[0] == "We are waiting for your surgeon's instructions; until they come, these limits hold."
    assert f"{BEFORE} Wed 11 Mar: do not move the right shoulder, not even with help." in told


def test_a_broken_limit_asks_to_keep_the_limits():
    made = case("PO2", day=19, onset=33).session(-1, 1, 1, None, R1=(3, 10))
    assert say(made)[0] == "Please keep to these limits from today, also where you have been doing more."


LEADS = (
    SEE_YOU_FIRST,
    "Go to hospital today. New numbness or weakness of the arm.",
    "We need to see you in the next days",
)
ENCOURAGING = re.compile(r"exercises to|exercises and later|usual|of 10")


@pytest.mark.parametrize("stage", ["RC2", "PO2", "FX3"])
@pytest.mark.parametrize(
    "trouble",
    [
        lambda made: made.screen(-1, "motor or sensory loss", "yes"),
        lambda made: made.screen(
            -1, "mass, cancer history, weight loss or unrelenting night pain", "yes", severity=1
        ),
        lambda made: made.event(-1, "fall"),
    ],
)
def test_where_something_may_be_wrong_nothing_encourages(stage, trouble):
    made = trouble(case(stage, day=5).mornings(-4, 2, 2, 2).programme(-3, USUAL_CLASS[stage]))
    told = say(made)
    assert told[0].split(":")[0] in LEADS
    assert not any(ENCOURAGING.search(line) for line in told)
    assert exercises(View.of(made.record(), rules(), TODAY)) == ()
    assert ("sling" in " ".join(told)) == (stage == "PO2")


def test_an_answered_flag_lets_the_limits_be_said_again():
    made = case("RC2", day=5).screen(-2, "motor or sensory loss", "yes").flag_outcome(-1)
    assert pain_line(made)


def test_on_hold_says_until_when_and_healing_goes_on():
    told = say(case("PO2", day=5).hold(-1, 9, named="consultant A"))
    assert told[0] == "Your treatment is paused; we go on from Wed 11 Mar."
    assert told[1].startswith("Keep the sling on")


def test_closed_says_so_and_a_death_says_nothing():
    assert say(case("RC4", day=30).discharge(-2)) == ("Your treatment with us has ended.",)
    back = case("RC4", day=30).finding(-2, "open access set").discharge(-2)
    assert say(back) == ("Your treatment with us has ended; you may come back to us without a new referral.",)
    assert say(case("RC4", day=30).discharge(-2, "died")) == ()
    flagged = case("RC4", day=30).discharge(-5).screen(-1, "motor or sensory loss", "yes")
    assert say(flagged)[0] == "Go to hospital today. New numbness or weakness of the arm."  # ruling 85
    assert say(flagged)[-1] == NO_EXERCISES


def test_a_referral_waiting_for_its_first_visit_is_promised_nothing():
    assert say(waiting()) == (
        "Your limits for the exercises are not set yet: we set them together at your visit.",
    )


def test_a_stage_gone_from_the_rule_file_makes_nobody_exercise():
    made = case("RC2", day=5).step(-1, "RC9", "forward")
    assert say(made)[-1] == "Ask us before you exercise: your limits have to be looked at again."


def test_a_date_in_another_year_names_it():
    assert "Keep the sling on until Fri 8 Jan 2027." in say(
        case("PO2", day=5).orders(-1, sling_until=date(2027, 1, 8))
    )


def test_exercises_are_said_with_their_dose_and_a_barred_one_is_left_out():
    made = case("PO2", day=19, onset=33).programme(
        -9, "P1", 3, 10, exercise="pendular swing", per_week=14, hold=5, rest=30
    )
    made.programme(-9, "S1", 4, 1, exercise="doorway stretch", hold=30, sides="both")
    made.programme(-9, "R1", 3, 10, exercise="band row", band=2)
    assert exercises(View.of(made.record(), rules(), TODAY)) == (
        "pendular swing: 3 sets of 10, hold each for 5 seconds, rest 30 seconds between sets, 2 times a day",
        "doorway stretch: 4 times, hold each for 30 seconds, both arms",
        "leave out for now: band row",
    )


def test_a_range_of_repetitions_and_a_load_keep_their_unit():
    made = case("RC2", day=5).programme(
        -1, "R1", 1, 8, exercise="scaption raise", reps_low=8, reps_high=12, load=on_kg("1.50"), per_week=1
    )
    assert exercises(View.of(made.record(), rules(), TODAY)) == (
        "scaption raise: 1 set of 8 to 12, 1.5 kg, once a week",
    )


def on_kg(text):
    from decimal import Decimal

    return Decimal(text)


def test_the_wound_is_asked_about_only_after_surgery():
    plain, operated = (
        ring_us_if(View.of(case(stage, day=5).record(), rules(), TODAY)) for stage in ("RC2", "PO2")
    )
    assert set(operated) - set(plain) == {"the wound weeps or opens"}


def test_the_sheet_names_the_next_visit_or_says_that_none_is_booked():
    made = case("RC2", day=5)
    assert sheet(View.of(made.record(), rules(), TODAY)).next_visit == "not booked yet"
    made.booked(1)
    assert sheet(View.of(made.record(), rules(), TODAY)).next_visit == "Tue 3 Mar, tomorrow"
    assert on(1) == date(2026, 3, 3)


FRIGHTENING = re.compile(
    r"\b(tear|torn|cancer|tumour|infection|rupture|damage|degenerat\w*|impinge\w*|frozen|worse|fail\w*|risk"
    r"|danger\w*|overdue|attend|responding|red flag|READY|NOT YET|RC\d|PO\d|AD\d|FX\d|FS\d|OA\d|ROM|PROM)\b"
)


def test_no_case_of_the_demo_is_told_anything_frightening_or_in_code():
    for record in records(demo()):
        found = sheet(View.of(record, rules(), TODAY))
        told = [*found.say, *found.exercises, found.next_visit, *found.ring_us, found.emergency]
        assert not [line for line in told if FRIGHTENING.search(line)], record.code
        assert found.say
