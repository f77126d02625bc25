"""One sentence an entry: no fact dropped, its day said once, the same words before and after writing."""

import re
from dataclasses import MISSING, fields, replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from armrise.store.entries.build import field_rules
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.phrase import dated, phrase
from armrise.store.record.words import full_date, near_date, words_date
from armrise.store.rules.read import load
from tests.golden.samples import samples

RULES = load()
SILENT = {
    ("correction", "replaced_by"): "what stands instead is named beside it",
    ("irritability", "proposed"): "said only where another level was confirmed",
    ("visit", "anything_new"): "said only once it was asked",
}
"""Fields that a sentence leaves out, and when; each stands on the pane of the history."""


def full(kind: str) -> Entry:
    """An entry of ``kind`` with every field stated."""
    (entry,) = (made for said, made in samples(kind) if said == "every field" and isinstance(made, Entry))
    return entry


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_field_left_out_changes_the_sentence(kind: str) -> None:
    entry = full(kind)
    defaults = {spec.name: spec.default for spec in fields(entry) if spec.default is not MISSING}
    for spec in field_rules(type(entry)):
        other = defaults.get(spec.name, MISSING)
        if other is MISSING or other == getattr(entry, spec.name) or (kind, spec.name) in SILENT:
            continue
        assert phrase(replace(entry, **{spec.name: other}), RULES) != phrase(entry, RULES), spec.name


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_day_is_added_once_and_nothing_else(kind: str) -> None:
    entry = replace(full(kind), on=date(2025, 11, 3))
    said, bare = dated(entry, RULES), phrase(entry, RULES)
    assert said.count("Mon 3 Nov 2025") == 1
    assert "Mon 3 Nov 2025" in dated(entry, RULES, year=2026)
    assert "Mon 3 Nov 2025" not in dated(entry, RULES, year=2025)
    words = set(re.findall(r"\w+", said)) - {"of", "on", "from", "told", "Mon", "3", "Nov", "2025"}
    assert words <= set(re.findall(r"\w+", bare))


def test_a_date_does_not_follow_the_machine() -> None:
    """From memory: 2 March 2026 is a Monday; names in English, as the clinic writes them."""
    assert words_date(date(2026, 3, 2)) == "Mon 2 Mar"
    assert full_date(date(2026, 3, 2)) == "Mon 2 Mar 2026"
    assert near_date(date(2026, 3, 2), date(2026, 12, 31)) == "Mon 2 Mar"
    assert near_date(date(2027, 1, 4), date(2026, 12, 31)) == "Mon 4 Jan 2027"
    for source in (*Path("store").rglob("*.py"), *Path("tui").rglob("*.py")):
        assert not re.search(r"%[aAbB]\b", source.read_text(encoding="utf-8")), source


def told(kind: str, on: date, **values: object) -> Entry:
    stamps = {"recorded_at": datetime(2026, 3, 2, 9, tzinfo=UTC), "recorded_on": date(2026, 3, 2)}
    return KINDS[kind](on=on, **stamps, **values)  # type: ignore[arg-type]


FEB_9, FEB_23 = date(2026, 2, 9), date(2026, 2, 23)
NUMBERS = {"days_done": 9, "days_asked": 14, "worst_during": 4, "worst_later": 3, "mornings_worse": 2}


@pytest.mark.parametrize(
    ("since", "values", "said"),
    [
        (
            FEB_9,
            {**NUMBERS, "dose": "whole", "settled": "yes"},
            "as told for 9 Feb to 23 Feb: 9 of 14 days, worst during 4, worst later 3, "
            "2 mornings worse than usual, whole dose, settled",
        ),
        (
            FEB_9,
            {"mornings_worse": 1, "dose": "part", "settled": "no"},
            "1 morning worse than usual, part of",
        ),
        (FEB_9, {"days_done": 0, "worst_later": 0}, "done on 0 days, worst later 0"),
        (FEB_9, {"days_asked": 1, "dose": "more"}, "asked on 1 day, more than the dose"),
        (FEB_9, {}, "as told for 9 Feb to 23 Feb: nothing"),
        (date(2025, 12, 30), {}, "as told for 30 Dec 2025 to 23 Feb: nothing"),
    ],
)
def test_93_a_period_summary_in_words(since: date, values: dict[str, object], said: str) -> None:
    assert said in phrase(told("period summary", FEB_23, since=since, **values))


def test_93_what_is_told_of_a_session_a_morning_and_a_slot() -> None:
    session = told(
        "session", FEB_23, ordinal=6, during=2, later=2, morning=1, times=3, dose="part", written=True
    )
    late = "from a written diary, typed 7 days later"
    said = f"during / later / next morning 2 / 2 / 1; 3 times, part of the dose; {late}"
    assert phrase(session) == f"sixth session of the day, {said}"
    assert dated(session) == f"sixth session of Mon 23 Feb 2026, {said}"
    assert phrase(told("morning", FEB_23, pain=2, written=True)) == f"morning pain 2; {late}"
    assert (
        phrase(told("contact", FEB_23, outcome="spoke", anything_new="no")) == "contact: spoke, nothing new"
    )
    booked = told("appointment", FEB_9, booked_for=FEB_23, at="08:40", reason="review")
    assert phrase(booked) == "booked for Mon 23 Feb at 08:40: review"
    seen = told("attendance", FEB_23, booked_for=FEB_23, at="08:40", outcome="attended")
    assert phrase(seen) == "slot of Mon 23 Feb at 08:40: attended"
    assert dated(seen) == "slot of Mon 23 Feb 2026 at 08:40: attended"


def test_93_the_way_of_an_exercise_in_words() -> None:
    """Ruling 82's first lowering exercise, prescribed and done."""
    way = {"lift_s": 1, "pause_s": 1, "lower_s": 3, "lower_s_high": 4, "arc_from": 0, "arc_to": 70}
    named = {"exercise": "band", "load_class": "R1", "assist": "other arm lifts", **way}
    said = "other arm lifts, lift 1 s, pause 1 s, lower 3 to 4 s, arc 0 to 70 degrees"
    asked = told("programme item", FEB_23, sets=2, sets_high=3, reps=10, **named)
    assert phrase(asked).endswith(f": 2 x 10 repetitions, sets may rise to 3, {said}")
    done = DoneItem(**{**named, "sets": 2, "full_arc": "no"})  # type: ignore[arg-type]
    assert done.words().endswith(f": sets 2, {said}, not the full arc")
    assert "sore arm both ways" in replace(done, assist="both ways").words()
