"""Dated findings and unseen cases withhold READY (ruling 70, with 94)."""

from __future__ import annotations

from typing import Any

import pytest

from armrise.store.clinic.case.standing import Standing, Truth, Word
from tests.clinic.build import Builder, case, standing_of
from tests.clinic.build_more import about, criterion, twos, word

BADGE, DELTOID, DRY = "badge sensation lost", "deltoid contracts", "wound dry"


def blocks(standing: Standing) -> list[str]:
    return [block.text for block in standing.verdict.blocks]


def ready_po1(day: int = 15, *, seen: int, dry: int, **more: Any) -> Builder:
    """PO1 day ``day``, wound seen dry on day ``dry``, last visit on day ``seen``; all else past."""
    made = case("PO1", day=day, onset=day, last_visit=day - seen, **more)
    return made.finding(dry - day, DRY).measure(seen - day, "rest_pain", 2)


# --- protected, out of sight ---------------------------------------------------------------------------


def test_70_yes_a_protected_case_whose_visit_is_long_ago() -> None:
    """PO1 day 26, last visit day 4, wound dry day 4: withheld."""
    verdict = standing_of(ready_po1(26, seen=4, dry=4)).verdict
    assert verdict.word is Word.UNKNOWN
    assert verdict.line.startswith("not seen since day 4: see before stepping; to record: ")
    assert "wound: look again" in verdict.line


def test_70_no_seen_and_its_review_ahead() -> None:
    """PO1 day 15, wound dry seen day 9, review due day 18."""
    made = ready_po1(15, seen=9, dry=9, interval=9)
    assert standing_of(made).verdict.word is Word.READY


@pytest.mark.parametrize(("interval", "expected"), [(6, False), (5, True)])
def test_70_the_review_one_day_past_its_original_due_date(interval: int, expected: bool) -> None:
    """Seen on day 9: due on day 15 or on day 14, today is day 15."""
    found = standing_of(ready_po1(15, seen=9, dry=9, interval=interval))
    assert (found.verdict.word is Word.UNKNOWN) is expected
    assert ("not seen since day 9: see before stepping" in blocks(found)) is expected


def test_70_a_hold_does_not_move_the_original_date() -> None:
    made = ready_po1(15, seen=9, dry=9, interval=5).hold(-4, -1, named="surgeon")
    assert "not seen since day 9: see before stepping" in blocks(standing_of(made))


def test_70_lost_in_hand_or_not() -> None:
    """A missed visit, review not yet due."""
    made = ready_po1(15, seen=9, dry=9, interval=14).missed(-2)
    assert "not seen since day 9: see before stepping" in blocks(standing_of(made))
    held = made.in_hand(-1, "LOST", 5)
    assert "not seen since day 9: see before stepping" in blocks(standing_of(held))
    assert word(made) is Word.UNKNOWN


def test_70_a_contact_is_no_visit() -> None:
    """Spoken to, so not lost; the review is past due all the same."""
    made = ready_po1(26, seen=9, dry=20).contact(-1)
    assert "not seen since day 9: see before stepping" in blocks(standing_of(made))


def test_70_outside_protected_stages_an_overdue_review_withholds_nothing() -> None:
    found = standing_of(case("RC2", day=60, last_visit=40))
    assert not [text for text in blocks(found) if text.startswith("not seen")]


# --- wound dry -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("dry", "day", "state"),
    [
        (6, 15, Truth.UNKNOWN),
        (7, 15, Truth.MET),
        (7, 21, Truth.MET),
        (7, 22, Truth.UNKNOWN),  # older than 14 days
        (22, 22, Truth.MET),
    ],
)
def test_70_wound_dry_from_day_7_and_not_older_than_14_days(dry: int, day: int, state: Truth) -> None:
    found = criterion(standing_of(ready_po1(day, seen=day, dry=dry)), "wound dry")
    assert found.state is state
    assert found.ask == ("wound: look again" if state is Truth.UNKNOWN else "")


def test_70_a_wound_not_dry_is_not_met_however_early_or_old() -> None:
    made = case("PO1", day=25, onset=25, last_visit=1).finding(-20, DRY, "no")
    assert criterion(standing_of(made), "wound dry").state is Truth.NOT_MET


def test_70_without_the_surgery_date_no_day_is_known() -> None:
    made = case("PO1", day=20, onset=-1).orders(-20).finding(-1, DRY)
    found = criterion(standing_of(made), "wound dry")
    assert (found.state, found.ask) == (Truth.UNKNOWN, "wound: look again")
    assert "day unknown" in found.observed


# --- nerve after a dislocation -------------------------------------------------------------------------


def ad1(day: int = 17) -> Builder:
    made = twos(case("AD1", day=day, onset=day)).good(3, last=-2, P1=(3, 10))
    return made.finding(-3, "sling off").measure(-2, "rest_pain", 2)


def test_70_yes_badge_lost_withholds() -> None:
    """AD1 day 17, badge lost."""
    found = standing_of(ad1().finding(-3, BADGE, "yes").finding(-3, DELTOID))
    assert found.verdict.word is not Word.READY
    assert criterion(found, "badge").state is Truth.NOT_MET


@pytest.mark.parametrize(
    ("badge", "deltoid", "state"),
    [
        ("no", "yes", Truth.MET),
        ("yes", "yes", Truth.NOT_MET),
        ("no", "no", Truth.NOT_MET),
        (None, "yes", Truth.UNKNOWN),
        ("no", None, Truth.UNKNOWN),
        ("not asked", "yes", Truth.UNKNOWN),
    ],
)
def test_70_the_exit_reads_what_was_found(badge: str | None, deltoid: str | None, state: Truth) -> None:
    made = ad1()
    for name, answer in ((BADGE, badge), (DELTOID, deltoid)):
        if answer:
            made.finding(-3, name, answer)
    found = standing_of(made)
    states = {criterion(found, "badge").state, criterion(found, "deltoid").state}
    worst = next(s for s in (Truth.NOT_MET, Truth.UNKNOWN, Truth.MET) if s in states)
    assert worst is state
    assert (found.verdict.word is Word.READY) is (state is Truth.MET)


def test_70_only_recorded_is_unknown() -> None:
    made = ad1().finding(-3, "badge sensation recorded").finding(-3, "deltoid contraction recorded")
    found = standing_of(made)
    assert found.verdict.word is Word.UNKNOWN
    assert criterion(found, "badge").ask == "sensation over the badge area: lost or kept"
    assert "whether the deltoid contracts" in about(criterion(found, "deltoid"))


# --- second event --------------------------------------------------------------------------------------

ASKED = "second event: does healing count anew?"
ENOUGH = "seen by the surgeon, counts on from the first"


def slipped(ago: int, stage: str = "AD1", onset: int = 90, event: str = "slipped out of joint") -> Builder:
    """A further event ``ago`` days ago, assessed on its day, screened, and its opinion offered."""
    made = case(stage, day=60, onset=onset).event(-ago, event).visit(-ago, injury_assessed=True)
    return made.screen_all_no(-ago).decision(-ago, "second event")


@pytest.mark.parametrize(("ago", "expected"), [(41, True), (42, False)])
@pytest.mark.parametrize("stage", ["AD1", "AD2", "AD5"])
@pytest.mark.parametrize("event", ["slipped out of joint", "dislocation"])
def test_70_answered_it_is_asked_until_day_42(ago: int, expected: bool, stage: str, event: str) -> None:
    found = standing_of(slipped(ago, stage, 200, event))
    assert (ASKED in blocks(found)) is expected


@pytest.mark.parametrize("stage", ["AD3", "AD4"])
@pytest.mark.parametrize("ago", [5, 42, 55])
def test_94_ad4_and_ad5_open_by_a_new_onset_or_a_decision_only(stage: str, ago: int) -> None:
    assert ASKED in blocks(standing_of(slipped(ago, stage, 200)))
    decided = slipped(ago, stage, 200).decision(-1, "healing clock", ENOUGH)
    assert ASKED not in blocks(standing_of(decided))
    anew = slipped(ago, stage, 200).onset(-ago, "dislocation")
    assert ASKED not in blocks(standing_of(anew))


def test_70_what_was_said_before_the_event_says_nothing_of_it() -> None:
    made = case("AD3", day=60, onset=200).decision(-30, "healing clock", ENOUGH).event(-20, "dislocation")
    made.visit(-19, injury_assessed=True).screen_all_no(-19).decision(-18, "second event")
    assert ASKED in blocks(standing_of(made))
    assert ASKED not in blocks(standing_of(made.decision(-20, "healing clock", ENOUGH)))


def test_70_a_decision_in_few_words_is_none() -> None:
    made = slipped(5, "AD3", 200)
    assert ASKED in blocks(standing_of(made.decision(-1, "healing clock", "carry on.")))


def test_70_a_second_dislocation_told_as_a_finding_asks_too() -> None:
    made = case("AD3", day=60, onset=200).finding(-5, "second dislocation").decision(-4, "second event")
    assert ASKED in blocks(standing_of(made))


def test_70_not_answered_it_refers() -> None:
    made = case("AD3", day=60, onset=200).event(-5, "dislocation").visit(-4, injury_assessed=True)
    verdict = standing_of(made.screen_all_no(-4)).verdict
    assert (verdict.word, verdict.rule) == (Word.REFER, "second event")


@pytest.mark.parametrize(("ago", "expected"), [(41, True), (42, False)])
@pytest.mark.parametrize("stage", ["PO3", "FX3"])
def test_94_a_dislocation_asks_how_another_tissue_heals(ago: int, expected: bool, stage: str) -> None:
    """The safer reading: in PO and FX it is no onset, and READY waits until somebody says so."""
    made = case(stage, day=60, onset=120).event(-ago, "dislocation").visit(-ago, injury_assessed=True)
    assert (ASKED in blocks(standing_of(made))) is expected
    assert ASKED not in blocks(standing_of(made.decision(-1, "healing clock", ENOUGH)))


def test_94_a_dislocation_with_the_fracture_is_no_further_one() -> None:
    made = case("FX3", day=60, onset=100).event(-100, "dislocation").visit(-99, injury_assessed=True)
    assert ASKED not in blocks(standing_of(made))


@pytest.mark.parametrize("stage", ["RC2", "FX3", "PO3"])
def test_70_only_where_a_dislocation_is_the_clock(stage: str) -> None:
    made = case(stage, day=60, onset=120 if stage != "RC2" else None).event(-5, "slipped out of joint")
    assert ASKED not in blocks(standing_of(made.visit(-5, injury_assessed=True)))
