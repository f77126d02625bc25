"""What a letter says of pain, scores, range and strength, against published patients and published errors.

Sources
- Eleven patients: Major DH et al., Pilot and Feasibility Studies 2021;7:31, doi 10.1186/s40814-021-00767-6,
  table 3, week 0 and week 12 (the rows of ``test_published_cases``).
- SPADI: 13 is a response, 18 the detectable change, Roy 2009 Arthritis Rheum 61:623.
- Range by two observers: under 20 degrees is error, de Winter 2004 BMC Musculoskelet Disord 5:18. By one, 8
  to 9 degrees by inclinometer in healthy shoulders, Kolber 2011: 10 here.
- Strength by hand-held dynamometer: detectable 13 to 24 per cent, Phys Ther Sport 2016;21:75: 15 and 25 here.
  One athlete's prone rotation 16.5 to 21.0 kg, bjsm.bmj.com highwire 113540.
- Practice notes of the clinic: 4.13 rows 36 and 37.
"""

from __future__ import annotations

import pytest

from armrise.store.record.fields import Absence
from tests.clinic.build import Builder, case
from tests.clinic.test_letter import letter, line
from tests.clinic.test_published_cases import ROWS

# --- pain and scores: published patients ----------------------------------------------------------------


def patient(number: int) -> Builder:
    """One of the eleven: SPADI, PSFS and worst pain at week 0 and week 12, both on days of visits."""
    made = case("RC2", day=84, last_visit=0, scored=False, referrer="general practitioner")
    for name, totals in zip(("SPADI", "PSFS", "worst_pain"), ROWS[number], strict=True):
        for day, total in zip((-84, 0), totals, strict=True):
            if total is not None:
                scored = name != "worst_pain"
                made = made.score(day, name, total) if scored else made.measure(day, name, total)
    return made


SPADI = {
    1: ("56 on 8 Dec 2025, 3 on 2 Mar 2026, change 53 toward better", "reaches", "beyond"),
    3: ("67 on 8 Dec 2025, 46 on 2 Mar 2026, change 21 toward better", "reaches", "beyond"),
    4: ("43 on 8 Dec 2025, 32 on 2 Mar 2026, change 11 toward better", "does not reach", "within"),
    5: ("20 on 8 Dec 2025, 5 on 2 Mar 2026, change 15 toward better", "reaches", "within"),
    8: ("22 on 8 Dec 2025, 23 on 2 Mar 2026, change 1 toward worse", "does not reach", "within"),
    9: ("38 on 8 Dec 2025, 22 on 2 Mar 2026, change 16 toward better", "reaches", "within"),
}
"""By hand: 56 - 3 = 53, 67 - 46 = 21, 43 - 32 = 11, 20 - 5 = 15, 22 - 23 = -1, 38 - 22 = 16; 13 and 18."""


@pytest.mark.parametrize("number", SPADI)
def test_the_score_of_a_published_patient(number: int) -> None:
    change, response, error = SPADI[number]
    said = line(patient(number), 5)
    assert said.startswith(f"SPADI (0 to 100, lower is better, mean of subscales): {change}, ")
    assert f"{response} the threshold 13, {error} error 18. PSFS" in said


def test_the_function_of_a_published_patient() -> None:
    """Case 8: PSFS 2.7 to 3.3, which is 0.6 and neither a response (2) nor beyond error (2)."""
    assert (
        "PSFS (0 to 10, higher is better): 2.7 on 8 Dec 2025, 3.3 on 2 Mar 2026, change 0.6 toward better,"
        " does not reach the threshold 2, within error 2 (from memory)." in line(patient(8), 5)
    )


@pytest.mark.parametrize(
    ("number", "said"),
    [(1, "5 to 0, change -5, beyond"), (3, "9 to 6, change -3, beyond"), (8, "2 to 3, change +1, within")],
)
def test_the_pain_of_a_published_patient(number: int, said: str) -> None:
    """NPRS 5 to 0, 9 to 6, 2 to 3; three points are the error, at the limit included."""
    assert f"8 Dec 2025 to 2 Mar 2026: worst pain (24 h) {said} error 3 (from memory)." in line(
        patient(number), 3
    )


def test_a_patient_who_was_lost_has_one_total_and_no_change() -> None:
    """Case 11: SPADI 65 and pain 6 at week 0, nothing at week 12."""
    assert "65 on 8 Dec 2025, no other total." in line(patient(11), 5)
    assert "8 Dec 2025 alone: worst pain (24 h) 6." in line(patient(11), 3)
    assert "Night waking not recorded." in line(patient(11), 3)


def test_pain_told_as_a_score_stands_in_the_line_of_pain() -> None:
    made = case("RC2", day=84, last_visit=0, scored=False).score(-84, "NRS", 5).score(0, "NRS", 0)
    assert "NRS (0 to 10, lower is better): 5 on 8 Dec 2025, 0 on 2 Mar 2026, change 5" in line(made, 3)


def test_a_form_without_a_total_is_said_to_have_none() -> None:
    made = case("RC2", day=84, scored=False).score(-84, "SPADI", 50).score(-2, "SPADI", None)
    assert "50 on 8 Dec 2025, no other total; 28 Feb 2026: form incomplete, no total." in line(made, 5)
    assert "SPADI: not recorded." in line(case("RC2", scored=False), 5)
    made = case("RC2", day=84, scored=False).score(-2, "SPADI", Absence.DECLINED)
    assert "28 Feb 2026: total declined." in line(made, 5)


def test_totals_of_two_forms_are_not_compared() -> None:
    made = case("RC2", day=84, scored=False)
    made.score(-84, "SPADI", 50, version="one").score(-2, "SPADI", 20, version="two")
    assert "20 on 28 Feb 2026; not comparable (version: one, then two)" in line(made, 5)
    assert "change" not in line(made, 5)


# --- contradictions -------------------------------------------------------------------------------------


def test_a_score_against_the_patient_comes_first_and_both_go_in() -> None:
    """Practice note 4.13, row 37: SPADI 60 to 20, the patient's own answer -3."""
    made = case("RC2", day=84, last_visit=0, scored=False)
    made.score(-84, "SPADI", 60).score(0, "SPADI", 20).score(0, "GROC", -3)
    said = line(made, 5)
    assert said.startswith("Contradiction: the score and the patient's own global change disagree. SPADI")
    assert "change 40 toward better" in said
    assert said.endswith("Patient's own answer (GROC, -7 to +7): -3 on 2 Mar 2026.")


def test_a_value_above_the_passive_one_comes_first() -> None:
    made = case("RC2", day=40).measure(-2, "active_flexion", 150).measure(-2, "passive_flexion", 120)
    said = line(made, 4)
    assert said.startswith(
        "Contradiction: active range above passive on the same day, 28 Feb 2026, not confirmed."
    )


# --- range and strength: published errors ---------------------------------------------------------------

ROTATION = "passive_external_rotation"


@pytest.mark.parametrize(
    ("first", "last", "raters", "said"),
    [
        (40, 49, ("TK", "TK"), "40 to 49, change +9, within error 10."),
        (40, 50, ("TK", "TK"), "40 to 50, change +10, beyond error 10."),
        (60, 45, ("TK", "TK"), "60 to 45, change -15, beyond error 10."),
        (40, 55, ("TK", "RS"), "40 to 55, change +15, within error 20, not by one rater."),
        (40, 60, ("TK", "RS"), "40 to 60, change +20, beyond error 20, not by one rater."),
        (40, 55, (None, None), "40 to 55, change +15, within error 20, not by one rater."),
    ],
)
def test_range_beside_the_error_of_one_and_of_two_raters(
    first: int, last: int, raters: tuple[str | None, str | None], said: str
) -> None:
    made = case("RC2", day=40, last_visit=0)
    made.measure(-40, ROTATION, first, rater=raters[0]).measure(0, ROTATION, last, rater=raters[1])
    assert f"21 Jan 2026 to 2 Mar 2026: passive external rotation at side {said}" in line(made, 4)


@pytest.mark.parametrize(
    ("first", "last", "raters", "said"),
    [
        ("16.5", "21.0", ("TK", "TK"), "16.5 to 21 kg, change +4.5, beyond error 15 per cent."),
        ("16.5", "21.0", ("TK", "RS"), "beyond error 25 per cent, not by one rater."),
        ("10", "11.4", ("TK", "TK"), "10 to 11.4 kg, change +1.4, within error 15 per cent."),
        ("10", "11.5", ("TK", "TK"), "10 to 11.5 kg, change +1.5, beyond error 15 per cent."),
        ("10", "12.4", ("TK", "RS"), "within error 25 per cent, not by one rater."),
    ],
)
def test_strength_beside_its_error(first: str, last: str, raters: tuple[str, str], said: str) -> None:
    """16.5 to 21.0 kg is 27 per cent: beyond both. 15 per cent of 10 kg are 1.5 kg, 25 are 2.5."""
    made, name = case("RC3", day=40, last_visit=0), "external_rotation_strength"
    made.measure(-40, name, first, rater=raters[0]).measure(0, name, last, rater=raters[1])
    assert said in line(made, 4)


def test_the_other_side_and_what_is_not_there_are_said() -> None:
    made = case("RC2", day=40, last_visit=0)
    made.both(-40, ROTATION, 40, 65).measure(0, ROTATION, 60)
    made.measure(0, "external_rotation_strength", Absence.PROHIBITED)
    said = line(made, 4)
    assert "passive external rotation at side 40 to 60 (other side 65), change +20" in said
    assert "Active flexion not recorded." in said
    assert "External rotation strength prohibited on 2 Mar 2026." in said


def test_a_later_absence_a_repeat_and_another_device_are_said() -> None:
    made = case("RC2", day=40, last_visit=0).measure(-40, ROTATION, 40).measure(-10, ROTATION, 55)
    assert line(made.measure(0, ROTATION, Absence.DECLINED), 4).count("declined on 2 Mar 2026") == 1
    made = case("RC2", day=40, last_visit=0).measure(-40, ROTATION, 40)
    made.measure(-10, ROTATION, 55, method="inclinometer").measure(0, ROTATION, 58, method="inclinometer")
    assert "55 to 58, change +3, within error 10, 1 more value not compared" in line(made, 4)
    made = case("RC2", day=40).measure(-40, ROTATION, 40).measure(-10, ROTATION, 50)
    assert "repeated on 2 Mar 2026, not measured" in line(made.measure(0, ROTATION, 50, repeated=True), 4)


def test_values_before_an_operation_are_no_yardstick() -> None:
    made = case("RC3", day=60, last_visit=0).measure(-60, "worst_pain", 9)
    made.onset(-20, "surgery", operation="cuff repair").step(-20, "PO1", "placing").visit(-10)
    said = letter(made.measure(-10, "worst_pain", 5).measure(0, "worst_pain", 4))
    assert "worst pain (24 h) 5 to 4" in said.lines[2]
    assert "Surgery 10 Feb 2026, cuff repair (day 20)" in said.lines[0]
    assert said.to == "the surgeon"
