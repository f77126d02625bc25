"""A number marked from memory is said to be so wherever it decides something: each one of the shipped files.

The table below names every such number of the shipped rule files with a record that hangs on it. A number
that comes to be marked so without standing here fails a test.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.pain.irritability import Rows, cut_mark
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.scores.change import score_change, sentences
from armrise.store.clinic.scores.constant_murley import ConstantParts, constant_score
from armrise.store.clinic.scores.scoring import score
from armrise.store.record.kinds.programme import HomeLoads
from armrise.store.rules.figure import Figure
from armrise.store.rules.rows import pick, rows
from tests.clinic.build import TODAY, case, item, rules, standing_of

MEMORY = "from memory"
STIFF = "both shoulders stiff in the morning over 45 minutes, age over 50"
COUGH = "cough with blood, drooping eyelid or wasted hand"
EXERCISE = "side-lying external rotation"


def cautioned(standing: Standing) -> str:
    """The caution that names what rests on memory."""
    found = [text for text in standing.cautions if text.startswith("uses ")]
    assert len(found) == 1, standing.cautions
    assert found[0] in standing.verdict.cautions
    return found[0]


def dosed(reps: int, load: float, count: int, home: tuple[float, ...]) -> str:
    """What is said of one item after so many good full sessions."""
    made = case("OA2", day=60).mornings(-14, *[2] * 14)
    made.programme(
        -50, "R1", sets=3, reps=reps, exercise=EXERCISE, load=Decimal(str(load)), reps_low=8, reps_high=12
    )
    weights = tuple(Decimal(str(w)) for w in home)
    made.add(HomeLoads, -60, weights=weights)
    for back in reversed(range(count)):
        done = item("R1", 3, reps, exercise=EXERCISE, load=Decimal(str(load)), sets_asked=3, reps_asked=reps)
        made.session(-1 - 2 * back, 3, 3, 2, done)
    view = View.of(made.record(), rules(), TODAY)
    assert Response.of(view).all(TODAY)
    (found,) = proposals(view)
    return f"{found.word} {found.reason}"


def responding(pathway: str, instrument: str, first: int, last: int, days: int = 90) -> Standing:
    """A case past its checkpoint with two totals of one score."""
    made = case(f"{pathway}2", day=days, first=days, scored=False)
    return standing_of(made.score(-days, instrument, first).score(-2, instrument, last))


def wrs(standing: Standing) -> str:
    (found,) = [r for r in standing.reasons if r.code == "WRS"]
    return f"{found.sentence} | {cautioned(standing)}"


def changed(instrument: str, before: int, after: int, **more: object) -> str:
    """Two scores side by side in words."""
    made = case("RC2", day=90, scored=False).score(-84, instrument, before, **more)
    one, two = made.score(0, instrument, after, **more).record().scores
    return " ".join(sentences(score_change(rules().instruments[instrument], one, two)))


def scored(instrument: str, *answers: int | None) -> str:
    """What is said of a form: its note, or why there is no total."""
    numbers = [None if a is None else Decimal(a) for a in answers]
    found = score(rules().instruments[instrument], numbers)
    return found.note or found.why_none


def constant(**parts: object) -> str:
    """The note of a Constant-Murley score whose other parts were measured by published tables."""
    whole = ConstantParts(
        pain=Decimal(3),
        work=Decimal(3),
        recreation=Decimal(3),
        sleep="undisturbed",
        hand_level="neck",
        flexion=Decimal(100),
        abduction=Decimal(100),
        external_rotation="hand behind head, elbow forward",
        internal_rotation="T12",
        strength=Decimal(8),
    )
    return constant_score(rules(), replace(whole, **parts)).note  # type: ignore[arg-type]


def flagged(name: str = STIFF, **more: object) -> Standing:
    return standing_of(case("RC2", day=20).screen(-1, name, "yes", **more))


def red(name: str) -> str:
    standing = flagged(name)
    (found,) = [r for r in standing.reasons if r.code == "RED"]
    assert f"urgent ({MEMORY})" in standing.verdict.line
    return f"{found.sentence} | {cautioned(standing)}"


def stiff(name: str, value: int) -> str:
    """The range check after a repair."""
    standing = standing_of(case("PO2", day=35, onset=49).measure(-1, name, value))
    (found,) = [text for text in standing.cautions if text.startswith("stiff for week 6")]
    return found


def first_visit(intensity: str) -> str:
    return cut_mark(Rows(intensity, None, None, None), rules())


def usual_start(name: str) -> str:
    """The status stands beside the usual start where an exercise is added to a programme."""
    return next(one.status for one in rules().exercises if one.name == name)


HOME = (1, 1.5, 2, 2.5, 3, 4, 5)
SAID: dict[tuple[str, str, str], Callable[[], str]] = {
    ("dose", "reps run", ""): lambda: dosed(8, 2, 1, HOME),
    ("dose", "small step percent", ""): lambda: dosed(12, 2, 2, HOME),
    ("dose", "small run", ""): lambda: dosed(12, 40, 2, (36, 38, 40, 42)),
    ("irritability", "high from", ""): lambda: first_visit("high"),
    ("irritability", "moderate from", ""): lambda: first_visit("low"),
    ("red flags", STIFF, ""): lambda: red(STIFF),
    ("red flags", COUGH, ""): lambda: red(COUGH),
    ("OSIS", "response", ""): lambda: wrs(responding("RC", "OSIS", 20, 22)),
    ("WOSI", "response", ""): lambda: wrs(responding("RC", "WOSI", 1500, 1400)),
    ("WOOS", "detectable", ""): lambda: wrs(responding("OA", "WOOS", 60, 40)),
    ("PSFS", "detectable", ""): lambda: wrs(responding("RC", "PSFS", 6, 4)),
    ("PSFS", "detectable, one rating", ""): lambda: changed("PSFS", 3, 7, items=(Decimal(3),)),
    ("GROC", "response", ""): lambda: changed("GROC", 0, 5),
    ("NRS", "detectable", ""): lambda: changed("NRS", 7, 2),
    ("SPADI", "may be left blank", ""): lambda: scored("SPADI", *[5] * 12, None),
    ("OSS", "may be left blank", ""): lambda: scored("OSS", *[3] * 9, None, None, None),
    ("OSIS", "may be left blank", ""): lambda: scored("OSIS", *[3] * 11, None),
    ("PSFS", "may be left blank", ""): lambda: scored("PSFS", 5, 5, None),
    ("ASES", "may be left blank", ""): lambda: scored("ASES", 5, *[2] * 9, None),
    ("PSFS", "form", ""): lambda: scored("PSFS", 5, 5, 6),
    ("GROC", "form", ""): lambda: scored("GROC", 3),
    ("constant points", "hand level", ""): lambda: constant() if "hand level" in constant() else "",
    ("constant points", "elevation", ""): lambda: constant() if "flexion, abduction" in constant() else "",
    ("constant points", "external rotation", ""): lambda: constant() if "external rot" in constant() else "",
    ("constant points", "internal rotation", ""): lambda: constant() if "internal rot" in constant() else "",
    ("constant points", "strength", ""): lambda: constant() if "strength" in constant() else "",
    ("exercises", "scaption raise", "scaption raise"): lambda: usual_start("scaption raise"),
    ("exercises", "wall press-up", "wall press-up"): lambda: usual_start("wall press-up"),
    ("PO2", "range warning", "range warning measure passive_flexion"): lambda: stiff("passive_flexion", 70),
    ("PO2", "range warning", "range warning measure passive_external_rotation"): lambda: stiff(
        "passive_external_rotation", 10
    ),
}


@pytest.mark.parametrize("number", SAID, ids=lambda key: " ".join(key))
def test_a_number_from_memory_is_said_where_it_decides(number: tuple[str, str, str]) -> None:
    # Practice note 10.1: the numbers from memory come first among those a clinical lead has to settle.
    assert MEMORY in SAID[number]()


def test_every_number_from_memory_stands_in_the_table() -> None:
    found = {(row.place[-1], row.name, row.subject) for row in pick(rows(rules()), status=MEMORY)}
    assert found == set(SAID)


def test_the_figures_printed_in_a_sentence_are_marked_in_it() -> None:
    assert "needs 6 (from memory)" in wrs(responding("RC", "OSIS", 20, 22))
    assert "worse by more than error (15, from memory)" in wrs(responding("OA", "WOOS", 60, 40))
    assert "OSIS response by 6" in wrs(responding("RC", "OSIS", 20, 22))


def test_an_urgency_given_by_the_clinician_is_not_from_memory() -> None:
    standing = flagged(severity=2)
    assert not any(MEMORY in text for text in (*standing.cautions, standing.verdict.line))


def test_improvement_judged_by_a_number_from_memory_takes_its_status() -> None:
    standing = standing_of(
        case("RC4", day=40, first=90, scored=False).score(-80, "OSIS", 20).score(-1, "OSIS", 30)
    )
    (found,) = [c for c in standing.verdict.criteria if c.text.startswith("outcome score improved")]
    assert (found.status, "response 6 (from memory)" in found.observed) == (MEMORY, True)


def test_without_numbers_from_memory_nothing_is_said() -> None:
    standing = standing_of(case("RC2", day=30).mornings(-8, 2, 2, 6, 6, 6, 6, 6))
    assert [r.code for r in standing.reasons] == ["FLA"]
    assert not any(MEMORY in text for text in (*standing.cautions, standing.verdict.line))


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        ("flare.mornings", "on this many calendar days running: 3"),
        ("baseline.window_days", "mornings read back for a baseline (days): 14"),
    ],
)
def test_any_figure_a_clinic_marks_so_is_said_with_the_reason_that_reads_it(figure: str, said: str) -> None:
    marked = Figure(rules().figures[figure].value, "what the lead remembers", MEMORY)
    using = replace(rules(), figures={**rules().figures, figure: marked})
    standing = standing_of(case("RC2", day=90).mornings(-8, 2, 2, 6, 6, 6, 6, 6), using=using)
    assert said in cautioned(standing)
