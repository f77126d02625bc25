"""Rulings 1 to 15 of the practice notes (safety), both sides of each boundary.

Expected values are worked out from the text of the ruling alone. Ruling 5 speaks of the dose: held there.
"""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.standing import Word
from armrise.store.entries.check import check_case
from armrise.store.record.kinds.head import AGE_BANDS
from armrise.store.record.kinds.safety import (
    CHILD_ITEM,
    FLAG_ITEMS,
    RETIRED_SCREEN_ITEMS,
    SCREEN_ITEMS,
    UNDER_18,
    asked_of,
)
from tests.clinic.build import TODAY, Builder, case, item, reason, rules, standing_of
from tests.clinic.build_more import (
    MET,
    NOT_MET,
    UNKNOWN,
    criterion,
    head,
    line,
    live_codes,
    printed,
    ready_ad1,
    ready_fs1,
    ready_fx1,
    ready_po3,
    ready_rc1,
    ready_rc2,
    ready_rc4,
    twos,
    word,
)

MASS = "mass, cancer history, weight loss or unrelenting night pain"
NERVE = "motor or sensory loss"
HOT = "hot or swollen joint, or unwell"


# --- ruling 1: any live flare reason blocks READY --------------------------------------------------------


def crept(to: int, **more: int) -> Builder:
    """An RC2 case, ready but for mornings that rose from 2 by 3 to ``to``, never by more than one."""
    made = ready_rc2(day=34, sessions=False, mornings=False, **more)
    made.mornings(-34, *[2] * 11).mornings(-23, *[3] * 11).mornings(-12, *[to] * 12)
    for back in (-7, -5, -3):
        made.session(back, 3, 2, to, R1=(3, 10))
    return made


def test_ruling_01_the_ready_cases_are_ready() -> None:
    """Control: without a flare the same cases are READY, so what is added below is what blocks."""
    assert word(ready_rc2()) is Word.READY
    assert word(crept(3)) is Word.READY


def test_ruling_01_two_flares_advise_a_step_back_in_hand_or_not() -> None:
    """Causes (a) to (c) speak through STEP BACK ADVISED, also when the reason is in hand."""
    made = ready_rc2(sessions=False).session(-4, 8, 2, 2, R1=(3, 10)).session(-2, 8, 2, 2, R1=(3, 10))
    assert word(made) is Word.STEP_BACK
    made.in_hand(-1, "FLA", 3)
    assert reason(standing_of(made), "FLA").in_hand
    assert word(made) is Word.STEP_BACK


def test_ruling_01_creep_reads_not_yet_pain_not_settling() -> None:
    """Cause (d): baseline two above the stage's first is NOT YET "pain not settling", in hand or not."""
    made = crept(4)
    assert "FLA" in live_codes(made)
    assert word(made) is Word.NOT_YET
    assert "pain not settling" in line(made)
    made.in_hand(-1, "FLA", 3)
    assert word(made) is Word.NOT_YET


@pytest.mark.parametrize(("now", "expected"), [(3, Word.READY), (4, Word.NOT_YET)])
def test_ruling_01_night_waking_reads_not_yet_from_three_nights_more(now: int, expected: Word) -> None:
    """Cause (e): three more nights woken a week block, two more do not."""
    made = ready_rc2().measure(-8, "night_waking", 1).measure(-1, "night_waking", now)
    assert word(made) is expected
    assert ("pain not settling" in line(made)) is (expected is Word.NOT_YET)


# --- ruling 2: any open red flag blocks READY ------------------------------------------------------------


def test_ruling_02_severity_one_is_not_yet_query_open() -> None:
    """A query (severity 1) blocks with its own words; once its outcome is recorded the case is ready."""
    made = ready_rc2().screen(-2, MASS, "yes", severity=1)
    assert word(made) is Word.NOT_YET
    assert "red-flag query open" in line(made)
    made.flag_outcome(-1, MASS)
    assert word(made) is Word.READY
    assert "RED" not in live_codes(made)


@pytest.mark.parametrize("severity", [2, 3])
def test_ruling_02_severity_two_and_three_refer(severity: int) -> None:
    """From severity 2 the verdict is REFER (practice 4.8 line 2)."""
    assert word(ready_rc2().screen(-2, MASS, "yes", severity=severity)) is Word.REFER


@pytest.mark.parametrize(
    ("name", "severity"),
    # practice notes, ruling 85, the old names among them; ruling 2 for wound, calf and neck
    [
        (HOT, 3),
        ("unreduced dislocation or deformity", 3),
        (NERVE, 3),
        ("new lump or weight loss", 2),
        ("cancer in the past", 1),
        ("unrelenting night pain", 2),
        ("trauma and cannot lift to 90 degrees", 2),
        ("both shoulders stiff in the morning over 45 minutes, age over 50", 2),
        ("sight, jaw or new headache with shoulder pain", 3),
        ("chest, arm or jaw pain on exertion, or breathless", 3),
        ("shoulder-tip pain with belly pain or faintness", 3),
        ("wound discharge or fever after surgery", 3),
        ("calf or arm swelling after surgery or immobilisation", 3),
        ("neck movement reproduces arm pain with neurological signs", 2),
        ("clumsy hands or unsteady legs", 2),
        ("bladder, bowel or saddle numbness", 3),
        ("cough with blood, drooping eyelid or wasted hand", 2),
        ("child or teenager: fall, night pain, fever, or arm not used", 2),
        (MASS, 2),
        ("girdle pain with morning stiffness, headache, visual or jaw symptoms", 3),
        ("chest, arm or jaw pain on exertion, breathless, or abdominal signs", 3),
    ],
)
def test_ruling_02_default_severity_of_an_item(name: str, severity: int) -> None:
    """A "yes" without a stated severity takes the item's default; a stated one stands."""
    assert name in FLAG_ITEMS
    assert reason(standing_of(case("RC2").screen(-1, name, "yes")), "RED").severity == severity
    stated = case("RC2").screen(-1, name, "yes", severity=3 if severity == 1 else 1)
    assert reason(standing_of(stated), "RED").severity == (3 if severity == 1 else 1)


OLD_LIST = (*(i for i in SCREEN_ITEMS[:14] if not any(i in new for new in RETIRED_SCREEN_ITEMS.values())),)


def test_ruling_85_a_screen_under_the_old_names_was_a_full_screen() -> None:
    """Old "no" answers each new part; the items added since were not owed then."""
    made = ready_rc2(screened=False)
    for name in (*OLD_LIST, *RETIRED_SCREEN_ITEMS):
        assert word(made) is Word.UNKNOWN
        made.screen(-20, name, "no")
    assert (word(made), "SCR" in live_codes(made)) == (Word.READY, False)


def test_ruling_85_an_old_yes_stays_open_under_its_old_name() -> None:
    """It is no "yes" of the parts, whose outcomes leave it open; its own ends it."""
    made = case("RC2").screen(-3, MASS, "yes").flag_outcome(-2, "unrelenting night pain")
    assert MASS in reason(standing_of(made), "RED").sentence
    assert "RED" not in live_codes(made.flag_outcome(-1, MASS))


@pytest.mark.parametrize(
    ("age", "asked"), [("under 16", True), ("16-17", True), ("18-19", False), (None, False)]
)
def test_ruling_85_the_item_of_a_child_is_asked_under_18(age: str | None, asked: bool) -> None:
    """An age nobody recorded is not young."""
    assert (CHILD_ITEM in asked_of(age)) == asked
    assert [i for i in asked_of(age) if i != CHILD_ITEM] == [i for i in SCREEN_ITEMS if i != CHILD_ITEM]
    assert set(UNDER_18) < set(AGE_BANDS)


# --- ruling 3: order of verdicts -------------------------------------------------------------------------


def test_ruling_03_red_two_speaks_on_hold_and_red_one_does_not() -> None:
    """RED 2-3 and INJ come before hold; a query comes after it."""
    held = ready_rc2().hold(-1, 9)
    assert word(held) is Word.ON_HOLD
    assert word(ready_rc2().hold(-1, 9).screen(-1, MASS, "yes", severity=1)) is Word.ON_HOLD
    assert word(ready_rc2().hold(-1, 9).screen(-1, MASS, "yes", severity=2)) is Word.REFER
    assert word(ready_rc2().hold(-1, 9).event(0, "fall")) is Word.NOT_YET


def test_ruling_03_closed_has_no_verdict_but_for_danger() -> None:
    """A closed case has none; a red flag of severity 2 recorded after discharge still refers."""
    assert word(case("RC4").discharge(-1)) is Word.NONE
    assert word(case("RC4", last_visit=4).discharge(-3).screen(-1, HOT, "yes")) is Word.REFER
    assert word(case("RC4", last_visit=4).discharge(-3).event(-1, "fall")) is Word.NOT_YET


def test_ruling_03_red_two_comes_before_an_injury() -> None:
    """Both open: RED 2-3 is asked first, so the word is REFER."""
    assert word(ready_rc2().event(-1, "fall").screen(-1, NERVE, "yes")) is Word.REFER


# --- ruling 4: in hand covers only the evidence known when it was given ---------------------------------


def test_ruling_04_a_later_item_makes_a_red_flag_live_with_its_own_date() -> None:
    """RED in hand; another item of the screen turns "yes" later: live at once, opened that day."""
    made = case("RC2").screen(-5, MASS, "yes", severity=2).in_hand(-4, "RED", 3)
    known = reason(standing_of(made), "RED")
    assert (known.in_hand, known.severity, known.days_open) == (True, 2, 5)
    made.screen(-1, NERVE, "yes")
    now = reason(standing_of(made), "RED")
    assert (now.in_hand, now.severity, now.days_open) == (False, 3, 1)


def test_ruling_04_a_higher_severity_makes_it_live() -> None:
    """The same item answered again with a higher severity is new evidence; an equal one is not."""
    higher = case("RC2").screen(-5, MASS, "yes", severity=1).in_hand(-4, "RED", 3)
    higher.screen(-1, MASS, "yes", severity=2)
    assert not reason(standing_of(higher), "RED").in_hand


def test_ruling_04_a_new_event_makes_an_injury_live() -> None:
    """INJ in hand, then a second event."""
    made = case("RC2").event(-5, "fall").in_hand(-4, "INJ", 3)
    assert reason(standing_of(made), "INJ").in_hand
    made.event(-2, "fall")
    now = reason(standing_of(made), "INJ")
    assert (now.in_hand, now.days_open) == (False, 2)


def test_ruling_04_a_new_breach_makes_the_healing_limit_live() -> None:
    """LIM in hand, then another forbidden session after it."""
    made = case("PO2", day=18).session(-5, 1, 1, None, A2=(3, 10)).in_hand(-4, "LIM", 3)
    assert reason(standing_of(made), "LIM").in_hand
    made.session(-2, 1, 1, None, A2=(3, 10))
    now = reason(standing_of(made), "LIM")
    assert (now.in_hand, now.days_open) == (False, 2)


def test_ruling_04_the_date_passing_returns_the_original_open_date() -> None:
    """Until the date it is in hand; on the date it is live with the date it first opened (2.3)."""
    made = case("RC2").screen(-6, MASS, "yes", severity=2).in_hand(-5, "RED", 1)
    assert reason(standing_of(made), "RED").in_hand
    passed = case("RC2").screen(-6, MASS, "yes", severity=2).in_hand(-5, "RED", 0)
    now = reason(standing_of(passed), "RED")
    assert (now.in_hand, now.days_open) == (False, 6)


@pytest.mark.parametrize(
    ("code", "days", "refused"),
    [("RED", 7, False), ("RED", 8, True), ("OVD1", 14, False), ("OVD1", 15, True)],
)
def test_ruling_04_dates_lie_at_most_14_days_ahead_and_7_in_the_first_tier(
    code: str, days: int, refused: bool
) -> None:
    """Farther dates are refused on entry."""
    made = case("RC2", day=40, last_visit=30, first=40).screen(-3, MASS, "yes", severity=2)
    made.in_hand(0, code, days)
    faults = check_case(head("RC"), made.entries, today=TODAY, rules=rules())
    assert bool(faults) is refused, [str(f) for f in faults]


# --- ruling 6: drift is computed twice -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rater_before", "before", "now", "expected"),
    [
        ("TK", 60, 50, True),  # same rater: 10 is watch
        ("TK", 60, 51, False),
        ("AB", 60, 40, True),  # anyone: 20 is watch
        ("AB", 60, 41, False),
        (None, 60, 40, True),  # rater unknown
        (None, 60, 41, False),
    ],
)
def test_ruling_06_each_best_with_its_own_allowance(
    rater_before: str | None, before: int, now: int, expected: bool
) -> None:
    """Against the same rater's best 10 degrees are watched, against anyone's best 20."""
    made = case("RC2", day=20).measure(-18, "passive_external_rotation", before, rater=rater_before)
    made.measure(-1, "passive_external_rotation", now)
    assert ("WAT" in live_codes(made)) is expected


def test_ruling_06_either_suffices() -> None:
    """Own best 52, another's 60, now 42: 10 against the own best speaks though 18 against anyone's does not;
    own best 49, another's 70, now 45: 25 against anyone's speaks though 4 against the own does not."""
    own = case("RC2", day=20).measure(-18, "passive_external_rotation", 60, rater="AB")
    own.measure(-15, "passive_external_rotation", 52).measure(-1, "passive_external_rotation", 42)
    assert "WAT" in live_codes(own)
    anyone = case("RC2", day=20).measure(-18, "passive_external_rotation", 70, rater="AB")
    anyone.measure(-15, "passive_external_rotation", 49).measure(-1, "passive_external_rotation", 45)
    assert "WAT" in live_codes(anyone)


@pytest.mark.parametrize(
    ("plane", "words"),
    [
        ("passive_external_rotation", "external rotation"),
        ("passive_flexion", "flexion"),
        ("passive_abduction", "abduction"),
    ],
)
def test_ruling_06_all_three_planes_are_read(plane: str, words: str) -> None:
    """A loss in any plane is seen; the sentence names it."""
    made = case("RC2", day=20).measure(-18, plane, 90).measure(-1, plane, 78)
    assert words in reason(standing_of(made), "WAT").sentence.lower()


def test_ruling_06_the_first_true_plane_is_printed() -> None:
    """Rotation is read before flexion."""
    made = case("RC2", day=20).measure(-18, "passive_external_rotation", 60)
    made.measure(-18, "passive_flexion", 160).measure(-1, "passive_flexion", 146)
    made.measure(-2, "passive_external_rotation", 49)
    assert "rotation" in reason(standing_of(made), "WAT").sentence.lower()


@pytest.mark.parametrize(
    ("rater", "now", "expected"),
    [("TK", 40, ["STF"]), ("TK", 41, ["WAT"]), ("AB", 20, ["STF"]), ("AB", 21, ["WAT"])],
)
def test_ruling_06_twice_the_act_allowance_needs_one_measurement(
    rater: str, now: int, expected: list[str]
) -> None:
    """30 degrees by one rater, 50 between two, act on one value; a degree less only watches."""
    made = case("RC2", day=20).measure(-18, "passive_external_rotation", 70, rater=rater)
    made.measure(-1, "passive_external_rotation", now)
    assert [c for c in live_codes(made) if c in ("STF", "WAT")] == expected
    if expected == ["STF"]:
        assert reason(standing_of(made), "STF").severity == 2


@pytest.mark.parametrize(("apart", "expected"), [(7, "STF"), (6, "WAT")])
def test_ruling_06_two_pain_limited_values_a_week_apart_confirm(apart: int, expected: str) -> None:
    """Both limited by pain, act level, 7 days apart: one confirmation. 6 days: watch only."""
    made = case("RC2", day=20).measure(-18, "passive_external_rotation", 60)
    made.measure(-1 - apart, "passive_external_rotation", 44, limited_by="pain")
    made.measure(-1, "passive_external_rotation", 43, limited_by="pain")
    assert expected in live_codes(made)


@pytest.mark.parametrize(("flexion", "severity"), [(145, 3), (146, None)])
def test_ruling_06_two_planes_unconfirmed_on_one_date(flexion: int, severity: int | None) -> None:
    """15 degrees lost in two planes on one date is severity 3; 15 and 14 are not."""
    made = case("RC2", day=20).measure(-18, "passive_external_rotation", 60)
    made.measure(-18, "passive_flexion", 160)
    made.measure(-1, "passive_external_rotation", 45).measure(-1, "passive_flexion", flexion)
    if severity is None:
        assert "STF" not in live_codes(made)
    else:
        assert reason(standing_of(made), "STF").severity == severity


# --- ruling 7 (with 44): a contact silences LOST for 7 days ----------------------------------------------


@pytest.mark.parametrize(("contact", "live"), [(-6, False), (-7, True)])
def test_ruling_07_a_contact_silences_lost_for_seven_days(contact: int, live: bool) -> None:
    """Contact on day c silences through c + 6; on c + 7 LOST is back with its original date."""
    # review due on -16 (last visit -30, 14 days); 3 days over on -13: open since then
    made = case("PO2", day=32, last_visit=30).contact(contact, "spoke")
    assert ("LOST" in live_codes(made)) is live
    if live:
        assert reason(standing_of(made), "LOST").days_open == 13


def test_ruling_07_an_unanswered_call_is_an_attempt() -> None:
    """Only a contact silences: somebody spoke or a message was answered (2.2)."""
    for outcome in ("no answer", "message left", "wrong number", "message received"):
        assert "LOST" in live_codes(case("PO2", day=32, last_visit=30).contact(-1, outcome))
    assert "LOST" not in live_codes(case("PO2", day=32, last_visit=30).contact(-1, "message answered"))


# --- ruling 8: healing-limit classes ---------------------------------------------------------------------

BREACHES = [
    # (stage, class, severity or None when allowed): practice 3.3, 3.4, 3.6 "Allowed", ruling 8 severities
    ("PO1", "P0", None),
    ("PO1", "P1", 2),
    ("PO1", "S1", 2),
    ("PO1", "A1", 2),
    ("PO1", "I1", 3),
    ("PO2", "P1", None),
    ("PO2", "S1", None),
    ("PO2", "A1", 2),
    ("PO2", "A2", 2),
    ("PO2", "S2", 2),
    ("PO2", "W1", 2),
    ("PO2", "I1", 3),
    ("PO2", "I2", 3),
    ("PO2", "R1", 3),
    ("PO2", "W2", 3),
    ("PO2", "X1", 3),
    ("PO3", "A2", None),
    ("PO3", "I1", None),
    ("PO3", "S2", 2),
    ("PO3", "W1", 2),
    ("PO3", "I2", 3),
    ("PO3", "R1", 3),
    ("PO3", "R2", 3),
    ("PO4", "R2", None),
    ("PO4", "S2", None),
    ("PO4", "W1", None),
    ("PO4", "R3", 3),
    ("PO4", "W2", 3),
    ("PO4", "X1", 3),
    ("PO5", "R3", None),
    ("PO5", "X1", None),
    ("AD1", "P1", None),
    ("AD1", "I1", None),
    ("AD1", "A2", 2),
    ("AD1", "S1", 2),
    ("AD1", "W1", 2),
    ("AD1", "W2", 3),
    ("AD2", "R1", None),
    ("AD2", "R2", 3),
    ("AD2", "W2", 3),
    ("AD3", "R2", None),
    ("AD3", "R3", 3),
    ("AD4", "X1", None),
    ("FX1", "P1", None),
    ("FX1", "A1", 2),
    ("FX1", "A2", 2),
    ("FX1", "W1", 2),
    ("FX1", "R1", 3),
    ("FX2", "I1", None),
    ("FX2", "A2", 2),
    ("FX2", "R1", 3),
    ("FX3", "W1", None),
    ("FX3", "R1", 3),
    ("FX3", "W2", 3),
    ("FX4", "W2", None),
    ("FX4", "R3", 3),
]


@pytest.mark.parametrize(("stage", "load_class", "severity"), BREACHES)
def test_ruling_08_every_class_outside_the_allowed_set(
    stage: str, load_class: str, severity: int | None
) -> None:
    """In PO, AD and FX a class outside the cumulative allowed set is a breach with its severity."""
    made = case(stage, day=5).session(-1, 1, 1, None, item(load_class))
    if severity is None:
        assert "LIM" not in live_codes(made)
    else:
        assert reason(standing_of(made), "LIM").severity == severity


@pytest.mark.parametrize(("stage", "load_class"), [("RC1", "R3"), ("FS1", "R2"), ("OA1", "R3")])
def test_ruling_08_no_healing_limit_without_healing_tissue(stage: str, load_class: str) -> None:
    """RC, FS and OA have no healing limit."""
    assert "LIM" not in live_codes(case(stage, day=5).session(-1, 1, 1, None, item(load_class)))


def test_ruling_08_pain_is_irrelevant_to_the_limit() -> None:
    """No pain at all does not excuse a breach (2.4, C-04)."""
    made = case("PO2", day=18).session(-1, 0, 0, None, R1=(3, 10))
    assert reason(standing_of(made), "LIM").severity == 3
    assert standing_of(made).placing is not None
    assert standing_of(made).placing.code == "LIM"  # type: ignore[union-attr]


@pytest.mark.parametrize(("onset", "breach"), [(42, True), (43, False)])
def test_ruling_08_the_stricter_of_stage_and_gate(onset: int, breach: bool) -> None:
    """Stepped to PO3 early: assisted work on day 41 is a breach (the date's stage is PO2), on day 42 not."""
    made = case("PO3", day=7, onset=onset).session(-1, 1, 1, None, A1=(3, 10))
    assert ("LIM" in live_codes(made)) is breach


def test_ruling_08_a_case_kept_back_has_the_limit_of_its_stage() -> None:
    """Still in PO2 on day 60: assisted work is a breach although the gate of PO3 is past."""
    made = case("PO2", day=40, onset=61).session(-1, 1, 1, None, A1=(3, 10))
    assert reason(standing_of(made), "LIM").severity == 2


@pytest.mark.parametrize(
    ("stage", "load_class", "onset", "breach"),
    [
        ("PO3", "A1", 56, True),  # session on day 55, PO3 opens 42 + 14
        ("PO3", "A1", 57, False),
        ("PO4", "R1", 112, True),  # PO4 opens 84 + 28
        ("PO4", "R1", 113, False),
        ("PO5", "R3", 168, True),  # PO5 opens 140 + 28
        ("PO5", "R3", 169, False),
    ],
)
@pytest.mark.parametrize("why", [{"tear_size": "large"}, {"tear_size": "massive"}, {"poor_tissue": True}])
def test_ruling_08_large_tear_or_poor_tissue_opens_later(
    stage: str, load_class: str, onset: int, breach: bool, why: dict[str, object]
) -> None:
    """After a large or massive tear, or with poor tissue, PO3 opens 14 and PO4, PO5 28 days later."""
    made = case(stage, day=5, onset=onset).orders(-onset, **why)
    made.session(-1, 1, 1, None, item(load_class))
    assert ("LIM" in live_codes(made)) is breach


def test_ruling_08_an_order_with_a_date_wins_over_the_shift() -> None:
    """A large tear, but the order itself gives day 42 for PO3."""
    made = case("PO3", day=5, onset=50).orders(-50, tear_size="large", stage3_from=-8)
    assert "LIM" not in live_codes(made.session(-1, 1, 1, None, A1=(3, 10)))


@pytest.mark.parametrize(("onset", "breach"), [(36, True), (42, True), (43, False)])
def test_83_template_sling_through_day_41(onset: int, breach: bool) -> None:
    """Sling off on days 35 and 41 is a breach of severity 1, on day 42 it is not."""
    made = case("PO2", day=10, onset=onset).session(-1, 1, 1, None, P1=(3, 10), sling_off=True)
    assert ("LIM" in live_codes(made)) is breach
    if breach:
        assert reason(standing_of(made), "LIM").severity == 1


@pytest.mark.parametrize(("until", "breach"), [(5, True), (-5, False)])
def test_ruling_08_an_ordered_sling_date_replaces_the_template(until: int, breach: bool) -> None:
    """Ordered later than the template: still a breach on day 34; ordered shorter: none on day 20."""
    onset = 35 if breach else 21
    made = case("PO2", day=5, onset=onset).orders(-onset, sling_until=until)
    made.session(-1, 1, 1, None, P1=(3, 10), sling_off=True)
    assert ("LIM" in live_codes(made)) is breach


@pytest.mark.parametrize(
    ("measure", "limit"),
    [("passive_external_rotation", "external_rotation_limit"), ("passive_flexion", "elevation_limit")],
)
@pytest.mark.parametrize(("value", "breach"), [(30, False), (31, True)])
def test_ruling_08_range_beyond_a_typed_limit(measure: str, limit: str, value: int, breach: bool) -> None:
    """A value above the ordered limit is severity 2; at the limit it is none (rulings 8 and 53)."""
    made = case("PO2", day=18).orders(-20, **{limit: 30}).measure(-1, measure, value)
    assert ("LIM" in live_codes(made)) is breach
    if breach:
        assert reason(standing_of(made), "LIM").severity == 2


@pytest.mark.parametrize("as_event", [False, True])
def test_ruling_08_combined_movement_is_a_flag_of_severity_two(as_event: bool) -> None:
    """Combined abduction and external rotation, on an exercise or on an event, in AD1."""
    made = case("AD1", day=10)
    if as_event:
        made.event(-1, "other injury", combined=True)
    else:
        made.session(-1, 1, 1, None, item("A1", combined=True))
    assert reason(standing_of(made), "LIM").severity == 2


# --- ruling 9: a contradiction never removes a danger ----------------------------------------------------


def test_ruling_09_a_contradictory_triple_is_still_a_flare() -> None:
    """Later 0 with morning 8 is marked "check day" and still counts as a flare."""
    made = ready_rc2(sessions=False).session(-4, 3, 0, 8, R1=(3, 10)).session(-2, 3, 0, 8, R1=(3, 10))
    assert "FLA" in live_codes(made)
    assert word(made) is Word.STEP_BACK


def test_ruling_09_resisted_work_while_the_sling_is_recorded_on_is_still_a_breach() -> None:
    """Resisted work logged while the sling is recorded as on contradicts itself, and LIM stays."""
    made = case("PO2", day=18).finding(-2, "sling off", "no").session(-1, 1, 1, None, R1=(3, 10))
    assert reason(standing_of(made), "LIM").severity == 3


@pytest.mark.parametrize(("passive", "expected"), [(134, Word.READY), (133, Word.UNKNOWN)])
def test_ruling_09_a_contradiction_withholds_met(passive: int, expected: Word) -> None:
    """Active flexion 139 above passive by 5 stands; by 6 contradicts, and the criterion is unknown."""
    assert word(ready_rc1().measure(-1, "passive_flexion", passive)) is expected


# --- ruling 10: worse is the newest score against the first or the best ----------------------------------


@pytest.mark.parametrize(
    ("totals", "worse"),
    # SPADI detectable change 18 (practice 4.9, Roy 2009)
    [((40, 30, 48), True), ((40, 30, 47), False), ((40, 58), True), ((40, 57), False)],
)
def test_ruling_10_worse_against_first_or_best(totals: tuple[int, ...], worse: bool) -> None:
    """18 points toward worse against the first or the best score of the episode."""
    made = case("RC2", day=40, scored=False)
    for back, total in zip((-40, -20, -2) if len(totals) == 3 else (-40, -2), totals, strict=True):
        made.score(back, "SPADI", total)
    assert ("WRS" in live_codes(made)) is worse
    if worse:
        assert reason(standing_of(made), "WRS").severity == 2


def test_ruling_10_a_score_that_recovered_is_not_worse() -> None:
    """The newest is what counts: 40, 60, 45."""
    made = case("RC2", day=40, scored=False).score(-40, "SPADI", 40).score(-20, "SPADI", 60)
    assert "WRS" not in live_codes(made.score(-2, "SPADI", 45))


# --- ruling 11: creep against the stage's and the episode's first baseline -------------------------------


@pytest.mark.parametrize(("now", "crept_up"), [(4, True), (3, False)])
def test_ruling_11_creep_against_the_first_of_the_episode(now: int, crept_up: bool) -> None:
    """First baseline of the episode 2, of the stage 3, now 4: two above the episode's is creep."""
    made = case("RC2", day=24, first=44).mornings(-44, *[2] * 14).mornings(-30, *[3] * 16)
    made.mornings(-14, *[now] * 14)
    assert ("FLA" in live_codes(made)) is crept_up
    if crept_up:
        assert reason(standing_of(made), "FLA").severity == 2


@pytest.mark.parametrize(("now", "crept_up"), [(4, True), (3, False)])
def test_ruling_11_creep_against_the_first_of_the_stage(now: int, crept_up: bool) -> None:
    """First baseline of the episode 5, of the stage 2, now 4: two above the stage's is creep."""
    made = case("RC2", day=30, first=54).mornings(-54, *[5] * 8).mornings(-46, *[2] * 20)
    made.mornings(-26, *[3] * 12).mornings(-14, *[now] * 14)
    assert ("FLA" in live_codes(made)) is crept_up


# --- ruling 12 (with 48): a baseline does not dissolve ---------------------------------------------------


def flares_before(last: int) -> Builder:
    """Mornings of 2 long ago, then flares on the four days before ``last``, and a session on ``last``.

    Three mornings of 2 end on ``last`` - 11: the newest computable baseline is that of ``last`` - 5."""
    made = case("RC2", day=60, first=60, last_visit=1)
    made.mornings(last - 18, 2, 2, 2)
    for back in (-4, -3, -2, -1):
        made.session(last + back, 8, 6, 7, R1=(3, 10))
    return made.session(last, 3, 2, 4, R1=(3, 10))


def test_ruling_12_the_last_computable_baseline_stands() -> None:
    """Only flare mornings lie in the window: the last baseline of the stage stands, not "unknown"."""
    assert standing_of(flares_before(-2)).pain.baseline == 2


def test_ruling_12_it_comes_before_usual_morning_pain() -> None:
    """Asked before the usual morning pain of the last visit (ruling 48)."""
    made = flares_before(-2).visit(-6, usual_morning=6)
    assert standing_of(made).pain.baseline == 2


@pytest.mark.parametrize(("gap", "known"), [(26, True), (30, False)])
def test_ruling_12_it_stands_for_28_days(gap: int, known: bool) -> None:
    """Last computable on day L; with flares in the window it is used 26 days later and not 30 days later."""
    made = case("RC2", day=60, first=60)
    # mornings on -50..-48: the last window that holds all three is that of -37
    made.mornings(-50, 2, 2, 2)
    newest = -37 + gap
    for back in (-4, -3, -2, -1):
        made.session(newest + back, 8, 6, 7, R1=(3, 10))
    made.session(newest, 3, 2, 4, R1=(3, 10))
    assert standing_of(made).pain.baseline == (2 if known else None)


def test_ruling_12_needs_three_mornings_in_the_window() -> None:
    """Ruling 48: with fewer than 3 mornings at all, nothing was skipped away and the baseline is unknown."""
    made = case("RC2", day=60, first=60).mornings(-20, 2, 2, 2)
    made.session(-4, 8, 6, 7, R1=(3, 10)).session(-2, 3, 2, 4, R1=(3, 10))
    assert standing_of(made).pain.baseline is None


# --- ruling 13: a repeated value is never an observation -------------------------------------------------


def test_ruling_13_a_repeat_is_no_second_observation() -> None:
    """Night pain 3, then the same value repeated six days later: one more is needed."""
    made = ready_rc1(night=False).measure(-8, "night_pain", 3)
    made.measure(-2, "night_pain", 3, repeated=True)
    assert criterion(standing_of(made), "night pain").state is UNKNOWN
    made.measure(-2, "night_pain", 3)
    assert criterion(standing_of(made), "night pain").state is MET


def test_ruling_13_a_repeat_renews_no_staleness() -> None:
    """Worst pain goes stale after 21 days in RC1 whatever was repeated since (ruling 87)."""
    made = ready_rc1(day=20)
    stale = case("RC1", day=30).measure(-22, "worst_pain", 5).measure(-1, "worst_pain", 5, repeated=True)
    assert criterion(standing_of(made), "worst pain").state is MET
    assert criterion(standing_of(stale), "worst pain").state is UNKNOWN


def test_ruling_13_a_repeat_neither_shows_nor_ends_a_loss() -> None:
    """A repeated low value is no loss; a repeated high one does not end a measured loss."""
    none = case("RC2", day=20).measure(-18, "passive_external_rotation", 60)
    none.measure(-1, "passive_external_rotation", 45, repeated=True)
    assert "WAT" not in live_codes(none)
    lost = case("RC2", day=20).measure(-18, "passive_external_rotation", 60)
    lost.measure(-3, "passive_external_rotation", 48)
    lost.measure(-1, "passive_external_rotation", 60, repeated=True)
    assert "WAT" in live_codes(lost)


def test_ruling_13_a_repeat_does_not_clear_night_waking() -> None:
    """Nights woken 1, 4, then a repeated 1: the increase stands."""
    made = ready_rc2().measure(-9, "night_waking", 1).measure(-5, "night_waking", 4)
    assert "FLA" in live_codes(made.measure(-1, "night_waking", 1, repeated=True))


# --- ruling 14: REFER rules are answerable ---------------------------------------------------------------


def plateau_fs1() -> Builder:
    """FS1 on day 92: night pain 4 for seven weeks, past the 84 stall days."""
    made = twos(case("FS1", day=92)).good(3, last=-2, A1=(3, 10))
    for back in (-50, -42, -30, -16, -2):
        made.measure(back, "night_pain", 4).measure(back, "rest_pain", 2)
    return made


def test_ruling_14_plateau_refers_until_answered() -> None:
    """A referral or a decision naming the rule, dated since it came true, silences it for this stage."""
    assert word(plateau_fs1()) is Word.REFER
    assert "discuss options" in line(plateau_fs1())
    assert word(plateau_fs1().referral(-1, "plateau")) is Word.NOT_YET
    assert word(plateau_fs1().decision(-1, "plateau")) is Word.NOT_YET


def test_ruling_14_an_answer_before_it_came_true_does_not_count() -> None:
    """A decision of day 50, long before the stall days were past, answers nothing."""
    assert word(plateau_fs1().decision(-42, "plateau")) is Word.REFER


def test_ruling_14_an_answer_to_another_rule_does_not_count() -> None:
    """It has to name the rule."""
    assert word(plateau_fs1().decision(-1, "image cuff")) is Word.REFER


def test_ruling_14_carry_on_leaves_the_patient_accepts_exit_open() -> None:
    """FS2 past its stall days, rotation unchanged, "carry on" decided, patient accepts: ready."""
    made = case("FS2", day=180, first=250).measure(-1, "worst_pain", 3)
    for back in (-100, -60, -30, -1):
        made.both(back, "passive_external_rotation", 30, 65)
    assert word(made) is Word.REFER
    made.decision(-1, "plateau")
    assert word(made) is not Word.REFER
    assert word(made.finding(-1, "patient accepts function")) is Word.READY


# --- ruling 15 (with 50): masked pain --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "change", "day", "expected"),
    [
        ("injection", "new", -41, Word.UNKNOWN),
        ("injection", "new", -43, Word.READY),
        ("analgesic", "new", -13, Word.UNKNOWN),
        ("analgesic", "stronger", -13, Word.UNKNOWN),
        ("analgesic", "new", -15, Word.READY),
        ("analgesic", "unchanged", -1, Word.READY),
        ("analgesic", "stopped", -1, Word.READY),
    ],
)
def test_ruling_15_masked_pain_is_unknown_after_surgery(
    what: str, change: str, day: int, expected: Word
) -> None:
    """PO: pain criteria are unknown under an injection (42 days) or a new or stronger analgesic (14)."""
    made = ready_po3().medicine(day, what, change)
    assert word(made) is expected
    assert criterion(standing_of(made), "pain during").state is (UNKNOWN if expected is Word.UNKNOWN else MET)


def test_ruling_15_masked_pain_is_unknown_after_fracture_and_dislocation() -> None:
    """FX and AD likewise."""
    assert word(ready_fx1()) is Word.READY
    assert word(ready_fx1().medicine(-5, "injection")) is Word.UNKNOWN
    assert word(ready_ad1()) is Word.READY
    assert word(ready_ad1().medicine(-5, "injection")) is Word.UNKNOWN


def test_ruling_15_a_caution_elsewhere() -> None:
    """RC and FS: ready, with the masking printed."""
    for made in (ready_rc2(), ready_fs1(), ready_rc4()):
        made.medicine(-5, "injection")
        assert word(made) is Word.READY
        assert "mask" in printed(standing_of(made))


def test_ruling_15_a_masked_criterion_that_fails_is_not_met() -> None:
    """Ruling 50: pain through the mask is pain all the same."""
    made = ready_fx1().medicine(-5, "injection").measure(-1, "rest_pain", 6)
    assert criterion(standing_of(made), "rest pain").state is NOT_MET
    assert word(made) is Word.NOT_YET
