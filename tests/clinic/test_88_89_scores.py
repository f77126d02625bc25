"""Which scores are read, by which figures, and what a score without one says (rulings 88, 89, 92, 94)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.change import latest_change, sentences
from armrise.store.clinic.scores.outcome import responded, score_owed
from armrise.store.clinic.scores.worse import worse
from armrise.store.rules.figure import Figure
from tests.clinic.build import TODAY, Builder, case, codes, reason, rules, standing_of
from tests.clinic.build_more import criterion, printed

REGION = (
    *("SPADI", "QuickDASH", "DASH", "OSS", "OSIS", "WOOS"),
    *("ASES", "Constant-Murley", "SANE", "WOSI", "WORC"),
)


def scored(stage: str, instrument: str, first: float, last: float, day: int = 90, ago: int = 2) -> Builder:
    """A case past its checkpoint with two totals of one score."""
    made = case(stage, day=20, first=day, scored=False, onset=220 if stage[:2] == "PO" else None)
    return made.score(-day, instrument, first).score(-ago, instrument, last)


def view(made: Builder) -> View:
    return View.of(made.record(), rules(), TODAY)


def figure(name: str, kind: str, pathway: str = "RC") -> Figure | None:
    """A figure of a score as it counts in a pathway."""
    return getattr(rules().instruments_in(rules().pathways[pathway])[name], kind)


# --- 88: which scores are read ---------------------------------------------------------------------------


def test_88_the_region_scores() -> None:
    assert {key for key, spec in rules().instruments.items() if spec.region} == set(REGION)


@pytest.mark.parametrize(
    ("instrument", "first", "last"),
    [
        *[("SPADI", 60, 47), ("QuickDASH", 60, 47), ("DASH", 60, 47.6), ("OSS", 20, 26), ("OSIS", 20, 26)],
        *[("WOOS", 30, 43), ("ASES", 40, 46.4), ("Constant-Murley", 40, 50), ("WOSI", 1500, 1206)],
        *[("WORC", 1500, 1255), ("PSFS", 3, 5)],
    ],
)
def test_88_any_region_score_or_function_shows_response(instrument: str, first: float, last: float) -> None:
    """At its figure of ruling 89 a response; a step short of it none."""
    assert responded(view(scored("RC2", instrument, first, last))) is Truth.MET
    short = round(last + (0.1 if first > last else -0.1), 1)
    assert responded(view(scored("RC2", instrument, first, short))) is Truth.NOT_MET


@pytest.mark.parametrize(("instrument", "first", "last"), [("NRS", 8, 2), ("DASH work module", 80, 10)])
def test_88_pain_and_modules_show_none(instrument: str, first: int, last: int) -> None:
    assert responded(view(scored("RC2", instrument, first, last))) is Truth.UNKNOWN


@pytest.mark.parametrize("instrument", REGION)
def test_88_a_due_date_is_answered_by_any_region_score(instrument: str) -> None:
    """DASH at day 42: SPADI is not owed."""
    made = case("RC2", day=43, scored=False)
    assert score_owed(view(made))
    assert score_owed(view(made.score(-1, instrument, 40))) is None


@pytest.mark.parametrize("instrument", ["DASH work module", "QuickDASH sport or music module", "PSFS", "NRS"])
def test_88_what_is_no_region_score_answers_no_due_date(instrument: str) -> None:
    assert "PRM" in codes(standing_of(case("RC2", day=43, scored=False).score(-1, instrument, 5)))


@pytest.mark.parametrize(("stage", "last", "state"), [("RC2", 46.4, Truth.MET), ("PO5", 46.4, Truth.NOT_MET)])
def test_88_a_pathway_has_figures_of_its_own(stage: str, last: float, state: Truth) -> None:
    """ASES: 6.4 points are a response, after a repair 21."""
    assert responded(view(scored(stage, "ASES", 40, last, day=200))) is state


def test_88_after_a_repair_21_points_are_a_response() -> None:
    assert responded(view(scored("PO5", "ASES", 40, 61, day=200))) is Truth.MET
    assert responded(view(scored("PO5", "ASES", 40, 60, day=200))) is Truth.NOT_MET


@pytest.mark.parametrize(
    ("stage", "last", "live"), [("RC2", 22, True), ("PO5", 22, False), ("PO5", 17, True)]
)
def test_88_worse_is_read_by_the_figure_of_the_pathway(stage: str, last: int, live: bool) -> None:
    """Constant 40: 18 points lost are worse, after a repair 23."""
    found = worse(view(scored(stage, "Constant-Murley", 40, last, day=60)))
    assert (found is not None and found.severity == 2) is live


# --- 89: the table ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("instrument", "kind", "pathway", "points", "status", "source"),
    [
        ("OSIS", "response", "AD", "6", "from memory", "van der Linde 2017"),
        ("OSIS", "detectable", "AD", "9", "published", "J Orthop Surg Res 2015"),
        ("OSIS", "acceptable", "AD", "40", "design", "no source"),
        ("WOSI", "response", "AD", "294", "from memory", "van der Linde 2017"),
        ("ASES", "response", "RC", "6.4", "published", "Roy 2009"),
        ("ASES", "response", "PO", "21", "published", "AJSM 2025"),
        ("Constant-Murley", "response", "RC", "10", "published", "FIMPACT 2021"),
        ("Constant-Murley", "response", "PO", "6.7", "published", "PMC6994807"),
        ("Constant-Murley", "detectable", "RC", "18", "published", "Henseler 2015"),
        ("Constant-Murley", "detectable", "PO", "23", "published", "Henseler 2015"),
        ("OSS", "response", "PO", "6", "published", ""),
        ("SANE", "response", "PO", "16.9", "published", "Cvetanovich 2019"),
        ("SANE", "acceptable", "PO", "82.5", "published", "Cvetanovich 2019"),
        ("SPADI", "acceptable", "RC", "30", "published", "Tran 2020: 39.4 of 130, lowest third"),
        ("QuickDASH", "acceptable", "FX", "20", "design", ""),
        ("OSS", "acceptable", "PO", "40", "design", ""),
        ("PSFS", "acceptable", "RC", "8", "design", ""),
        ("NRS", "acceptable", "RC", "3", "published", "Tashjian 2009 JBJS, cuff disease, seen second hand"),
        ("WOOS", "response", "OA", "13", "published", "Larsen 2025"),
        ("WOOS", "detectable", "OA", "15", "from memory", ""),
    ],
)
def test_89_the_figures_of_the_scores(
    instrument: str, kind: str, pathway: str, points: str, status: str, source: str
) -> None:
    found = figure(instrument, kind, pathway)
    assert found is not None
    assert (found.value, found.status) == (Decimal(points), status)
    assert source in found.source


@pytest.mark.parametrize("pathway", ["RC", "FS", "AD", "OA", "FX"])
def test_89_sane_has_figures_after_a_repair_only(pathway: str) -> None:
    kinds = ("response", "detectable", "acceptable")
    assert [figure("SANE", kind, pathway) for kind in kinds] == [None] * 3


@pytest.mark.parametrize(
    ("stage", "name", "percent"),
    [
        *[("RC2", "external_rotation_strength", 70), ("RC3", "external_rotation_strength", 85)],
        *[("PO4", "external_rotation_strength", 70), ("PO5", "external_rotation_strength", 85)],
    ],
)
def test_89_shares_of_strength_are_design(stage: str, name: str, percent: int) -> None:
    at = rules().pathways[stage[:2]].stage(stage)
    (found,) = [c for c in at.exit if c.measure == name] if at else []
    assert (found.at_least, found.status) == (percent, "design")


@pytest.mark.parametrize(
    ("stage", "instrument", "least"),
    [
        *[("RC3", "PSFS", 6), ("RC4", "PSFS", 8), ("FS3", "PSFS", 7), ("PO5", "PSFS", 8)],
        *[("FX4", "PSFS", 7), ("AD4", "OSIS", 40)],
    ],
)
def test_89_scores_an_exit_asks_for_are_design(stage: str, instrument: str, least: int) -> None:
    at = rules().pathways[stage[:2]].stage(stage)
    asked = [part for c in at.exit for part in (c, *c.parts)] if at else []
    (found,) = [c for c in asked if c.instrument == instrument]
    assert (found.at_least, found.status) == (least, "design")


@pytest.mark.parametrize("stage", ["AD3", "AD4", "AD5", "FX3", "FX4", "PO5"])
def test_89_five_during_is_design_where_tissue_heals(stage: str) -> None:
    """The trials behind it were of arthritis and cuff pain."""
    at = rules().pathways[stage[:2]].stage(stage)
    assert at is not None
    assert (at.limits.during.whole, at.limits.during.status) == (5, "design")
    assert "not of healing tissue" in at.limits.during.source


def test_89_the_first_limits_of_the_cuff_are_common_practice() -> None:
    limits = rules().pathways["RC"].stages[0].limits
    assert [(f.whole, f.status) for f in (limits.during, limits.later)] == [(3, "common practice")] * 2


@pytest.mark.parametrize(("stage", "day"), [("FS1", 84), ("FS2", 168)])
def test_89_frozen_shoulder_long_in_stage_is_time_to_discuss_options(stage: str, day: int) -> None:
    made = case(stage, day=day + 1).measure(-1, "passive_external_rotation", 30)
    said = reason(standing_of(made), "STL").sentence
    assert said.endswith(f"time to discuss options after {day}")
    assert "long after" not in said
    assert "STL" not in codes(standing_of(case(stage, day=day)))


def test_89_elsewhere_long_after() -> None:
    assert (
        reason(standing_of(case("RC2", day=57)), "STL").sentence == "day 57 in RC2, usual 35, long after 56"
    )


def test_89_pain_of_3_is_likely_acceptable_and_the_strict_figure_stands_beside_it() -> None:
    def said(last: int) -> str:
        change = latest_change(view(scored("RC2", "NRS", 8, last)), "NRS")
        assert change is not None
        return " | ".join(sentences(change))

    assert "likely acceptable (3 or less, Tashjian 2009" in said(3)
    assert "strict: 1, FIMPACT 2021" in said(3)
    assert "likely acceptable" not in said(4)


@pytest.mark.parametrize(("last", "state"), [(30, Truth.MET), (31, Truth.NOT_MET)])
def test_89_spadi_of_30_is_acceptable(last: int, state: Truth) -> None:
    """From 40: no response by 13 points."""
    assert responded(view(scored("RC2", "SPADI", 40, last))) is state


# --- 94: without a detectable change ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "instrument", "first", "last"),
    [("RC2", "WORC", 500, 2000), ("RC2", "SANE", 80, 10), ("PO5", "SANE", 80, 10)],
)
def test_94_without_a_detectable_change_a_score_is_not_read_for_worse(
    stage: str, instrument: str, first: int, last: int
) -> None:
    """And the case says so. After one total there is no change to be read."""
    made = scored(stage, instrument, first, last, day=60)
    assert "WRS" not in codes(standing_of(made))
    words = f"{instrument}: measurement error not known, so it is not read for worse"
    assert words in standing_of(made).verdict.cautions
    one = case(stage, day=20, first=60, scored=False).score(-2, instrument, last)
    assert words not in standing_of(one).verdict.cautions


def test_94_with_one_it_is_read_and_nothing_is_said() -> None:
    standing = standing_of(scored("RC2", "SPADI", 40, 60, day=60))
    assert reason(standing, "WRS").severity == 2
    assert "measurement error not known" not in printed(standing)


def test_89_a_score_without_figures_judges_no_response() -> None:
    """SANE outside a repair, 40 to 95: neither response nor the lack of it, and that is what is said."""
    standing = standing_of(scored("RC4", "SANE", 40, 95))
    assert "WRS" not in codes(standing)
    assert "no figure for a change in this score: response cannot be judged" in standing.verdict.cautions
    improved = criterion(standing, "outcome score improved")
    assert (improved.state, improved.observed) == (
        Truth.UNKNOWN,
        "SANE: no figure for a change in it",
    )


# --- 92: judged again with each later score --------------------------------------------------------------


def no_response() -> Builder:
    """RC2 without response at its checkpoint of D-6, decided about at the visit of the next day."""
    made = scored("RC2", "SPADI", 60, 58, ago=12)
    return made.visit(-5, decision=True, answers="worse, or not responding")


def test_92_no_response_is_judged_again_with_each_later_score() -> None:
    made = scored("RC2", "SPADI", 60, 58, ago=12)
    assert reason(standing_of(made), "WRS").severity == 1
    assert "WRS" not in codes(standing_of(no_response()))
    later = standing_of(no_response().score(-3, "SPADI", 57))
    assert reason(later, "WRS").severity == 1
    assert "60 to 57" in reason(later, "WRS").sentence


def test_92_a_later_response_ends_it() -> None:
    assert "WRS" not in codes(standing_of(no_response().score(-3, "SPADI", 47)))
    assert "WRS" not in codes(standing_of(scored("RC2", "SPADI", 60, 58, ago=12).score(-3, "SPADI", 47)))


def test_92_a_later_decision_covers_the_later_score() -> None:
    made = no_response().score(-3, "SPADI", 57).visit(-2, decision=True, answers="worse, or not responding")
    assert "WRS" not in codes(standing_of(made))


@pytest.mark.parametrize(("last", "expected"), [(-28, True), (-29, False)])
def test_92_a_plateau_rests_on_a_value_inside_its_window(last: int, expected: bool) -> None:
    """FS1 asks for pain every 21 days: 28 days (ruling 87)."""
    made = case("FS1", day=92)
    for back in (-60, -50, last):
        made.measure(back, "night_pain", 4)
    verdict = standing_of(made).verdict
    assert (verdict.word is Word.REFER and verdict.rule == "plateau") is expected
