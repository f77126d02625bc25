"""Properties of the third round that hold for every record: what a finding or a summary may never do."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.standing.triage import sort_key
from tests.clinic.build import Builder, case, standing_of
from tests.clinic.build_more import ready_ad1, ready_fs1, ready_rc1, ready_rc2, twos, word
from tests.clinic.test_properties import built

some = settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))

DANGEROUS = [
    ("badge sensation lost", "yes"),
    ("deltoid contracts", "no"),
    ("can lift to 90 degrees", "no"),
    ("weakness after injury", "yes"),
    ("second dislocation", "yes"),
    ("bony lesion on imaging", "yes"),
    ("wound dry", "no"),
    ("cancer history", "yes"),
]
"""Findings that a trigger or a contradiction of the screen reads (rulings 66 and 67)."""


@some
@given(built(), st.sampled_from(DANGEROUS), st.integers(0, 20))
def test_66_adding_a_dangerous_finding_never_moves_a_case_down(
    made: Builder, found: tuple[str, str], back: int
):
    """Rulings 63 and 66: whatever else is recorded, a dangerous finding leaves the case where it is or
    lifts it, by tier, rank and severity of what places it, and makes none READY. That it was silent
    ("nothing recorded") and now is not, is no way down."""
    before = standing_of(made)
    after = standing_of(made.finding(-back, *found))
    heard = before._replace(reasons=tuple(r for r in before.reasons if r.code != "SIL"))
    assert sort_key(after)[:4] <= sort_key(heard)[:4]
    assert after.verdict.word is not Word.READY or before.verdict.word is Word.READY


# --- a summary ------------------------------------------------------------------------------------------

WITHOUT_RUN = [
    lambda: ready_rc1(day=60, sessions=False),
    lambda: ready_rc2(day=60, sessions=False).programme(-30, "R1", per_week=4),
    lambda: ready_fs1(day=60),
    lambda: ready_ad1(day=40, onset=60),
    lambda: twos(case("OA1", day=60)).measure(-2, "night_pain", 2),
]
"""Cases that lack at most good sessions."""


@st.composite
def told(draw: Any) -> str:
    """A period summary as it is typed, good ones often."""
    done = draw(st.integers(5, 14))
    pains = f"{draw(st.integers(0, 4))} {draw(st.integers(0, 4))}"
    worse, dose = draw(st.sampled_from([0, 0, 1, 2, 4])), draw(st.sampled_from("wwwpm."))
    return f"{done}/14 {pains} {worse} {dose} {draw(st.sampled_from('s..n'))}"


@some
@given(st.sampled_from(WITHOUT_RUN), told(), st.integers(1, 13), st.booleans())
def test_73_a_summary_makes_no_case_ready_past_a_flare_on_record(
    make: Any, line: str, back: int, beside: bool
):
    """Rulings 73 and 75: with a flare recorded within its period a summary adds nothing good: the verdict is
    not READY, whatever is told of the weeks."""
    made: Builder = make().session(-back, 9, 9, 6)
    if beside:
        made.good(2, last=-1, every=1)
    if word(made) is not Word.READY:
        assert word(made.summary(0, -14, line)) is not Word.READY


@some
@given(st.sampled_from(WITHOUT_RUN), told(), st.integers(1, 13))
def test_73_a_summary_makes_no_case_ready_past_a_session_far_over_the_limit(make: Any, line: str, back: int):
    """Rulings 75 and 95: a session over by more than a point ends the run, and a long summary with one in its
    period counts as two and not three."""
    made: Builder = make().session(-back, 6, 3, 2)
    if word(made) is not Word.READY:
        assert word(made.summary(0, -14, line)) is not Word.READY


@some
@given(st.sampled_from(WITHOUT_RUN), told(), st.integers(3, 14))
def test_73_a_flare_as_told_is_never_ready(make: Any, line: str, worse: int):
    """Ruling 73, cause f: mornings worse on three days or more, and the case is not READY."""
    parts = line.split()
    parts[3] = str(worse)
    assert word(make().good(2, last=-1).summary(0, -14, " ".join(parts))) is not Word.READY


@some
@given(st.sampled_from(WITHOUT_RUN[:2]), told(), st.integers(5, 11))
def test_73_one_short_summary_without_a_recorded_session_is_never_ready(make: Any, line: str, days: int):
    """Rulings 73 and 95: a summary of fewer than 12 days counts as two good sessions, so that it needs a
    recorded one beside it."""
    done, rest = line.split(" ", 1)
    assert (
        word(make().summary(0, -days, f"{min(days, int(done.split('/')[0]))}/{days} {rest}"))
        is not Word.READY
    )


@pytest.mark.parametrize("make", WITHOUT_RUN)
def test_73_a_calm_summary_beside_recorded_sessions_is_ready(make: Any):
    """What the properties above withhold is there to be had."""
    made: Builder = make().good(2, last=-1, **({"R1": (3, 10)} if make is WITHOUT_RUN[1] else {}))
    assert word(made.summary(0, -11, "9/11 3 2 0 w")) is Word.READY
