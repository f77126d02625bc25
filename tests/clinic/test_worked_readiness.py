"""Readiness to step forward: every row of worked example 5.4 of the clinic's practice notes, from real
entries and the project's own rule files, with the near side of each boundary beside it.
"""

from __future__ import annotations

import re
from datetime import date

from armrise.store.clinic.case.standing import CriterionResult, Standing, Truth, Word
from tests.clinic.build import Builder, case, codes, reason, standing_of


def words(standing: Standing) -> str:
    """Everything the verdict says on one line, lower case."""
    verdict = standing.verdict
    return " | ".join((verdict.line, *verdict.also_missing, *verdict.cautions)).lower()


def states(standing: Standing) -> list[tuple[str, Truth]]:
    """Criteria with their states, for a readable failure."""
    return [(c.text, c.state) for c in (*standing.verdict.blocks, *standing.verdict.criteria)]


def all_criteria(standing: Standing) -> list[CriterionResult]:
    """Blocks and criteria, parts included."""
    found: list[CriterionResult] = []
    waiting = [*standing.verdict.blocks, *standing.verdict.criteria]
    while waiting:
        each = waiting.pop(0)
        found.append(each)
        waiting.extend(each.parts)
    return found


# -- RC1 day 12 -------------------------------------------------------------------------------------------


def rc1(*, third_morning: int | None = 2, night_before: int = 3, flexion: int = 123) -> Builder:
    """RC1 day 12: night 3 and 2 six days apart, worst pain 5, flexion 82 per cent of the other side."""
    made = case("RC1", day=12).mornings(-11, 2, 2, 2)
    made.session(-6, 3, 2, 2).session(-4, 3, 2, 2).session(-2, 3, 2, third_morning)
    made.measure(-7, "night_pain", night_before).measure(-1, "night_pain", 2).measure(-1, "worst_pain", 5)
    return made.both(-1, "active_flexion", flexion, 150)


def test_rc1_day_12_is_ready():
    """5.4 row 1: READY (minimum 0 days)."""
    found = standing_of(rc1())
    assert found.verdict.word is Word.READY, states(found)
    assert codes(found) == ["RDY"]


def test_rc1_day_12_without_the_third_morning_is_unknown():
    """5.4 row 2: UNKNOWN, the next-morning score for the last session is what to record."""
    found = standing_of(rc1(third_morning=None))
    assert found.verdict.word is Word.UNKNOWN, states(found)
    assert "morning" in found.verdict.line.lower()
    assert not any(c.state is Truth.NOT_MET for c in found.verdict.criteria)


def test_rc1_day_12_with_a_failing_value_is_not_yet():
    """5.4 row 1, each boundary: night 4 on the older of two observations; flexion 79 per cent."""
    older_fails = standing_of(rc1(night_before=4))
    # ruling 17: the unbroken run that ends with the newest is one observation long: one more needed
    assert older_fails.verdict.word is Word.UNKNOWN, states(older_fails)
    assert standing_of(rc1(flexion=119)).verdict.word is Word.NOT_YET
    assert standing_of(rc1(flexion=120)).verdict.word is Word.READY


# -- RC2 --------------------------------------------------------------------------------------------------


def rc2(day: int, *, flexion: int = 160, strength: int | None = 78) -> Builder:
    """RC2 with three good sessions of 3 x 10 light resisted work, the newest two days ago."""
    made = case("RC2", day=day).mornings(-min(day, 12), 2, 2, 2)
    for back in (6, 4, 2):
        made.session(-back, 3, 2, 2, R1=(3, 10))
    made.both(-1, "active_flexion", flexion, 170)
    if strength is not None:
        made.percent(-1, "external_rotation_strength", strength)
    return made


def test_rc2_day_9_opens_on_day_14():
    """5.4 row 3: all met but day 9 < 14: NOT YET, opens on day 14, the date given."""
    found = standing_of(rc2(9))
    assert found.verdict.word is Word.NOT_YET, states(found)
    assert found.verdict.first_unmet is not None
    assert found.verdict.first_unmet.opens_on == date(2026, 3, 7)
    assert "7 mar" in found.verdict.line.lower()
    assert [c.state for c in found.verdict.criteria].count(Truth.NOT_MET) == 1, states(found)


def test_rc2_opens_on_its_fourteenth_day():
    """5.4 row 3, boundary: day 13 not yet, day 14 ready (criteria include equality)."""
    assert standing_of(rc2(13)).verdict.word is Word.NOT_YET
    assert standing_of(rc2(14)).verdict.word is Word.READY, states(standing_of(rc2(14)))


def test_rc2_day_40_lacks_flexion_and_strength():
    """5.4 row 4: NOT YET: active flexion 84 per cent, needs 90; also missing: external rotation strength."""
    found = standing_of(rc2(40, flexion=143, strength=None))  # 143 of 170 is 84.1 per cent
    assert found.verdict.word is Word.NOT_YET, states(found)
    line = found.verdict.line.lower()
    assert "active flexion" in line
    assert "84" in line
    assert "90" in line
    assert any("external rotation" in missing.lower() for missing in found.verdict.also_missing)


def test_rc2_losing_rotation_is_not_yet():
    """5.4 row 11: passive external rotation 20 against 55, firm end-feel: range being lost, severity 3."""
    made = rc2(40).both(-1, "passive_external_rotation", 20, 55).finding(-1, "firm end-feel")
    found = standing_of(made)
    assert found.verdict.word is Word.NOT_YET, states(found)
    assert "range being lost" in found.verdict.line.lower()
    assert reason(found, "STF").severity == 3


def test_rc2_at_half_of_the_other_side_is_not_losing_range_by_that_rule():
    """5.4 row 11, boundary (ruling 35: strictly below 50 per cent; 4.6: other side at least 40 degrees)."""
    assert "STF" not in codes(standing_of(rc2(40).both(-1, "passive_external_rotation", 20, 40)))
    assert "STF" in codes(standing_of(rc2(40).both(-1, "passive_external_rotation", 19, 40)))
    assert "STF" not in codes(standing_of(rc2(40).both(-1, "passive_external_rotation", 15, 39)))


# -- flares -----------------------------------------------------------------------------------------------


def flaring(stage: str, day: int, mornings: tuple[int, ...]) -> Builder:
    """Sessions two days apart ending two days ago, each followed by the given morning; baseline 2."""
    made = case(stage, day=day).mornings(-min(day, 13), 2, 2, 2)
    for place, morning in enumerate(mornings):
        made.session(-2 * (len(mornings) - place), 3, 2, morning)
    return made


def test_rc3_two_flares_of_four_advise_a_step_back():
    """5.4 row 5: two flares in the last four sessions within ten days: STEP BACK ADVISED, flare 2 of 4."""
    found = standing_of(flaring("RC3", 30, (5, 2, 5, 2)))
    assert found.verdict.word is Word.STEP_BACK, states(found)
    assert "flare" in found.verdict.line.lower()
    assert re.search("2 of (the )?(last |newest )?4", found.verdict.line.lower())


def test_rc3_one_flare_of_four_is_a_matter_of_dose():
    """4.5: a single flare is a dose matter, not a triage reason."""
    found = standing_of(flaring("RC3", 30, (2, 2, 5, 2)))
    assert found.verdict.word is not Word.STEP_BACK, states(found)
    assert "FLA" not in codes(found)


def test_rc1_two_flares_reduce_the_load():
    """5.4 row 6 with ruling 20: first stage, NOT YET, first line "reduce load (no earlier stage)"."""
    found = standing_of(flaring("RC1", 8, (5, 5)))
    assert found.verdict.word is Word.NOT_YET, states(found)
    assert "reduce load (no earlier stage)" in found.verdict.line
    assert "FLA" in codes(found)


# -- after surgery ----------------------------------------------------------------------------------------


def po2(post_op: int, *, cleared: bool = False) -> Builder:
    """PO2 entered on day 14 after surgery, painless, passive flexion 140, sling weaned as ordered (83)."""
    made = case("PO2", day=post_op - 14, onset=post_op).mornings(-12, 0, 0, 0)
    made.orders(-post_op, sling_until=28 - post_op)
    for back in (6, 4, 2):
        made.session(-back, 0, 0, 0, P1=(3, 10))
    # Without a dated order the sling stays to day 41 (ruling 83).
    made.orders(-12, sling_until=-3).measure(-1, "passive_flexion", 140).finding(-1, "sling weaned")
    return made.clearance(-1, "surgeon") if cleared else made


def test_po2_day_39_waits_for_the_gate():
    """5.4 row 7: pain 0/0/0 does not open a gate: NOT YET, opens day 42; also missing: clearance."""
    found = standing_of(po2(39))
    assert found.verdict.word is Word.NOT_YET, states(found)
    assert "5 mar" in found.verdict.line.lower(), found.verdict.line
    assert any(c.opens_on == date(2026, 3, 5) and "42" in c.needed + c.text for c in all_criteria(found))
    assert any("clear" in missing.lower() for missing in found.verdict.also_missing)


def test_po2_opens_on_day_42_and_not_before():
    """5.4 row 7, boundary: day 41 with clearance is still NOT YET, day 42 READY."""
    assert standing_of(po2(41, cleared=True)).verdict.word is Word.NOT_YET
    assert standing_of(po2(42, cleared=True)).verdict.word is Word.READY, states(
        standing_of(po2(42, cleared=True))
    )


def po3(*, cleared: bool = False, during: int = 2) -> Builder:
    """PO3, 86 days after surgery: active flexion 130, no shrug."""
    made = case("PO3", day=44, onset=86).mornings(-12, 1, 1, 1).session(-2, during, 2, 1, A2=(3, 10))
    made.measure(-1, "active_flexion", 130).finding(-1, "shrug seen", "no")
    return made.clearance(-1, "surgeon", scope="resisted") if cleared else made


def test_po3_day_86_lacks_the_surgeons_clearance():
    """5.4 row 8: UNKNOWN: surgeon's clearance for resisted work."""
    found = standing_of(po3())
    assert found.verdict.word is Word.UNKNOWN, states(found)
    assert "clear" in found.verdict.line.lower()
    assert "resisted" in found.verdict.line.lower()


def test_po3_day_86_with_clearance_is_ready():
    """5.4 row 8, the other side: cleared for resisted work READY; clearance for movement alone is not it;
    pain 4 during the newest session NOT YET."""
    assert standing_of(po3(cleared=True)).verdict.word is Word.READY, states(standing_of(po3(cleared=True)))
    assert standing_of(po3().clearance(-1, "surgeon")).verdict.word is Word.UNKNOWN
    assert standing_of(po3(cleared=True, during=4)).verdict.word is Word.NOT_YET


# -- frozen shoulder --------------------------------------------------------------------------------------


def fs1(*, first_night: int = 6, night: int = 3) -> Builder:
    """FS1 day 90: night pain fell in six weeks; rest 2; pain mainly at end range; three good sessions."""
    made = case("FS1", day=90).mornings(-12, 2, 2, 2)
    for back in (6, 4, 2):
        made.session(-back, 3, 2, 2)
    made.measure(-42, "night_pain", first_night)
    for day in (-15, -1):
        made.measure(day, "night_pain", night).measure(day, "rest_pain", 2)
    made.measure(-1, "passive_external_rotation", 30)  # measured at each review (ruling 86)
    return made.finding(-1, "pain mainly at end range")


def test_fs1_day_90_is_ready_and_not_long_in_stage():
    """5.4 row 9: READY; "long in stage" is not raised beside READY, though day 90 > stall day 84."""
    found = standing_of(fs1())
    assert found.verdict.word is Word.READY, states(found)
    assert codes(found) == ["RDY"]


def test_fs1_day_90_without_change_at_night_is_to_be_discussed():
    """3.2 plateau rule, the other side of row 9: night pain changed by less than 2 over 42 days: REFER."""
    found = standing_of(fs1(first_night=5, night=4))
    assert found.verdict.word is Word.REFER, states(found)
    assert found.verdict.rule == "plateau"
    assert "discuss options" in words(found)


# -- dislocation ------------------------------------------------------------------------------------------


def ad1(day: int, band: str, *, lifts: bool = False) -> Builder:
    """AD1 ``day`` days after a first dislocation, can or cannot lift to 90 degrees."""
    made = case("AD1", day=day, onset=day, age_band=band)
    return made.finding(0, "can lift to 90 degrees", "yes" if lifts else "no")


def test_ad1_day_16_aged_46_who_cannot_lift_is_referred():
    """5.4 row 10: REFER: image cuff (no lift to 90 degrees at 14 days; ruling 66: at any age)."""
    found = standing_of(ad1(16, "40s"))
    assert found.verdict.word is Word.REFER, states(found)
    assert found.verdict.rule == "image cuff"
    assert "cuff" in found.verdict.line.lower()


def test_ad1_imaging_rule_boundaries():
    """5.4 row 10, boundaries: day 13 not yet due, day 14 due; ruling 66: at any age; lifts: no."""
    assert standing_of(ad1(13, "40s")).verdict.rule != "image cuff"
    assert standing_of(ad1(14, "40s")).verdict.rule == "image cuff"
    assert standing_of(ad1(16, "30s")).verdict.rule == "image cuff"
    assert standing_of(ad1(16, "40s", lifts=True)).verdict.word is not Word.REFER
