"""The audit, counted by hand over six cases; published patients; properties; and the demo as a snapshot.

What is shown comes from the clinic's practice notes 1.6 and 1.7; "nothing without denominators" from 8.
``demo_audit.json`` is the audit of the demo's February in full. When it changes, read the change line by line
and write it anew with ``ARMRISE_WRITE_SNAPSHOT=1 pytest tests/clinic/test_audit.py``.
"""

from __future__ import annotations

import json
import os
from dataclasses import fields, is_dataclass, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from armrise.store.clinic.audit import counts
from armrise.store.clinic.audit.case import followed, week_ends
from armrise.store.clinic.audit.facts import FLARE, NO_FLARE, NOT_OVER, NOTHING_TOLD, Period
from armrise.store.clinic.audit.period import Audit, last_full_month, month
from armrise.store.clinic.audit.rows import audit_rows
from armrise.store.clinic.audit.share import Days, Share
from armrise.store.clinic.audit.sheet import rule_notes, share_words, tables
from armrise.store.clinic.case.view import NeedsFullHistory, View
from armrise.store.clinic.scores.outcome import responders
from armrise.store.clinic.standing.care import letters_owed
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.light import dataclass
from tests.clinic.build import TODAY, Builder, case, on, rules, waiting
from tests.clinic.counted import audit
from tests.clinic.demo_records import demo, records

SNAPSHOT = Path(__file__).with_name("demo_audit.json")
FIRST, LAST = date(2026, 2, 1), date(2026, 2, 28)
"""The whole month before the clinic date: its last day lies two days back (-2), its first 29 (-29)."""


def caseload() -> list[CaseRecord]:
    """Six cases, small enough to count on paper; the comments say what each adds."""
    usual: dict[str, Any] = {"last_visit": None, "scored": False}
    one = case("RC1", day=20, code="C-01", person="P-01", **usual)  # new 10 Feb, screened
    one.score(-20, "SPADI", 60).measure(-20, "night_pain", 3).measure(-20, "worst_pain", Absence.DECLINED)
    one.measure(-20, "active_flexion", 120, repeated=True)  # carried forward: missing
    one.step(
        -10,
        "RC2",
        override_category="clinical judgement",
        override_reason="strong and calm, wants to work",
        verdict="NOT YET",
        rules="3 NOT SIGNED OFF",
    )
    one.session(-5, during=9)  # a flare five days after the override; later and next morning not told
    two = case("RC1", day=60, code="C-02", person="P-02", screened=False, **usual)  # new in January
    two.score(-60, "SPADI", 60).score(-12, "SPADI", 40).missed(-15)
    two.discharge(-10, "did not attend")  # letter owed from 20 Feb: 8 days by the 28th
    three = case("RC1", day=25, code="C-03", person="P-03", screened=False, side="LEFT", **usual)
    three.hold(-20, -15)
    four = case("PO1", day=10, onset=12, code="C-04", person="P-04", **usual)  # new 20 Feb
    four.session(-5, 1, 1, 1, R1=(3, 10))  # bands in week 2 after a repair
    four.referral(-4, "other").letter(-1, "referral")  # sent after the period: owed for 2 days on the 28th
    four.add(_kind("referral answer"), 0, about="other", answer="seen, carry on")
    five = case("RC1", day=200, code="C-05", person="P-05", **usual)  # closed last year: in the stays alone
    five.step(-180, "RC2").discharge(-150, letter=False)
    six = waiting(code="C-06", person="P-06")
    return [made.record() for made in (one, two, three, four, five, six)]


def _kind(word: str) -> Any:
    from armrise.store.record.case import KINDS

    return KINDS[word]


@cache
def counted() -> Audit:
    return audit(caseload(), rules(), Period(FIRST, LAST, TODAY), author="TK")


def of(code: str) -> Any:
    return next(g for g in counted().groups if g.code == code)


# --- every number by hand -------------------------------------------------------------------------------


def test_who_came_who_is_there_and_who_left() -> None:
    clinic, cuff, repair = counted().clinic, of("RC"), of("PO")
    assert [g.code for g in counted().groups] == ["", "RC", "PO"]  # no pathway without a case
    assert (clinic.active, cuff.active, repair.active) == (3, 2, 1)  # C-01, C-03, C-04; C-06 waits
    assert (clinic.new, cuff.new, repair.new) == (3, 2, 1)
    assert (clinic.discharged, clinic.discharges) == (1, (("did not attend", 1),))
    assert (clinic.on_hold, clinic.reopened) == (0, 0)


def test_time_in_stage_keeps_those_who_have_not_finished() -> None:
    """RC1: C-01 10 days and on, C-05 20 and on, C-02 discharged on day 50, C-03 there for 23.

    Kaplan and Meier by hand: 3/4 after 10 days, 3/4 x 2/3 = 1/2 after 20. Usual 14, long from 28 days.
    """
    first, second, strict = counted().clinic.stages
    assert (first.stage, first.count, first.moved_on, first.still_there) == ("RC1", 4, 2, 1)
    assert (first.left_otherwise, first.moved_in_period, first.longest) == (1, 1, 50)
    assert first.median == 20
    assert [(d.days, float(d.still)) for d in first.drops] == [(10, 0.75), (20, 0.5)]
    assert (first.usual.days, first.usual.past, first.usual.not_known) == (14, Share(3, 4), 0)
    assert (first.stall.days, first.stall.past, first.stall.not_known) == (28, Share(1, 4), 1)
    assert (second.stage, second.count, second.moved_on, second.median) == ("RC2", 2, 0, None)
    assert (second.usual.past, second.usual.not_known) == (Share(0, 2), 2)  # 8 days there, 30 discharged
    assert (strict.stage, strict.count, strict.still_there) == ("PO1", 1, 1)


def test_a_median_that_was_not_reached_or_rests_on_few_is_said_so() -> None:
    rows = {t.key: t for t in tables(counted(), counted().clinic)}["stages"].rows
    assert [row[6] for row in rows] == ["too few", "not reached", "not reached"]
    assert rows[0][0] == "RC1 Settle, usual 14, long from 28 days"
    assert rows[0][7:] == ("3 of 4", "0", "1 of 4", "1")


def test_scores_at_both_ends_are_what_matters() -> None:
    """C-02 was discharged 20 points better: response from 13, beyond error from 18. C-01 has one score."""
    ended, going = counted().clinic.ended, counted().clinic.going_on
    assert (ended.entered, ended.both, ended.responded, ended.beyond_error) == (1, *[Share(1, 1)] * 3)
    assert going.entered == 3
    assert (going.both, going.baseline, going.newest) == (Share(0, 3), Share(1, 3), Share(0, 3))
    assert going.neither == Share(2, 3)
    assert (going.responded, going.responded_entered) == (Share(0, 0), Share(0, 3))
    assert counted().clinic.score_owed == Share(0, 3)


def test_safety_and_reviews() -> None:
    """C-03 was never screened. C-01 is due on day 14 after the visit: 4 days over, C-03 9 of 14."""
    clinic = counted().clinic
    assert (clinic.screened, clinic.screen_declined) == (Share(2, 3), 0)
    assert (clinic.broken, clinic.broken_unanswered, clinic.broken_cases) == (1, 1, Share(1, 1))
    assert clinic.overdue == Share(2, 3)
    assert clinic.worst is not None
    assert (clinic.worst.case, clinic.worst.days, clinic.worst.interval) == ("C-03", 9, 14)
    assert (clinic.slots, clinic.missed) == ((("did not attend", 1),), Share(1, 1))


def test_decisions_and_what_followed() -> None:
    clinic = counted().clinic
    assert clinic.step_backs == Share(0, 1)
    assert (clinic.holds, clinic.held_long) == ((("holiday", 1),), Share(0, 3))
    (override,) = clinic.overrides
    assert (override.case, override.against, override.category) == (
        "C-01",
        "NOT YET, step forward",
        "clinical judgement",
    )
    assert override.followed == FLARE
    assert clinic.override_flares == Share(1, 1)
    assert (of("RC").override_flares, of("PO").override_flares) == (Share(1, 1), Share(0, 0))


def test_letters_and_referrals() -> None:
    clinic = counted().clinic
    assert clinic.letters_owed == Days(2, 5.0, 8)  # C-02 for 8 days, C-04 for 2
    assert clinic.letters_sent == Days(0, None, None)
    assert (clinic.referred, clinic.referrals_waiting) == (Share(1, 1), Days(0, None, None))


def test_missing_is_reported_as_missing() -> None:
    """RC1 reads three measures; two visits in the period (C-01, C-03). PO1 reads none."""
    found = {
        m.name: (m.due, m.recorded, m.missing, m.declined, m.prohibited) for m in counted().clinic.missing
    }
    assert found == {
        "night pain": (2, 1, 1, 0, 0),
        "worst pain (24 h)": (2, 0, 1, 1, 0),
        "active flexion": (2, 0, 2, 0, 0),
        "check-in: pain during": (2, 2, 0, 0, 0),
        "check-in: pain later that day": (2, 1, 1, 0, 0),
        "check-in: pain next morning": (2, 1, 1, 0, 0),
    }


def test_the_first_two_tiers_week_by_week() -> None:
    """C-02 and C-03 lack their screen throughout; C-04 breaks its limit on the 25th; C-01 asks for less."""
    weeks = [(end.day, share) for end, share in counted().clinic.weeks]
    assert weeks == [(7, Share(2, 2)), (14, Share(2, 3)), (21, Share(1, 3)), (28, Share(2, 3))]
    assert counted().clinic.top_two == Share(2, 3)


def test_two_cases_for_supervision_by_rule() -> None:
    """18 counted days of 28 is the longest (C-04 8 of 21, C-01 8 of 56)."""
    first, second = counted().supervision
    assert (first.case, first.side, first.why) == (
        "C-03",
        "LEFT",
        "longest in stage: 18 days in RC1, long from 28",
    )
    assert (second.case, second.why) == ("C-01", "most overrides: 1 override in the period")


def test_ones_own_overrides_and_nobody_elses() -> None:
    own = counted().own
    assert own is not None
    assert (own.author, own.overrides, own.flares) == ("TK", 1, 1)
    other = audit(caseload(), rules(), Period(FIRST, LAST, LAST), author="QM").own
    assert other is not None
    assert other.overrides == 0
    assert '"TK"' not in json.dumps(audit_rows(replace(counted(), own=None)))  # no author anywhere else


def test_differing_rule_versions_are_said() -> None:
    assert len(rule_notes(counted())) == 1
    (version,) = counted().versions
    assert (version.rules, version.count, version.first) == ("3 NOT SIGNED OFF", 1, on(-10))
    newer = audit(caseload(), replace(rules(), version="newer"), Period(FIRST, LAST, LAST))
    assert "unlike may be compared with unlike" in rule_notes(newer)[-1]


# --- what followed --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "during", "word"),
    [
        (-7, 9, FLARE),
        (-6, 9, FLARE),  # the fourteenth day after
        (-5, 9, NOTHING_TOLD),  # the fifteenth
        (-20, 9, NOTHING_TOLD),  # the day of the override itself: the session may have come before it
        (-7, 2, NO_FLARE),
        (-7, None, NOTHING_TOLD),  # a session without scores says nothing
    ],
)
def test_silence_is_no_proof_that_nothing_followed(day: int, during: int | None, word: str) -> None:
    calm = None if during is None else 2
    built = case("RC2", day=40).mornings(-30, *[2] * 22).session(day, during, calm, calm)
    assert followed(View.of(built.record(), rules(), TODAY), on(-20)) == word


def test_days_that_are_not_over_are_not_counted_as_calm() -> None:
    view = View.of(case("RC2", day=40).mornings(-30, *[2] * 28).session(-3, 2, 2, 2).record(), rules(), TODAY)
    assert followed(view, on(-14)) == NOT_OVER
    assert followed(view, on(-15)) == NO_FLARE


# --- published patients ---------------------------------------------------------------------------------

AD_SHOULDER = ((56, 3), (19, 0), (67, 46), (43, 32), (20, 5), (57, 21), (19, 5), (22, 23), (38, 22), (22, 3))
"""SPADI at week 0 and week 12 (Major 2021, Pilot Feasibility Stud 7:31, table 3); an eleventh was lost."""


def test_responders_among_the_measured_and_among_the_entered() -> None:
    """Eleven entered, ten measured: 8 gain 13 or more, 5 gain 18 or more; one is worse, within error."""
    made = [_treated(n, before, after) for n, (before, after) in enumerate(AD_SHOULDER)]
    made.append(_treated(10, 65, None))
    ended = audit(made, rules(), Period(FIRST, LAST, LAST)).clinic.ended
    assert (ended.entered, ended.both, ended.baseline) == (11, Share(10, 11), Share(11, 11))
    assert (ended.responded, ended.responded_entered) == (Share(8, 10), Share(8, 11))
    assert (ended.beyond_error, ended.beyond_error_entered) == (Share(5, 10), Share(5, 11))
    assert (ended.worse, ended.no_room) == (Share(0, 10), 0)
    needed = rules().instruments["SPADI"].response.value  # type: ignore[union-attr]
    gains = [*(on(0) and b - a for b, a in AD_SHOULDER), None]
    assert responders((gain, needed) for gain in gains) == (8, 10, 11)


def _treated(number: int, before: int, after: int | None) -> CaseRecord:
    built: Builder = case(
        "RC1", day=90, last_visit=None, scored=False, code=f"A-{number:02}", person=f"A{number}"
    )
    built.score(-90, "SPADI", before)
    if after is not None:
        built.score(-6, "SPADI", after)
    return built.discharge(-6, "self-managing", letter=False).record()


def test_a_score_long_after_the_first_visit_is_no_first_score() -> None:
    built = case("RC1", day=90, last_visit=None, scored=False).score(-70, "SPADI", 60).score(-6, "SPADI", 20)
    going = audit([built.record()], rules(), Period(FIRST, LAST, LAST)).clinic.going_on
    assert (going.baseline, going.newest, going.both) == (Share(0, 1), Share(1, 1), Share(0, 1))


def test_forms_that_may_not_be_compared_make_no_change() -> None:
    built = case("RC1", day=90, last_visit=None, scored=False)
    built.score(-90, "SPADI", 60, language="en").score(-6, "SPADI", 20, language="nl")
    going = audit([built.record()], rules(), Period(FIRST, LAST, LAST)).clinic.going_on
    assert (going.both, going.not_comparable, going.responded) == (Share(1, 1), 1, Share(0, 0))


# --- words ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (Share(1, 4), "1 of 4"),
        (Share(10, 19), "10 of 19"),
        (Share(10, 20), "10 of 20 (50 %)"),
        (Share(1, 40), "1 of 40 (3 %)"),
        (Share(1, 400), "1 of 400 (under 1 %)"),
        (Share(399, 400), "399 of 400 (over 99 %)"),
        (Share(0, 35), "0 of 35"),
        (Share(35, 35), "35 of 35"),
        (Share(0, 0), "nothing to count"),
    ],
)
def test_a_per_cent_never_stands_alone_nor_for_a_few(share: Share, words: str) -> None:
    assert share_words(share, 20) == words


def test_the_default_period_is_the_last_whole_month() -> None:
    assert last_full_month(TODAY) == (FIRST, LAST)
    assert last_full_month(date(2024, 3, 31)) == (date(2024, 2, 1), date(2024, 2, 29))
    assert month(TODAY, TODAY) == (date(2026, 3, 1), TODAY)
    assert month(date(2025, 12, 31), TODAY) == (date(2025, 12, 1), date(2025, 12, 31))
    assert [d.day for d in week_ends(Period(FIRST, LAST, TODAY))] == [7, 14, 21, 28]


def test_a_period_the_wrong_way_round_or_ahead_is_refused() -> None:
    with pytest.raises(ValueError, match="ends before"):
        audit([], rules(), Period(LAST, FIRST, FIRST))
    with pytest.raises(ValueError, match="after the clinic date"):
        audit([], rules(), Period(FIRST, LAST, FIRST))


def test_a_window_has_to_hold_the_period() -> None:
    """What was told daily before its last day was not read: whoever audits has to read the case in full."""
    windowed = replace(caseload()[0], known_from=LAST)
    with pytest.raises(NeedsFullHistory):
        audit([windowed], rules(), Period(FIRST, LAST, LAST))


# --- properties -----------------------------------------------------------------------------------------


@cache
def everybody() -> tuple[CaseRecord, ...]:
    return (*records(demo()), *caseload())


picks = some.lists(some.integers(0, 41), min_size=0, max_size=6, unique=True)
starts = some.integers(0, 120)
lengths = some.integers(0, 60)


def shares(value: Any) -> Any:
    """Every share in a group."""
    if isinstance(value, Share):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from shares(part)
    elif is_dataclass(value):
        for each in fields(value):
            yield from shares(getattr(value, each.name))


@settings(max_examples=25, deadline=None)
@given(picks, starts, lengths)
def test_counts_never_exceed_what_they_are_of_and_parts_add_up(chosen: Any, back: int, long: int) -> None:
    last = TODAY - timedelta(days=back)
    made = audit([everybody()[n] for n in chosen], rules(), Period(last - timedelta(days=long), last, TODAY))
    for group in made.groups:
        assert all(0 <= share.count <= share.of for share in shares(group))
        assert sum(n for _, n in group.discharges) == group.discharged == group.ended.entered
        assert group.going_on.entered == group.active == group.overdue.of == group.top_two.of
        for stage in group.stages:
            assert stage.moved_on + stage.still_there + stage.left_otherwise == stage.count
        for name in group.missing:
            assert name.recorded + name.declined + name.prohibited + name.missing == name.due
        assert sum(n for _, n in group.override_followed) == len(group.overrides)
    _adds_up(made)
    turned = [everybody()[n] for n in reversed(chosen)]
    assert audit(turned, rules(), Period(last - timedelta(days=long), last, TODAY)) == made


def _adds_up(made: Audit) -> None:
    """Pathways add up to the clinic."""
    for name in ("active", "new", "discharged", "reopened", "broken", "on_hold", "screen_declined"):
        assert getattr(made.clinic, name) == sum(getattr(g, name) for g in made.groups[1:]), name
    for name in ("overdue", "missed", "screened", "step_backs", "referred", "top_two", "held_long"):
        whole, parts = getattr(made.clinic, name), [getattr(g, name) for g in made.groups[1:]]
        assert (whole.count, whole.of) == (sum(p.count for p in parts), sum(p.of for p in parts)), name
    stages = [s for g in made.groups[1:] for s in g.stages]
    assert sum(s.count for s in made.clinic.stages) == sum(s.count for s in stages)
    for name in ("letters_owed", "letters_sent", "referrals_waiting"):
        assert getattr(made.clinic, name).count == sum(getattr(g, name).count for g in made.groups[1:])


def test_letters_owed_are_those_of_the_list() -> None:
    """Two rooms count what is owed: they agree on every case of the demo."""
    for record in everybody():
        owed = letters_owed(View.of(record, rules(), TODAY))
        counted = audit([record], rules(), Period(TODAY, TODAY, TODAY)).clinic.letters_owed.count
        assert counted == len(owed), record.code


def test_nobody_is_an_audit_too() -> None:
    empty = audit([], rules(), Period(FIRST, LAST, LAST))
    assert (empty.clinic.active, empty.groups[1:], empty.supervision) == (0, (), ())
    assert {row[1] for t in tables(empty, empty.clinic) if t.key == "letters" for row in t.rows} == {
        "none",
        "nothing to count",
    }


# --- the demo -------------------------------------------------------------------------------------------


def test_the_demo_in_full() -> None:
    made = audit(records(demo()), rules(), Period(FIRST, LAST, TODAY), author="TK")
    found = json.loads(json.dumps(audit_rows(made)))
    if os.environ.get("ARMRISE_WRITE_SNAPSHOT"):
        SNAPSHOT.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    assert found == json.loads(SNAPSHOT.read_text(encoding="utf-8"))


# --- a line is declared once --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class OneLineMore(counts.Group):
    held_ever: Share = counts.line(
        lambda c: Share.having(c.facts.active, lambda a: a.held_days > 0),
        "decisions",
        "ever on hold by {last}, of those being treated",
    )


def test_a_line_declared_once_stands_on_the_sheet_and_in_the_json(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(counts, "Group", OneLineMore)
    one = case("RC2", day=30).hold(-10, -5).record()
    two = replace(case("RC2", day=30).record(), code="XX-002")
    made = audit([one, two], rules(), Period(on(-20), TODAY, TODAY))
    table = next(t for t in tables(made, made.clinic) if t.key == "decisions")
    assert ("ever on hold by Mon 2 Mar, of those being treated", "1 of 2") in table.rows
    assert audit_rows(made)["groups"][0]["held_ever"] == {"count": 1, "of": 2, "percent": None}
