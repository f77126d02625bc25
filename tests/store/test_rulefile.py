"""The rule files: they load, their numbers are those of the sources they name, and bad files are refused."""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.record.kinds.measured import INSTRUMENTS, MEASURES
from armrise.store.record.kinds.safety import FLAG_ITEMS
from armrise.store.record.light import dataclass
from armrise.store.rules import read as rulefile
from armrise.store.rules import read_pathway
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.declared import Amount, may
from armrise.store.rules.diff import difference
from armrise.store.rules.figure import STATUSES, Figure
from armrise.store.rules.figures import FIGURES
from armrise.store.rules.folder.signature import of_folder
from armrise.store.rules.pathway import Rules, Stage
from armrise.store.rules.read import RuleFileError, faults, load
from armrise.store.rules.rows import pick, rows

LOOKED_UP = re.compile(
    r"\b(19|20)\d\d\b|PMC\d{6}|BESS guideline|Exeter|RaCeR|NICE|Institute for Work|issh\.org"
)
"""A year, an archive number, or a public body: enough to find the source."""

Edit = Callable[[str, str, str], Path]


@pytest.fixture(scope="module")
def rules() -> Rules:
    return load()


@pytest.fixture
def edit(tmp_path: Path) -> Edit:
    """Copies the rule files and replaces the first occurrence of a text in one of them."""

    def change(name: str, old: str, new: str) -> Path:
        folder = tmp_path / "rules"
        if not folder.exists():
            shutil.copytree(rulefile.SHIPPED, folder)
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text, f"{name} has no {old!r}"
        (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
        return folder

    return change


def refusal(folder: Path) -> str:
    with pytest.raises(RuleFileError) as caught:
        load(folder)
    sentence = str(caught.value)
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


def stage(rules: Rules, code: str) -> Stage:
    found = rules.pathways[code[:2]].stage(code)
    assert found is not None
    return found


def exits(rules: Rules, code: str, kind: str) -> list[Criterion]:
    return [criterion for criterion in stage(rules, code).exit if criterion.kind == kind]


# --- they load ---------------------------------------------------------------------------------------------


def test_the_shipped_files_load_and_hold_everything_the_rules_ask_for(rules: Rules) -> None:
    assert list(rules.pathways) == ["RC", "FS", "PO", "AD", "OA", "FX"]
    assert set(rules.figures) == set(FIGURES)
    assert set(rules.measures) == set(MEASURES)
    assert set(rules.instruments) == set(INSTRUMENTS)
    assert set(rules.screen_severity) == set(FLAG_ITEMS)
    assert set(rules.ranks) == set(REASONS)
    assert [len(p.stages) for p in rules.pathways.values()] == [4, 3, 5, 5, 3, 4]


def test_shipped_rules_are_not_signed_off(rules: Rules) -> None:
    assert rules.version == "3"
    assert rules.sign_off == "NOT SIGNED OFF"


def test_a_sign_off_names_who_and_when(edit: Edit) -> None:
    folder = edit("rules.toml", 'signed_by = ""', 'signed_by = "A. Lead"\nsigned_on = 2026-02-01')
    # A name typed by hand stands under nothing in particular, so it counts as no signature.
    assert load(folder).sign_off == "NOT SIGNED OFF, signed without armrise rules sign"
    edit("rules.toml", "signed_on", f'signed_digest = "{of_folder(folder)}"\nsigned_on')
    assert load(folder).sign_off == "signed off by A. Lead on 2026-02-01"


def every_figure(node: object) -> list[dict[str, object]]:
    """Every table of the files that states a status, wherever it stands."""
    if isinstance(node, dict):
        own = [node] if "status" in node else []
        return own + [found for value in node.values() for found in every_figure(value)]
    if isinstance(node, list):
        return [found for value in node for found in every_figure(value)]
    return []


def test_every_number_carries_source_and_status_and_published_ones_can_be_looked_up() -> None:
    for path in sorted(rulefile.SHIPPED.glob("*.toml")):
        for figure in every_figure(tomllib.loads(path.read_text(encoding="utf-8"))):
            assert figure["status"] in STATUSES
            source = str(figure["source"])
            if figure["status"] == "published":
                assert LOOKED_UP.search(source), f"{path.name}: {source}"


def test_a_file_saved_with_a_byte_order_mark_and_windows_line_ends_loads(edit: Edit) -> None:
    path = edit("RC.toml", "Settle", "Settle") / "RC.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert load(path.parent).pathways["RC"].stages[0].name == "Settle"


# --- the numbers are those of the sources named beside them ------------------------------------------------


@pytest.mark.parametrize(("code", "day"), [("PO1", 0), ("PO2", 14), ("PO3", 42), ("PO4", 84), ("PO5", 140)])
def test_repair_opens_by_the_consensus_phases(rules: Rules, code: str, day: int) -> None:
    # Thigpen 2016, J Shoulder Elbow Surg 25:521: two weeks strict immobilisation, then phases from weeks
    # 2, 6, 12 and 20 (weeks 0-6, 6-12, 12-20, 20-26).
    opens = stage(rules, code).opens_day
    assert opens is not None
    assert opens.whole == day
    assert "Thigpen 2016" in opens.source
    assert opens.status == "published"


def test_large_tears_open_strength_no_sooner_than_week_16(rules: Rules) -> None:
    # Two surgeons' public protocols: strengthening from month 4 / not before 16 weeks after a massive tear.
    assert [s.opens_day_large and s.opens_day_large.whole for s in rules.pathways["PO"].stages] == [
        None,
        None,
        56,
        112,
        168,
    ]
    large = stage(rules, "PO4").opens_day_large
    assert large is not None
    assert large.whole >= 16 * 7


def test_arthritis_loads_as_the_trial_did(rules: Rules) -> None:
    # Larsen 2022, Pilot Feasibility Stud: 12 weeks; pain up to 5 of 10 acceptable; adherence 70 % is high.
    assert rules.pathways["OA"].checkpoint.whole == 12 * 7
    assert stage(rules, "OA2").limits.during.whole == 5
    (adherence,) = exits(rules, "OA2", "adherence")
    assert adherence.at_least == 70
    assert adherence.status == "published"


def test_dislocation_opens_by_the_national_guideline(rules: Rules) -> None:
    # BESS guideline on traumatic anterior dislocation: phases 3-6, 6-12 and from 12 weeks (return to sport).
    days = [s.opens_day.whole for s in rules.pathways["AD"].stages if s.opens_day]
    assert days == [0, 7, 6 * 7, 12 * 7, 112]


def test_fracture_moves_actively_from_six_weeks(rules: Rules) -> None:
    # Public leaflets (Hull HEY-1293/2022): heals in 6 to 12 weeks; sling weaned from week 2 to 3.
    days = [s.opens_day.whole for s in rules.pathways["FX"].stages if s.opens_day]
    assert days == [14 * 0, 14, 6 * 7, 12 * 7]
    assert stage(rules, "FX4").opens_with_union


def test_first_stage_of_cuff_pain_ends_at_the_trial_gate(rules: Rules) -> None:
    # Trial protocol, BMC Musculoskelet Disord 2021, doi 10.1186/s12891-021-04588-9, Table 1: into phase II
    # with at least 80 % of active flexion and worst pain in daily life of at most 5 of 10.
    gates = {c.measure: c for c in exits(rules, "RC1", "measure")}
    assert gates["worst_pain"].at_most == 5
    assert (gates["active_flexion"].at_least, gates["active_flexion"].of) == (80, "other side")
    assert gates["active_flexion"].status == "published"


def test_post_operative_stiffness_is_that_of_the_cohorts(rules: Rules) -> None:
    # Sci Rep 2022 (PMC8873420); JSES Int 2020 (PMC7846695): at 3 months, passive flexion under 120 degrees or
    # external rotation at the side under 30.
    path = rules.pathways["PO"]
    assert path.stiffness_flexion is not None
    assert path.stiffness_rotation is not None
    assert (path.stiffness_flexion.whole, path.stiffness_rotation.whole) == (120, 30)
    warned = {c.measure: c.at_most for c, _ in stage(rules, "PO3").range_warnings}
    assert warned == {"passive_flexion": Decimal("119.99"), "passive_external_rotation": Decimal("29.99")}


@pytest.mark.parametrize(
    ("instrument", "response", "detectable"),
    [
        ("SPADI", 13, 18),  # Roy 2009, Arthritis Rheum 61:623: important 8 to 13 (upper end), detectable 18
        ("QuickDASH", 13, 17),  # van Kampen 2013, J Orthop Surg Res 8:40: 13.4 and 17.1, whole points
        ("DASH", Decimal("12.4"), Decimal("16.3")),  # van Kampen 2013
        ("OSS", 6, 6),  # van Kampen 2013: 6.0 and 6.0
        ("OSIS", 6, 9),  # van der Linde 2017 JOSPT 47:402 (ruling 89)
        ("PSFS", 2, 2),  # Rysstad 2020, BMC Musculoskelet Disord 21:328: 1.9 to 2.0
        ("WOSI", 294, 483),  # 14 % (ruling 89) and 23.0 % (BMC Musculoskelet Disord 2014;15:211) of 2100
        ("ASES", Decimal("6.4"), Decimal("9.4")),  # Roy 2009
    ],
)
def test_change_thresholds(
    rules: Rules, instrument: str, response: Decimal | int, detectable: Decimal | int
) -> None:
    spec = rules.instruments[instrument]
    assert spec.response is not None
    assert spec.detectable is not None
    assert (spec.response.value, spec.detectable.value) == (response, detectable)


def test_score_scales_and_directions(rules: Rules) -> None:
    # Oxford scores 0-48 higher better (licence holder's 2018 guide); SPADI, DASH family 0-100 lower better;
    # WOSI and WORC raw 0-2100 lower better.
    scales = {k: (s.low, s.high, s.lower_is_better) for k, s in rules.instruments.items()}
    assert scales["OSS"] == scales["OSIS"] == (0, 48, False)
    assert scales["SPADI"] == scales["QuickDASH"] == scales["DASH"] == (0, 100, True)
    assert scales["WOSI"] == scales["WORC"] == (0, 2100, True)
    # Ruling 88; a work or sport module, a single rating and patient-specific function are none.
    assert {k for k, s in rules.instruments.items() if s.region} == {
        *("SPADI", "QuickDASH", "DASH", "OSS", "OSIS", "WOOS"),
        *("ASES", "Constant-Murley", "WORC", "WOSI", "SANE"),
    }


def test_acceptable_state_of_constant_and_pain(rules: Rules) -> None:
    # FIMPACT 2021, BMC Med Res Methodol, doi 10.1186/s12874-021-01241-w: Constant 80. Pain: Tashjian 2009,
    # JBJS, cuff disease (ruling 89).
    constant, pain = rules.instruments["Constant-Murley"], rules.instruments["NRS"]
    assert constant.acceptable is not None
    assert pain.acceptable is not None
    assert (constant.acceptable.value, pain.acceptable.value) == (80, 3)


def test_measurement_errors(rules: Rules) -> None:
    # de Winter 2004, BMC Musculoskelet Disord 5:18: two observers cannot tell 20 to 25 degrees from error.
    assert (rules["drift.other_watch"], rules["drift.other_act"]) == (20, 25)
    # Phys Ther Sport 2016;21:75: hand-held dynamometer, detectable change 13.3 to 23.7 %.
    assert (rules["strength.error_same"], rules["strength.error_other"]) == (15, 25)


def test_stiff_shoulder_is_half_of_the_other_side(rules: Rules) -> None:
    # UK FROST trial protocol (PMC5741880): passive external rotation under 50 % of the other side.
    assert rules["drift.half_percent"] == 50


def test_red_flags_by_urgency(rules: Rules) -> None:
    # Rees 2021, Shoulder Elbow 13:5: infected joint, unreduced dislocation, sudden nerve loss the same day;
    # suspected tumour within two weeks.
    severity = {item: figure.whole for item, figure in rules.screen_severity.items()}
    assert [severity[item] for item in FLAG_ITEMS[:4]] == [3, 3, 3, 2]


def test_names_of_the_reasons_are_words(rules: Rules) -> None:
    assert [row.code for row in sorted(rules.ranks.values(), key=lambda r: r.rank)] == list(rulefile.codes())
    assert {row.tier for row in rules.ranks.values() if row.rank <= 3} == {"today"}
    assert rules.ranks["MSG"].name == "message not answered"  # ruling 63


def test_load_classes_add_up_and_strength_waits_for_its_stage(rules: Rules) -> None:
    # Thigpen 2016: progressive strengthening from week 12, which is PO4.
    resisted = {"R1", "R2", "R3"}
    assert [bool(resisted & set(s.allowed)) for s in rules.pathways["PO"].stages] == [False] * 3 + [True] * 2
    for path in rules.pathways.values():
        for before, after in zip(path.stages, path.stages[1:], strict=False):
            assert set(before.allowed) <= set(after.allowed)


def test_pain_limits_common_practice_no_source(rules: Rules) -> None:
    limits = {
        s.code: (s.limits.during.whole, s.limits.later.whole, s.limits.rise.whole)
        for path in rules.pathways.values()
        for s in path.stages
    }
    assert limits["RC1"] == limits["FS1"] == limits["PO3"] == limits["AD1"] == limits["OA1"] == (3, 3, 1)
    assert limits["RC2"] == limits["RC4"] == limits["PO4"] == limits["FX1"] == (4, 4, 1)
    assert limits["FS2"] == limits["AD5"] == limits["FX4"] == (5, 4, 1)


@pytest.mark.parametrize(
    ("measure", "days", "extra", "cap"),
    [
        ("night_pain", 14, 7, 42),
        ("night_waking", 14, 7, 42),
        ("passive_flexion", 28, 14, 70),
        ("hand_behind_back", 28, 14, 70),
        ("external_rotation_strength", 42, 14, 84),
        ("adherence", 14, None, None),
    ],
)
def test_87_when_a_measure_goes_stale(
    rules: Rules, measure: str, days: int, extra: int | None, cap: int | None
) -> None:
    spec = rules.measures[measure]
    assert (spec.stale_days.whole, spec.stale_extra, spec.stale_cap) == (days, extra, cap)


def test_88_a_score_has_the_figures_of_its_pathway(rules: Rules) -> None:
    """Ruling 89: ASES 6.4, after a repair 21; Constant 10 and 18, there 6.7 and 23; SANE there alone."""
    found = {
        (code, name): (spec.response and spec.response.value, spec.detectable and spec.detectable.value)
        for code in ("RC", "PO")
        for name, spec in rules.instruments_in(rules.pathways[code]).items()
    }
    assert found["RC", "ASES"] == (Decimal("6.4"), Decimal("9.4"))
    assert found["PO", "ASES"] == (21, Decimal("9.4"))
    assert found["RC", "Constant-Murley"] == (10, 18)
    assert found["PO", "Constant-Murley"] == (Decimal("6.7"), 23)
    assert found["RC", "SANE"] == (None, None)
    assert found["PO", "SANE"] == (Decimal("16.9"), None)
    assert found["RC", "OSS"] == found["PO", "OSS"] == (6, 6)


def test_65_from_when_a_shoulder_that_cannot_lift_is_a_reason(rules: Rules) -> None:
    said = {code: path.lift_rule_from for code, path in rules.pathways.items()}
    assert {code: (s.days and s.days.whole, s.stage, s.never) for code, s in said.items() if s} == {
        "RC": (0, None, False),
        "FS": (None, None, True),
        "PO": (None, "PO4", False),
        "AD": (14, None, False),
        "OA": (None, None, True),
        "FX": (84, None, False),
    }


def test_86_the_stages_whose_passive_range_is_measured(rules: Rules) -> None:
    stages = [stage for path in rules.pathways.values() for stage in path.measure_range]
    assert stages == ["RC1", "FS1", "FS2", "PO2", "PO3", "OA1"]


def test_92_apprehension_goes_stale_and_every_exit_says_so(rules: Rules) -> None:
    stale = {name: figure.whole for name, figure in rules.finding_stale_days.items()}
    assert stale["apprehension"] == stale["apprehension in daily use"] == stale["apprehension accepted"] == 28
    (dry,) = exits(rules, "PO1", "finding")  # ruling 70
    assert (dry.finding, dry.from_day, dry.fresh_days) == ("wound dry", 7, 14)


# --- every kind of refusal ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("rules.toml", 'version = "3"', "version = 1", "rules.toml, version: is 1"),
        ("rules.toml", 'version = "3"', 'version = ""', "rules.toml, version: is empty"),
        ("rules.toml", 'version = "3"', "", "rules.toml, version: is missing"),
        ("rules.toml", 'signed_by = ""', 'signed_by = "A. Lead"', "rules.toml, signed_on: is missing"),
        ("rules.toml", 'signed_by = ""', 'signed_by = ""\nsigned_on = 2026-02-01', "signed_by: is empty"),
        (
            "rules.toml",
            'signed_by = ""',
            'signed_by = "A"\nsigned_on = "May"',
            "signed_on: is 'May', allowed is a date",
        ),
        ("rules.toml", '"FX"]', '"FX", "ZZ"]', "ZZ.toml: is missing"),
        ("rules.toml", '"OA", "FX"]', '"OA"]', "pathways: does not name FX.toml"),
        ("rules.toml", '"OA", "FX"]', '"OA", "FX", "FX"]', "names a code twice"),
        ("rules.toml", '"OA", "FX"]', '"OA", "fx"]', "pathways: holds 'fx'"),
        # figures
        (
            "rules.toml",
            "flare_over_during = { points",
            "flare_over_durin = { points",
            "flare_over_during: is missing",
        ),
        (
            "rules.toml",
            "recall_days = {",
            "recal_days = 3\nrecall_days = {",
            "response, recal_days: is not known here",
        ),
        ("rules.toml", "recall_days = { days = 3", "recall_days = { days = -3", "recall_days, days: is -3"),
        ("rules.toml", "recall_days = { days = 3", "recall_days = { days = 3.5", "recall_days, days: is 3.5"),
        ("rules.toml", "recall_days = { days = 3", "recall_days = { days = nan", "recall_days, days: is NaN"),
        (
            "rules.toml",
            "recall_days = { days = 3",
            "recall_days = { days = true",
            "recall_days, days: is true",
        ),
        ("rules.toml", "recall_days = { days = 3", 'recall_days = { days = "3"', "recall_days, days: is '3'"),
        (
            "rules.toml",
            "recall_days = { days = 3",
            "recall_days = { weeks = 3",
            "recall_days, days: is missing",
        ),
        ("rules.toml", "denominator = { value = 4", "denominator = { value = 0", "silence.denominator: is 0"),
        (
            "rules.toml",
            "same_watch = { degrees = 10",
            "same_watch = { degrees = 16",
            "at most drift.same_act, 15",
        ),
        # source and status
        ("RC.toml", 'source = "common practice", ', "", "stage RC1, minimum, source: is missing"),
        ("RC.toml", 'source = "common practice"', 'source = " "', "stage RC1, minimum, source: is empty"),
        (
            "RC.toml",
            'status = "common practice"',
            'status = "certain"',
            "status: is 'certain', allowed is one of published",
        ),
        # ranks
        (
            "rules.toml",
            'RED  = { rank = 1, tier = "today"',
            'RED  = { rank = 1, tier = "harm if left"',
            "ranks, RED: is rank 1",
        ),
        ("rules.toml", "INJ  = { rank = 2", "INJ  = { rank = 3", "ranks, INJ: is rank 3"),
        ("rules.toml", "LIM  = { rank = 3", "LIM  = { rank = 4", "ranks, LIM: is rank 4"),
        ("rules.toml", "MSG  = {", "MSX  = {", "ranks, MSG: is missing"),
        ("rules.toml", "MSG  = { rank = 13", "MSG  = { rank = 14", "has rank 14 like"),
        (
            "rules.toml",
            'WAT  = { rank = 26, tier = "move on"',
            'WAT  = { rank = 26, tier = "today"',
            "WAT: is in 'today' below",
        ),
        (
            "rules.toml",
            'WAT  = { rank = 26, tier = "move on"',
            'WAT  = { rank = 26, tier = "soon"',
            "tier: is 'soon'",
        ),
        ("rules.toml", 'name = "range to watch"', 'name = "letter owed"', "one name to two reasons"),
        # measures, instruments, screen, findings
        ("rules.toml", "[measures.rest_pain]", "[measures.resting_pain]", "measures, rest_pain: is missing"),
        (
            "rules.toml",
            "low = 0\nhigh = 10",
            "low = 10\nhigh = 10",
            "worst_pain, low: is 10, allowed is less than high",
        ),
        ("rules.toml", "[instruments.WOOS]", "[instruments.XYZ]", "instruments, WOOS: is missing"),
        (
            "rules.toml",
            "response = { points = 13",
            "response = { points = 113",
            "SPADI, response, points: is 113",
        ),
        # questionnaire forms, points of the Constant-Murley score, trends
        (
            "rules.toml",
            'missing = { value = 3, source = "27',
            'missing = { value = 30, source = "27',
            "DASH, form, missing: is 30",
        ),
        ("rules.toml", "items = 11, low = 1", "items = 11, low = 5", "QuickDASH, form, part 1, low: is 5"),
        (
            "rules.toml",
            "items = 11, low = 1, high = 5",
            "items = 11, low = 1, high = 500",
            "part 1, high: is 500",
        ),
        ("rules.toml", 'missing_in = "each part"', 'missing_in = "each"', "missing_in: is 'each'"),
        ("rules.toml", "lengths = [1, 3]", "lengths = [1, 2]", "NRS, form, lengths: ends with 2"),
        ("rules.toml", "lengths = [1, 3]", "lengths = [0, 3]", "lengths: holds 0"),
        ("rules.toml", '"all items"]', '"all of it"]', "formulas: holds 'all of it'"),
        ("rules.toml", "parts = [\n", "parts = []\nspare = [\n", "parts: is empty"),
        ("rules.toml", "upto = 60, points = 2", "upto = 20, points = 2", "elevation, steps: is out of order"),
        (
            "rules.toml",
            "confidence_percent = { percent = 95",
            "confidence_percent = { percent = 100",
            "is 100, allowed is less than 100",
        ),
        (
            "rules.toml",
            "per_kg = { points = 2.2",
            "per_kg = { points = 22",
            "constant, strength, per_kg, points: is 22",
        ),
        ("rules.toml", '"shrug seen" =', '"shrug" =', "finding_stale, shrug: is not known here"),
        (
            "rules.toml",
            'name = "motor or sensory loss"\nseverity = 3',
            'name = "motor or sensory loss"\nseverity = 4',
            "screen item 'motor or sensory loss', severity: is 4, allowed is a whole number from 1 to 3",
        ),
        # pathways
        (
            "RC.toml",
            'code = "RC"',
            'code = "FS"',
            "RC.toml, code: is FS, allowed is the name of the file, RC",
        ),
        ("PO.toml", 'clock = "surgery"', 'clock = "operation"', "PO.toml, clock: is 'operation'"),
        ("PO.toml", 'clock = "surgery"\n', "", "states no clock"),
        ("PO.toml", 'score = "OSS"', 'score = "PSFS"', "PO.toml, score: is 'PSFS'"),
        ("PO.toml", 'half_rule = "never"', 'half_rule = "from day"', "half_rule_from: goes with"),
        ("AD.toml", 'half_rule_not_in = ["AD1"]', "", "half_rule_not_in: goes with"),
        ("AD.toml", 'half_rule_not_in = ["AD1"]', 'half_rule_not_in = ["AD9"]', "holds 'AD9'"),
        (
            "PO.toml",
            'lift_rule_from = { stage = "PO4" }',
            'lift_rule_from = { stage = "PO9" }',
            "stage: is 'PO9'",
        ),
        (
            "FS.toml",
            'lift_rule_from = "never"',
            'lift_rule_from = "later"',
            "lift_rule_from: is 'later', allowed",
        ),
        (
            "RC.toml",
            'measure_range = ["RC1"]',
            'measure_range = ["RC9"]',
            "measure_range: holds 'RC9', allowed",
        ),
        ("PO.toml", "[response_in.SANE]", "[response_in.SPUDI]", "response_in, SPUDI: is not known here"),
        (
            "PO.toml",
            "fresh_days = 14\n",
            "fresh_days = 0\n",
            "exit criterion 1, fresh_days: is 0, allowed is",
        ),
        (
            "PO.toml",
            "fresh_days = 14\n",
            "",
            "exit criterion 1, fresh_days: is missing, needed is it here, or a",
        ),
        (
            "rules.toml",
            '"goal met" = "never"\n',
            "",
            "fresh_days: is missing, needed is it here, or a line for 'goal",
        ),
        (
            "rules.toml",
            '"goal met" = "never"',
            '"goal met" = "ever"',
            "finding_stale, goal met: is 'ever', allowed",
        ),
        (
            "RC.toml",
            'finding = "goal met"\n',
            'finding = "goal met"\nfrom_day = 7\n',
            "stage RC4, from_day: counts from surgery or injury, and the file states no clock",
        ),
        (
            "rules.toml",
            "extra = 7, cap = 42,",
            "extra = 7,",
            "worst_pain, stale, extra: and cap belong together",
        ),
        (
            "rules.toml",
            "extra = 7, cap = 42,",
            "extra = 7, cap = 13,",
            "stale, cap: is 13, allowed is days, 14, or",
        ),
        ("PO.toml", "stiffness_judged =", "# stiffness_judged =", "stiffness_from: needs stiffness_judged"),
        (
            "RC.toml",
            "early_look = { days = 42",
            "early_look = { days = 90",
            "early_look: is 90, allowed is at most checkpoint",
        ),
        (
            "RC.toml",
            'half_rule = "always"',
            'half_rule = "always"\ncolour = "red"',
            "RC.toml, colour: is not known here",
        ),
        # stages
        ("RC.toml", 'code = "RC2"', 'code = "RC1"', "stage 2, code: is RC1, which an earlier stage has"),
        ("RC.toml", 'code = "RC2"', 'code = "FS2"', "stage 2, code: is 'FS2'"),
        ("RC.toml", 'code = "RC2"', 'code = "RC7"', "is RC3 after RC7"),
        (
            "RC.toml",
            "usual = { days = 14",
            "usual = { days = 29",
            "stage RC1, usual: is 29, allowed is at most stall",
        ),
        (
            "PO.toml",
            "minimum = { days = 28",
            "minimum = { days = 30",
            "stage PO2, minimum: is 30, allowed is at most usual",
        ),
        (
            "PO.toml",
            "opens = { days = 84",
            "opens = { days = 42",
            "stage PO4, opens: is day 42, allowed is later",
        ),
        (
            "PO.toml",
            "opens_large = { days = 56",
            "opens_large = { days = 40",
            "PO3, opens: is 42, allowed is at most opens_large",
        ),
        (
            "PO.toml",
            "opens_large = { days = 168",
            "# opens_large = { days = 168",
            "stage PO5, opens_large: is missing",
        ),
        ("PO.toml", "opens = { days = 84", "# opens = {", "stage PO4, opens: is missing"),
        (
            "RC.toml",
            "precautions",
            'opens = { days = 3, source = "x", status = "design" }\nprecautions',
            "stage RC1, opens: counts from surgery",
        ),
        ("RC.toml", '"P0", "P1"', '"P0", "P9"', "stage RC1, adds: holds 'P9'"),
        ("RC.toml", '"P0", "P1"', '["P0"], "P1"', "stage RC1, adds: holds a list"),
        ("PO.toml", 'adds = ["P0"]', "adds = []", "stage PO1, adds: allows no load class"),
        (
            "RC.toml",
            "during = { points = 3",
            "during = { points = 11",
            "stage RC1, limits, during, points: is 11",
        ),
        ("FS.toml", "review_early_days", "review_early_day", "review_early_day: is not known here"),
        (
            "PO.toml",
            "protected = true",
            'protected = "yes"',
            "stage PO1, protected: is 'yes', allowed is true or false",
        ),
        ("RC.toml", 'purpose = "calm', 'purpose = "\\u001b[31mcalm', "stage RC1, purpose: is"),
        # criteria
        (
            "RC.toml",
            'kind = "measure"',
            'kind = "measurement"',
            "stage RC1, exit criterion 1, kind: is 'measurement'",
        ),
        (
            "RC.toml",
            'measure = "night_pain"',
            'measure = "night"',
            "stage RC1, exit criterion 1, measure: is 'night'",
        ),
        (
            "RC.toml",
            "at_most = 3\nobs",
            "at_most = 30\nobs",
            "exit criterion 1, at_most: is 30, allowed is a number from 0 to 10",
        ),
        ("RC.toml", "at_most = 3\nobs", "obs", "exit criterion 1, at_least: is missing"),
        (
            "RC.toml",
            "at_most = 3\nobs",
            "at_least = 4\nat_most = 3\nobs",
            "at_least: is 4, allowed is at most",
        ),
        ("RC.toml", "observations = 2\n", "", "exit criterion 1, apart_days: needs observations"),
        (
            "RC.toml",
            "observations = 2\n",
            "observations = 2\nfinding = 'goal met'\n",
            "finding: is not known here",
        ),
        (
            "RC.toml",
            'load_class = ["R1"]',
            'load_class = ["R9"]',
            "stage RC2, exit criterion 1, load_class: holds 'R9'",
        ),
        (
            "RC.toml",
            'finding = "goal met"',
            'finding = "goals met"',
            "exit criterion 1, part 2, finding: is 'goals met'",
        ),
        (
            "RC.toml",
            'instrument = "PSFS"',
            'instrument = "ABC"',
            "stage RC3, exit criterion 3, instrument: is 'ABC'",
        ),
        ("RC.toml", "days = 28\n", "", "stage RC4, exit criterion 2, days: is missing"),
        (
            "PO.toml",
            'scope = "movement"',
            'scope = "everything"',
            "exit criterion 1, part 1, scope: is 'everything'",
        ),
        ("PO.toml", 'answer = "no"', 'answer = "not asked"', "answer: is 'not asked'"),
        ("PO.toml", "below = 90", "at_most = 90", "stage PO2, range warning 1, at_most: is not known here"),
        ("PO.toml", 'of = "passive_flexion"', 'of = "best"', "part 2, of: is 'best'"),
        # refer rules
        ("FS.toml", 'rule = "plateau"', 'rule = "nerves"', "FS.toml, refer rule 1, rule: is 'nerves'"),
        (
            "FS.toml",
            "past_stall = true",
            'findings = { "badge lost" = "yes" }',
            "refer rule 1 (plateau), findings, badge lost: is not known",
        ),
        (
            "FS.toml",
            'past_stall = true\nmeasure = "night_pain"\nchange_below = 2\nover_days = 42\n',
            "",
            "refer rule 1 (plateau), findings: is missing",
        ),
        (
            "FS.toml",
            "over_days = 42\n",
            "",
            "refer rule 1 (plateau), measure: needs change_below and over_days",
        ),
        ("FS.toml", 'stages = ["FS1"]', 'stages = ["FS8"]', "refer rule 1 (plateau), stages: holds 'FS8'"),
        (
            "FS.toml",
            'text = "plateau',
            'from_day = 3\ntext = "plateau',
            "from_day: counts from surgery or injury",
        ),
    ],
)
def test_refused(edit: Edit, name: str, old: str, new: str, says: str) -> None:
    assert says in refusal(edit(name, old, new))


def test_a_stage_without_exit_criteria_is_refused(edit: Edit) -> None:
    folder = edit("RC.toml", "Settle", "Settle")
    path = folder / "RC.toml"
    first = path.read_text(encoding="utf-8").partition("\n[[stage.exit]]")[0]
    path.write_text(first, encoding="utf-8")
    assert "stage RC1, exit: is missing" in refusal(folder)


def test_a_pathway_without_stages_is_refused(edit: Edit) -> None:
    folder = edit("RC.toml", "Settle", "Settle")
    path = folder / "RC.toml"
    path.write_text(path.read_text(encoding="utf-8").partition("\n[[stage]]")[0], encoding="utf-8")
    assert "RC.toml, stage: is missing" in refusal(folder)


def test_any_needs_two_parts(edit: Edit) -> None:
    folder = edit("RC.toml", 'kind = "any"', 'kind = "all"')
    path = folder / "RC.toml"
    before, _, after = path.read_text(encoding="utf-8").rpartition("[[stage.exit.parts]]")
    path.write_text(before + after.partition("\n\n")[2], encoding="utf-8")
    assert "stage RC4, exit criterion 1, parts: holds 1" in refusal(folder)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"stage = [", "RC.toml: is not valid TOML"),
        (b"name = \xff", "RC.toml: is not UTF-8 text"),
        (b"code = " + b"9" * 5000, "RC.toml: is not valid TOML"),
        (b"code = " + b"[" * 20000, "RC.toml: is not valid TOML"),
        (b"code = 'RC'\ncode = 'RC'", "RC.toml: is not valid TOML"),
        (b"", "RC.toml, code: is missing"),
        (b"code = 'RC'\nstage = 3", "RC.toml, stage: is 3, allowed is a list"),
        (b"code = 'RC'\nstage = [3]", "RC.toml, stage 1: is 3, allowed is a table"),
    ],
)
def test_unreadable_content_is_one_sentence(edit: Edit, content: bytes, says: str) -> None:
    folder = edit("RC.toml", "Settle", "Settle")
    (folder / "RC.toml").write_bytes(content)
    assert says in refusal(folder)


def test_a_misspelt_word_of_a_long_list_is_answered_with_the_nearest(edit: Edit) -> None:
    sentence = refusal(edit("RC.toml", 'finding = "goal met"', 'finding = "goals met"'))
    assert "goal met" in sentence
    assert len(sentence) < 200


def test_a_missing_folder_or_file_says_what_next(tmp_path: Path) -> None:
    assert "rules.toml: is missing" in refusal(tmp_path / "nowhere")
    (tmp_path / "rules.toml").mkdir()
    assert "rules.toml: cannot be read" in refusal(tmp_path)


def test_a_removed_stage_leaves_the_rest_readable(edit: Edit) -> None:
    folder = edit("OA.toml", "Maintain", "Maintain")
    path = folder / "OA.toml"
    path.write_text(path.read_text(encoding="utf-8").rpartition("\n[[stage]]")[0], encoding="utf-8")
    kept = load(folder).pathways["OA"]
    assert [s.code for s in kept.stages] == ["OA1", "OA2"]
    assert kept.stage("OA3") is None


def test_changing_a_number_changes_the_rule(edit: Edit) -> None:
    folder = edit("RC.toml", "minimum = { days = 14", "minimum = { days = 10")
    changed = load(folder).pathways["RC"].stages[1].minimum
    assert changed == Figure(Decimal(10), "common practice", "common practice")


# --- a figure of a stage is declared once -------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class StageWithRest(Stage):
    rest: Figure | None = may(
        Amount("days", (1, 7)), "rest", "between loads", at_most="usual", from_onset=True
    )


def test_a_figure_of_a_stage_is_its_declaration_and_a_line_of_the_file(
    edit: Edit, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(read_pathway, "Stage", StageWithRest)
    old = load()
    stated = 'rest = { days = 2, source = "test", status = "design" }'
    folder = edit("AD.toml", "[stage.limits]", f"{stated}\n\n[stage.limits]")
    new = load(folder)
    first = new.pathways["AD"].stages[0]
    assert isinstance(first, StageWithRest)
    assert first.rest == Figure(Decimal(2), "test", "design")
    (row,) = pick(rows(new), first.code)[-1:]
    assert (row.name, row.stated, row.meaning, row.status) == ("rest", "2 days", "between loads", "design")
    assert difference(old, new) == (f"{first.code}, rest days: added, 2 (design; source: test)",)
    edit("AD.toml", "rest = { days = 2", "rest = { days = 8")
    assert faults(folder) == ("AD.toml, stage AD1, rest, days: is 8, allowed is a whole number from 1 to 7.",)
    edit("AD.toml", f"{stated}\n".replace("days = 2", "days = 8"), "")
    assert faults(folder) == ()
    edit("RC.toml", "[stage.limits]", f"{stated}\n\n[stage.limits]")
    (fault,) = faults(folder)
    assert fault.startswith("RC.toml, stage RC1, rest: counts from surgery or injury")
