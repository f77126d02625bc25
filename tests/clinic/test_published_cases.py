"""Real patients, published by others, entered as a caseload and judged by the project's own figures.

Sources
- Eleven patients: Major DH et al., Pilot and Feasibility Studies 2021;7:31, doi 10.1186/s40814-021-00767-6,
  table 3 (week 0 and week 12; case 11 was lost). The printed *change* medians follow from the rows (SPADI
  17.5 printed 18, PSFS 2.15 printed 2.2, NPRS 2.5 printed 2.5). The printed group medians do not all follow:
  SPADI at week 12 is printed 21 (the rows give 13), PSFS at week 0 is printed 3.3 (the rows give 5), PSFS at
  week 12 is printed 8 (the rows give 7.5) and NPRS at week 12 is printed 2 (the rows give 1.5). So the rows
  are checked, and the changes.
- Four athletes: PMC4970846, table T3 (Constant-Murley before and after).
- One patient's strength in kilograms, both sides: PMC7394793, table 1.
- One patient with a fracture, three WORC totals with printed per cent: PMC3505890, table 1.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.outcome import better, change, responded, responders
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.record.case import CaseRecord
from armrise.store.rules.criterion import Criterion
from tests.clinic.build import TODAY, Builder, case, codes, rules, standing_of

WEEK_12 = 84

# case: (SPADI, PSFS, NPRS) at week 0 and at week 12, None where lost; totals as printed
ROWS: dict[int, tuple[tuple[str | None, str | None], ...]] = {
    1: (("56", "3"), ("5", "9.7"), ("5", "0")),
    2: (("19", "0"), ("2.7", "10"), ("5", "0")),
    3: (("67", "46"), ("0.3", "2.3"), ("9", "6")),
    4: (("43", "32"), ("3", "5.3"), ("7", "3")),
    5: (("20", "5"), ("6.3", "6.3"), ("3", "1")),
    6: (("57", "21"), ("8.7", "8.3"), ("8", "2")),
    7: (("19", "5"), ("6.3", "7.7"), ("3", "1")),
    8: (("22", "23"), ("2.7", "3.3"), ("2", "3")),
    9: (("38", "22"), ("3.3", "7.3"), ("5", "3")),
    10: (("22", "3"), ("5", "10"), ("2", "0")),
    11: (("65", None), ("7", None), ("6", None)),
}
INSTRUMENTS = ("SPADI", "PSFS", "NRS")


def entries_of(row: tuple[tuple[str | None, str | None], ...]) -> list[dict[str, Any]]:
    """The entries of one patient: first visit and placing, scores at week 0 and week 12, weekly contact."""
    made: list[dict[str, Any]] = [
        {"kind": "visit", "on": -WEEK_12, "author": "DM", "interval": 42},
        {"kind": "screen", "on": -WEEK_12, "author": "DM", "item": "all", "answer": "no"},
        {"kind": "step", "on": -WEEK_12, "author": "DM", "stage": "RC2", "direction": "placing"},
        {"kind": "visit", "on": -1, "author": "DM", "interval": 42},
    ]
    for instrument, totals in zip(INSTRUMENTS, row, strict=True):
        for day, total in zip((-WEEK_12, 0), totals, strict=True):
            if total is not None:
                score = {"kind": "score", "on": day, "author": "DM", "source": "patient reported"}
                made.append({**score, "instrument": instrument, "total": float(total)})
    return made


def caseload() -> dict[str, Any]:
    """The eleven patients as a caseload file."""
    head = {"side": "RIGHT", "pathway": "RC", "clinician": "DM", "referrer": "trial", "registered": -WEEK_12}
    cases = [
        {"code": f"MA-{n:02}", "person": f"P-{n:02}", **head, "entries": entries_of(row)}
        for n, row in ROWS.items()
    ]
    return {
        "format": "armrise caseload 1",
        "clinic_date": TODAY.isoformat(),
        "zone": "Europe/Oslo",
        "fictional": False,
        "clinic": "published patients",
        "cases": cases,
    }


@pytest.fixture(scope="module")
def patients(tmp_path_factory: pytest.TempPathFactory) -> dict[int, CaseRecord]:
    """The eleven records, taken into a store and read back."""
    from armrise.store.caseload.read import case as read_case
    from armrise.store.caseload.taking.take import take_whole
    from armrise.store.database.place import Store
    from armrise.store.exchange.into.caseload_file import parse

    path: Path = tmp_path_factory.mktemp("published") / "clinic.armrise"
    store = Store.create(path, zone="Europe/Oslo")
    taken = take_whole(store, parse(caseload(), "major"))
    assert len(taken.new_cases) == len(ROWS)
    return {n: read_case(store, f"MA-{n:02}") for n in ROWS}


def view(record: CaseRecord, today: date = TODAY) -> View:
    """The record as the rules see it on ``today``."""
    return View.of(record, rules(), today)


def changes(patients: dict[int, CaseRecord], instrument: str) -> dict[int, Decimal | None]:
    """Change toward better of each patient at week 12; None where lost."""
    found = {n: change(view(record), instrument) for n, record in patients.items()}
    return {n: None if moved is None else moved.toward_better for n, moved in found.items()}


PER_PATIENT = {
    "SPADI": ["53", "19", "21", "11", "15", "36", "14", "-1", "16", "19", None],
    "PSFS": ["4.7", "7.3", "2.0", "2.3", "0", "-0.4", "1.4", "0.6", "4.0", "5", None],
    "NRS": ["5", "5", "3", "4", "2", "6", "2", "-1", "2", "2", None],
}
"""Subtraction of the printed rows, positive for better."""


@pytest.mark.parametrize("instrument", INSTRUMENTS)
def test_change_of_each_patient(patients: dict[int, CaseRecord], instrument: str):
    """Major 2021, table 3: week 0 minus week 12 of each row, toward better."""
    wanted = [None if text is None else Decimal(text) for text in PER_PATIENT[instrument]]
    assert list(changes(patients, instrument).values()) == wanted


@pytest.mark.parametrize(
    ("instrument", "middle", "least", "most"),
    [
        ("SPADI", "17.5", "-1", "53"),  # printed 18 (-1 to 53)
        ("PSFS", "2.15", "-0.4", "7.3"),  # printed 2.2 (-0.4 to 7.33)
        ("NRS", "2.5", "-1", "6"),  # printed 2.5 (-1 to 6)
    ],
)
def test_change_medians_and_ranges(
    patients: dict[int, CaseRecord], instrument: str, middle: str, least: str, most: str
):
    """Major 2021, table 3: median change and range of the ten who were measured."""
    found = [c for c in changes(patients, instrument).values() if c is not None]
    assert len(found) == 10
    assert median(found) == Decimal(middle)
    assert (min(found), max(found)) == (Decimal(least), Decimal(most))


@pytest.mark.parametrize(
    ("instrument", "week_0", "week_12"),
    [("SPADI", "38", "13"), ("PSFS", "5", "7.5"), ("NRS", "5", "1.5")],
)
def test_group_medians_follow_the_rows_and_not_the_print(
    patients: dict[int, CaseRecord], instrument: str, week_0: str, week_12: str
):
    """The rows give these medians. Printed are SPADI 38 to 21, PSFS 3.3 to 8, NPRS 5 to 2: of the six, only
    SPADI and NPRS at week 0 agree with the rows."""
    scores = [s for record in patients.values() for s in record.scores if s.instrument == instrument]
    before = [s.total for s in scores if s.on < TODAY]
    after = [s.total for s in scores if s.on == TODAY]
    assert (len(before), len(after)) == (11, 10)
    assert median(before) == Decimal(week_0)
    assert median(after) == Decimal(week_12)


@pytest.mark.parametrize(
    ("instrument", "threshold", "count"),
    [
        *(("SPADI", "8", 9), ("SPADI", "13", 8), ("SPADI", "18", 5), ("SPADI", "20", 3)),
        *(("PSFS", "2", 6), ("PSFS", "2.01", 5), ("PSFS", "1.3", 7)),
        *(("NRS", "2", 9), ("NRS", "2.17", 5)),
    ],
)
def test_responders(patients: dict[int, CaseRecord], instrument: str, threshold: str, count: int):
    """Derived from the rows: responders of the ten measured, the lost one counted as lost and not as no."""
    found = changes(patients, instrument).values()
    assert responders((change, Decimal(threshold)) for change in found) == (count, 10, 11)


def test_psfs_at_2_counts_the_patient_at_exactly_two(patients: dict[int, CaseRecord]):
    """Case 3 gains exactly 2.0 (0.3 to 2.3), so six reach 2. A count of five, as the clinic's notes derived,
    is what binary fractions give: there 2.3 - 0.3 is 1.9999999999999998."""
    assert changes(patients, "PSFS")[3] == Decimal("2.0")
    assert 2.3 - 0.3 < 2


def test_response_at_week_12_by_the_projects_figures(patients: dict[int, CaseRecord]):
    """SPADI response 13 (Roy 2009: 8 to 13) or acceptable 30 (ruling 89), PSFS response 2 (Rysstad 2020) or
    acceptable 8: everyone measured responded, case 8 by a SPADI of 23; case 11 cannot be judged."""
    found = {n: responded(view(record)) for n, record in patients.items()}
    assert found.pop(11) is Truth.UNKNOWN
    assert set(found.values()) == {Truth.MET}


def test_case_8_worsens_on_two_scores_and_improves_on_one(patients: dict[int, CaseRecord]):
    """Major 2021, case 8: SPADI 22 to 23, NPRS 2 to 3, PSFS 2.7 to 3.3. Worse by less than the detectable 18
    points, and in the acceptable state of 30 (ruling 89), so nothing is owed."""
    moved = {name: changes(patients, name)[8] for name in INSTRUMENTS}
    assert moved == {"SPADI": Decimal(-1), "NRS": Decimal(-1), "PSFS": Decimal("0.6")}
    assert "WRS" not in codes(standing_of(patients[8]))


def test_nobody_is_listed_as_not_responding(patients: dict[int, CaseRecord]):
    """The list at week 12."""
    listed = [n for n, record in patients.items() if "WRS" in codes(standing_of(record))]
    assert listed == []


@pytest.mark.parametrize("later", [0, 1, 14])
def test_case_11_is_lost_and_not_a_failure(patients: dict[int, CaseRecord], later: int):
    """Major 2021, case 11: no week 12 values. The score is due; nothing is said about response, ever."""
    today = TODAY + timedelta(days=later)
    found = standing_of(patients[11], today)
    assert "PRM" in codes(found)
    assert "WRS" not in codes(found)
    assert responded(view(patients[11], today)) is Truth.UNKNOWN


def test_four_athletes_on_the_constant_murley_score():
    """PMC4970846, table T3: 73 to 82, 90 to 100, 77 to 83, 76 to 91: gains 9, 10, 6, 15; two reach 10
    (smallest important change, FIMPACT 2021, doi 10.1186/s12874-021-01241-w)."""
    gains: list[Decimal | None] = []
    for before, after in ((73, 82), (90, 100), (77, 83), (76, 91)):
        made = case("RC3", day=60, scored=False)
        made.score(-60, "Constant-Murley", before).score(-1, "Constant-Murley", after)
        moved = change(view(made.record()), "Constant-Murley")
        gains.append(moved.toward_better if moved else None)
    assert gains == [9, 10, 6, 15]
    spec = rules().instruments["Constant-Murley"]
    assert spec.response is not None
    assert spec.response.value == 10
    assert responders((gain, spec.response.value) for gain in gains) == (2, 4, 4)


def share_is(made: Builder, measure: str, of: str, per_cent: Decimal) -> bool:
    """True when the project reads ``measure`` as ``per_cent`` of ``of``, to one decimal: a criterion just
    below that share is met, one just above it is not."""

    def state(at_least: Decimal) -> Truth:
        wanted = Criterion(
            kind="measure",
            text="share",
            source="test",
            status="published",
            measure=measure,
            of=of,
            at_least=at_least,
        )
        return evaluate(view(made.record()), wanted).state

    near = Decimal("0.06")
    return (state(per_cent - near), state(per_cent + near)) == (Truth.MET, Truth.NOT_MET)


@pytest.mark.parametrize(
    ("measure", "right", "left", "per_cent"),
    [
        ("external_rotation_strength", "6.2", "12.4", "50.0"),
        ("abduction_strength", "4", "12.3", "32.5"),
        ("flexion_strength", "4.3", "14.1", "30.5"),
        ("internal_rotation_strength", "9.8", "20.8", "47.1"),
    ],
)
def test_side_to_side_strength(measure: str, right: str, left: str, per_cent: str):
    """PMC7394793, table 1, kilograms right and left: limb symmetry index 50.0, 32.5, 30.5, 47.1 per cent."""
    made = case("RC2", day=20).both(-1, measure, right, left)
    assert share_is(made, measure, "other side", Decimal(per_cent))


def test_side_to_side_strength_fails_the_criterion():
    """The same patient against "external rotation strength at least 70 per cent of the other side"."""
    made = case("RC2", day=20).both(-1, "external_rotation_strength", "6.2", "12.4")
    judged = [c for c in standing_of(made).verdict.criteria if "strength" in c.text]
    assert [c.state for c in judged] == [Truth.NOT_MET]
    assert "50" in judged[0].observed


@pytest.mark.parametrize(
    ("side", "outward", "inward", "per_cent"),
    [("RIGHT", "6.2", "9.8", "63.3"), ("LEFT", "12.4", "20.8", "59.6")],
)
def test_rotation_ratio(side: str, outward: str, inward: str, per_cent: str):
    """PMC7394793, table 1: external over internal rotation 0.633 right and 0.596 left."""
    made = case("RC2", day=20, side=side).measure(-1, "external_rotation_strength", outward)
    made.measure(-1, "internal_rotation_strength", inward)
    ratio = "internal_rotation_strength"
    assert share_is(made, "external_rotation_strength", ratio, Decimal(per_cent))


@pytest.mark.parametrize(
    ("measure", "now", "other", "lost"),
    [
        ("passive_external_rotation", 20, 60, "66.7"),
        ("passive_flexion", 120, 170, "29.4"),
        ("passive_abduction", 90, 170, "47.1"),
        ("passive_internal_rotation", 40, 65, "38.5"),
    ],
)
def test_loss_against_the_other_side(measure: str, now: int, other: int, lost: str):
    """Derived: loss in per cent of the other side is 100 minus the share."""
    made = case("RC2", day=20).both(-1, measure, now, other)
    assert share_is(made, measure, "other side", 100 - Decimal(lost))


def test_a_change_of_range_against_the_error_of_its_raters():
    """Kolber 2011 (Physiother Theory Pract 27:176) and 2009 (25:572), digital inclinometer: the detectable
    change of external rotation is 5 degrees with one rater, 9 with two. So 8 degrees is real with one rater
    and not with two. The project's own allowances (10 and 20 degrees, for painful shoulders and any tool) lie
    above both, on purpose: de Winter 2004, BMC Musculoskelet Disord 5:18."""
    assert 5 <= 8 < 9
    known = rules()
    assert known["drift.same_watch"] > 9
    assert known["drift.other_watch"] >= 20
    for rater in ("TK", "AB"):
        made = case("RC2", day=30).measure(-30, "passive_external_rotation", 60)
        made.measure(-1, "passive_external_rotation", 52, rater=rater)
        assert codes(standing_of(made)) == []


def test_direction_of_a_change():
    """WORC raw totals are lower-is-better (1619, 570, 192: PMC3505890, table 1, printed 23, 73, 91 per cent
    of the best): 1619 to 570 is 1049 better, and the way back is as much worse."""
    spec = rules().instruments["WORC"]
    assert better(spec, Decimal(1619), Decimal(570)) == 1049
    assert better(spec, Decimal(570), Decimal(1619)) == -1049
    shares = [
        round((spec.high - raw) / spec.high * 100) for raw in (Decimal(1619), Decimal(570), Decimal(192))
    ]
    assert shares == [23, 73, 91]
