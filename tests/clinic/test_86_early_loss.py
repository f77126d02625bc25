"""READY never stands over range that was lost, whatever the day of its best (ruling 86, the safer reading).

After a fracture "losing range" is read against the own best from day 42. A loss begun earlier is watched, and
forbids READY as soon as it would be "losing range"; a loss seen once withholds READY until measured again.
"""

from __future__ import annotations

from typing import Any

import pytest

from armrise.store.clinic.case.standing import Word
from tests.clinic.build import Builder, case, reason, standing_of
from tests.clinic.build_more import ready_rc2

ROTATION, FLEXION = "passive_external_rotation", "passive_flexion"


def ready_fx3(*values: tuple[int, int], plane: str = ROTATION, **more: Any) -> Builder:
    """FX3 on day 92, ready but for these values of one plane: (day after the fracture, degrees)."""
    made = case("FX3", day=45, onset=92, first=90).good(3, last=-1, every=3).mornings(-9, 2, 2, 2)
    made.measure(-1, "active_flexion", 120).measure(-1, "night_pain", 1)
    for day, degrees in values:
        made.measure(day - 92, plane, degrees, **more)
    return made


def said(made: Builder) -> tuple[str, str]:
    """The range reason that is live, and the verdict's word."""
    found = standing_of(made)
    live = [reason.code for reason in found.reasons if reason.code in ("STF", "WAT")]
    assert len(live) <= 1
    return "".join(live), found.verdict.word


def test_86_a_loss_from_before_day_42_is_watched_and_never_ready() -> None:
    """Rotation 45 on day 28, 20 on day 49, 18 on day 60: no "losing range" (ruling 86), and not silent."""
    lost = ready_fx3((28, 45), (49, 20), (60, 18))
    assert said(lost) == ("WAT", Word.NOT_YET)
    found = standing_of(lost)
    words = "passive external rotation at side 45 to 20 to 18 degrees, same rater; its best was before day 42"
    assert reason(found, "WAT").sentence == words
    assert reason(found, "WAT").severity == 27
    assert found.verdict.line == f"range being lost: {words}"


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([(10, 5), (28, 20), (49, 35), (60, 45)], ("", Word.READY)),  # the usual course rises
        ([(28, 45), (49, 36)], ("", Word.READY)),
        ([(28, 45), (49, 35)], ("WAT", Word.READY)),  # within the error of one rater
        ([(28, 45), (49, 31), (60, 31)], ("WAT", Word.READY)),
        ([(28, 45), (49, 30)], ("WAT", Word.UNKNOWN)),
        ([(28, 45), (49, 30), (55, 30)], ("WAT", Word.UNKNOWN)),
        ([(28, 45), (49, 30), (56, 30)], ("WAT", Word.NOT_YET)),
        ([(28, 45), (49, 16)], ("WAT", Word.UNKNOWN)),
        ([(28, 45), (49, 15)], ("WAT", Word.NOT_YET)),  # twice the allowance
        ([(28, 45), (49, 20), (60, 36)], ("", Word.READY)),
        ([(41, 45), (49, 30), (56, 30)], ("WAT", Word.NOT_YET)),
        ([(42, 45), (49, 30), (56, 30)], ("STF", Word.NOT_YET)),
    ],
)
def test_86_each_side_of_every_boundary(values: list[tuple[int, int]], expected: tuple[str, Word]) -> None:
    assert said(ready_fx3(*values)) == expected


def test_86_a_loss_all_before_day_42_is_not_silent() -> None:
    assert said(ready_fx3((20, 45), (30, 25), (41, 25))) == ("WAT", Word.NOT_YET)


def test_86_two_planes_lost_on_one_day_from_before_day_42() -> None:
    made = ready_fx3((28, 45), (60, 30)).measure(-64, FLEXION, 140).measure(-32, FLEXION, 125)
    assert said(made) == ("WAT", Word.NOT_YET)


def test_86_a_device_that_changes_after_day_42_hides_no_early_loss() -> None:
    made = ready_fx3((20, 45), (28, 25), (36, 25)).measure(-32, ROTATION, 30, method="inclinometer")
    assert said(made) == ("WAT", Word.NOT_YET)
    back = ready_fx3((20, 45), (28, 25), (36, 25)).measure(-32, ROTATION, 36, method="inclinometer")
    assert said(back) == ("", Word.READY)


@pytest.mark.parametrize(("about", "word"), [("losing range", Word.READY), ("bony", Word.NOT_YET)])
def test_86_an_early_loss_ends_by_a_referral_about_it(about: str, word: Word) -> None:
    """As "losing range" does; measured again is the other end."""
    assert said(ready_fx3((28, 45), (49, 20), (60, 18)).referral(-1, about))[1] is word


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ([(-17, 45)], Word.UNKNOWN),
        ([(-3, 46)], Word.READY),
        ([(-3, 45)], Word.UNKNOWN),
        ([(-3, 45), (-1, 58)], Word.READY),
        ([(-3, 45), (-1, 45)], Word.UNKNOWN),
    ],
)
def test_86_a_loss_seen_once_withholds_ready_until_measured_again(
    values: list[tuple[int, int]], word: Word
) -> None:
    """RC: rotation 60, then 45 once. Measured again it is lost ("losing range"), or it is not."""
    made = ready_rc2().measure(-18, ROTATION, 60)
    for day, degrees in values:
        made.measure(day, ROTATION, degrees)
    assert said(made)[1] is word


@pytest.mark.parametrize(("degrees", "word"), [(36, Word.READY), (35, Word.UNKNOWN)])
def test_86_between_raters_the_wider_allowance_withholds(degrees: int, word: Word) -> None:
    """20 to 25 degrees between two raters cannot be told from error (de Winter 2004)."""
    made = ready_rc2().measure(-18, ROTATION, 60).measure(-3, ROTATION, degrees, rater="AB")
    assert said(made) == ("WAT", word)


def test_86_what_has_to_be_measured_again_is_named() -> None:
    made = ready_rc2().measure(-18, ROTATION, 60).measure(-3, ROTATION, 45, limited_by="pain")
    found = standing_of(made).verdict
    assert found.line == "to record: passive range, measured again"
    assert "60 to 45 degrees, same rater, limited by pain" in found.blocks[0].observed


def test_86_range_lost_is_not_said_twice() -> None:
    """Confirmed, the loss is the one line; nothing is asked again beside it."""
    made = ready_rc2().measure(-18, ROTATION, 60).measure(-10, ROTATION, 45).measure(-3, ROTATION, 45)
    assert [block.text for block in standing_of(made).verdict.blocks] == ["range being lost"]


# --- values that contradict each other -------------------------------------------------------------------


def doubted(low: int, high: int = 58, **more: Any) -> Builder:
    """RC, rotation 60 on record; three days ago two values far apart by one rater."""
    made = ready_rc2().measure(-18, ROTATION, 60)
    return made.measure(-3, ROTATION, high).measure(-3, ROTATION, low, **more)


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        (doubted(30), ("", Word.UNKNOWN)),
        (doubted(31, 51), ("WAT", Word.UNKNOWN)),  # 20 apart: none contradicts
        (doubted(46, 70), ("", Word.READY)),  # within the error of one rater
        (doubted(45, 70), ("", Word.UNKNOWN)),
        (doubted(30, confirmed=True), ("STF", Word.NOT_YET)),  # confirmed it counts: twice the allowance
        (doubted(30, method="inclinometer"), ("", Word.READY)),  # no like value to have lost from
        (doubted(20, 45, method="inclinometer"), ("", Word.UNKNOWN)),  # the other one shows it
        (doubted(30).measure(-1, ROTATION, 55), ("", Word.READY)),
    ],
)
def test_49_of_two_values_of_one_day_the_lower_withholds_ready(
    made: Builder, expected: tuple[str, Word]
) -> None:
    """Neither counts for "losing range"; READY waits for the one that says which of them is right."""
    assert said(made) == expected


@pytest.mark.parametrize(("active", "word"), [(51, Word.UNKNOWN), (50, Word.UNKNOWN), (None, Word.UNKNOWN)])
def test_49_active_above_passive_hides_no_loss(active: int | None, word: Word) -> None:
    """Rotation 60, then passive 45: watched with active 50, contradicted by active 51, READY by neither."""
    made = ready_rc2().measure(-18, ROTATION, 60).measure(-3, ROTATION, 45)
    if active is not None:
        made.measure(-3, "active_external_rotation", active)
    assert said(made) == ("" if active == 51 else "WAT", word)


def test_49_what_contradicts_is_said_with_the_loss() -> None:
    block = standing_of(doubted(30)).verdict.blocks[0]
    assert block.text == "passive range, measured again"
    assert block.observed == (
        "passive external rotation at side 60 to 30 degrees: two values of one day and rater far apart"
    )
