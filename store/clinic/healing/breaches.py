"""Healing limits broken: by a session, a measurement, an event, the sling or the programme itself."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from datetime import date, datetime
from itertools import pairwise
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import PLACED, next_after, next_of, turns
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.healing.healing import (
    LIMITS_REST_ON,
    allowed_on,
    clocks_elsewhere,
    combined_barred,
    gate,
    guarded,
    limit_turns,
    limits_since,
    onset_word,
    sling_undated,
    sling_until,
)
from armrise.store.clinic.motion.motion import degrees, values
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.programme import CLASS_WORDS, DoneItem, ProgrammeItem
from armrise.store.record.words import words_date

SEVERE = ("I1", "I2", "R1", "R2", "R3", "W2", "X1")
ROTATIONS = ("passive_external_rotation", "active_external_rotation")
ELEVATIONS = ("passive_flexion", "active_flexion", "passive_abduction", "active_abduction")
LIMITED_BY: dict[str, str] = {
    **dict.fromkeys(ROTATIONS, "external_rotation_limit"),
    **dict.fromkeys(ELEVATIONS, "elevation_limit"),
}
"""The field of the orders that limits a measured range."""


class Breach(NamedTuple):
    """A healing limit broken on one date. Severity 3 resisted or lifting, 2 active or range, 1 sling."""

    on: date
    severity: int
    sentence: str
    entry_id: int
    told_at: datetime
    standing: bool = False
    """True for a class that still stands in today's programme: only a corrected programme ends it."""


def class_severity(load_class: str) -> int:
    """3 for resisted, lifting, isometric before its gate, full weight or tasks; 2 for the rest."""
    return 3 if load_class in SEVERE else 2


@once_a_view
def breaches(view: View) -> list[Breach]:
    """Every healing limit broken up to the view's date, answered or not, oldest first."""
    return [*(b for b in _recorded(view) if b.on <= view.today), *_programme_breaches(view)]


@once_a_view
def _recorded(view: View) -> list[Breach]:
    """Those of what was done, whatever the day it is looked at."""
    return view.history.once("breaches", lambda: _recorded_breaches(View(view.history, date.max)))


def _days_of_limits(view: View) -> list[date]:
    return [*(breach.on for breach in _recorded(view)), *limit_turns(view)]


BREACH_TURNS = turns("contacts", "programme", *LIMITS_REST_ON, days=_days_of_limits)
"""When :func:`open_breaches` can turn. Sessions and values only where they broke a limit."""


def breaches_until(view: View) -> date:
    """The first day after the view's date on which :func:`open_breaches` may be otherwise.

    What corrects a plan opens none.
    """
    if open_breaches(view):
        return BREACH_TURNS.following(view)
    days = view.history.once("days of breaches", lambda: sorted(_days_of_limits(view)))
    return min(next_of(view, (*PLACED, "programme", *LIMITS_REST_ON)), next_after(view.today, days))


def _recorded_breaches(view: View) -> list[Breach]:
    found: list[Breach] = []
    days, stretch, limited = limit_turns(view), -1, False
    for session in view.upto("sessions"):
        if stretch != (now := bisect_right(days, session.on)):
            stretch, limited = now, allowed_on(view, session.on) is not None
        for item in session.items if limited else ():
            if item.sets != 0:
                found += _item_breaches(view, session, item)
        if session.sling_off:
            found += _sling_breach(view, session)
    for finding in view.upto("findings"):
        if finding.name in ("sling off", "sling weaned") and finding.answer == "yes":
            found += _sling_breach(view, finding)
    for event in view.upto("events"):
        if event.combined and combined_barred(view, event.on):
            found.append(_breach(event, 2, _combined_words(event.on)))
    for name in LIMITED_BY if view.upto("orders") else ():
        for measure in values(view, name):
            found += _range_breach(view, measure)
    return sorted([*found, *_past_programme(view)], key=lambda b: (b.on, b.entry_id))


def _past_programme(view: View) -> list[Breach]:
    """Exercises that stood in the programme on a date that did not allow them, and stand there no more.

    Striking an exercise out does not undo what may have been done: only somebody who speaks with the patient
    ends that.
    """
    versions: dict[str, list[ProgrammeItem]] = {}
    for item in view.upto("programme"):
        versions.setdefault(item.exercise, []).append(item)
    found: list[Breach] = []
    for history in versions.values():
        for item, following in pairwise(history):
            if item.stopped is None:
                found += _last_barred_day(view, item, following.on)
    return found


def _last_barred_day(view: View, item: ProgrammeItem, end: date) -> list[Breach]:
    """The breach of the last date before ``end`` on which the exercise was not allowed, if there was one."""
    day = end - DAY
    while day >= item.on and allowed_on(view, day) is not None:
        broken = _item_breaches(view, replace(item, on=day), item)
        if broken:
            worst = max(broken, key=lambda b: b.severity)
            return [worst._replace(sentence=f"was in the programme: {worst.sentence}")]
        day = limits_since(view, day) - DAY
    return []


def _breach(entry: Entry, severity: int, sentence: str) -> Breach:
    return Breach(entry.on, severity, sentence, entry.id, entry.recorded_at)


def _item_breaches(
    view: View, entry: Session | ProgrammeItem, item: DoneItem | ProgrammeItem
) -> list[Breach]:
    """What one exercise breaks on the entry's date: its class, its dose, its load, its movement."""
    on, found = entry.on, list[Breach]()
    allowed = allowed_on(view, on) or ()
    severity = class_severity(item.load_class)
    if item.load_class not in allowed and item.load_class != "P0":
        found.append(_breach(entry, severity, _class_words(view, on, item)))
    elif isinstance(item, DoneItem) and _more_than_asked(view, item, on):
        words = f"more {item.exercise} than prescribed on {words_date(on)}, in a protected stage"
        found.append(_breach(entry, severity, words))
    limit = view.last_order("lifting_limit", on)
    if limit and item.load is not None and item.load > limit[0]:
        words = f"{item.exercise} with {item.load} kg, ordered limit {limit[0]} kg"
        found.append(_breach(entry, 3, words))
    if item.combined and combined_barred(view, on):
        found.append(_breach(entry, 2, _combined_words(on)))
    return found


def _more_than_asked(view: View, item: DoneItem, on: date) -> bool:
    """A dose above prescription breaks a limit while tissue heals; elsewhere it is only said."""
    stage = view.history.stage_on(on)
    if stage is None or not stage.protected:
        return False
    sets = item.sets is not None and item.sets_asked is not None and item.sets > item.sets_asked
    reps = item.reps is not None and item.reps_asked is not None and item.reps > item.reps_asked
    return sets or reps


def _class_words(view: View, on: date, item: DoneItem | ProgrammeItem) -> str:
    """The exercise with its class and day, and when the gates allow that class."""
    stage = view.history.stage_on(on)
    pathway = view.history.pathway_of(stage.code if stage else None)
    onset = view.onset_for(pathway, on)
    when = f"day {(on - onset.on).days} after {onset_word(pathway)}" if onset else words_date(on)
    words = f"{item.exercise} ({CLASS_WORDS[item.load_class]}) on {when}"
    if onset is None and (others := clocks_elsewhere(view, on)):
        return f"{words}, {others[0].words(on)}"
    first = next((s for s in pathway.stages if item.load_class in s.allowed), None) if pathway else None
    opening = gate(view, first, on) if first else None
    if opening is None or opening.opens is None:
        return words
    day = f"day {opening.day}, " if opening.day is not None else ""
    return f"{words}; {CLASS_WORDS[item.load_class]} opens on {day}{words_date(opening.opens)}"


def _combined_words(on: date) -> str:
    return f"combined abduction and external rotation on {words_date(on)}"


def _sling_breach(view: View, entry: Entry) -> list[Breach]:
    limit = sling_until(view, entry.on)
    if sling_undated(view, entry.on):
        return [_breach(entry, 1, f"sling off on {words_date(entry.on)}, surgery date missing")]
    if limit is None or entry.on >= limit[0]:
        return []
    words = f"sling off on {words_date(entry.on)}, to be worn until {words_date(limit[0])} ({limit[1]})"
    return [_breach(entry, 1, words)]


def _range_breach(view: View, measure: Measure) -> list[Breach]:
    """Range beyond a typed order limit in force on the day it was measured."""
    limit = view.last_order(LIMITED_BY[measure.name], measure.on)
    if limit is None:
        return []
    stage = view.history.stage_on(measure.on)
    if stage is None or not guarded(view.history.pathway_of(stage.code)) or degrees(measure) <= limit[0]:
        return []
    label = view.rules.measures[measure.name].label
    words = f"{label} {degrees(measure)} on {words_date(measure.on)}, ordered limit {limit[0]}"
    return [_breach(measure, 2, words)]


@once_a_view
def in_force(view: View) -> list[ProgrammeItem]:
    """The programme today: the newest version of each exercise that has not been stopped.

    Surgery, and a pathway opened by it, stops what was prescribed before.
    """
    return [versions[-1] for versions in versions_in_force(view)]


@once_a_view
def versions_in_force(view: View) -> list[list[ProgrammeItem]]:
    """Every version of each exercise of today's programme since it was last begun, oldest first."""
    surgery = [o.on for o in view.upto("onsets") if o.what == "surgery" and not o.history]
    start = max([d for d in (view.segment_start, *surgery) if d is not None], default=None)
    versions: dict[str, list[ProgrammeItem]] = {}
    for item in view.since("programme", start):
        if item.stopped is None:
            versions.setdefault(item.exercise, []).append(item)
        else:
            versions.pop(item.exercise, None)
    return list(versions.values())


def _programme_breaches(view: View) -> list[Breach]:
    """A class in today's programme that today does not allow: live as long as it stands there."""
    if allowed_on(view, view.today) is None:
        return []
    found: list[Breach] = []
    for item in in_force(view):
        for breach in _item_breaches(view, replace(item, on=view.today), item):
            words = f"in the programme: {breach.sentence}"
            found.append(breach._replace(sentence=words, standing=True))
    return found


@once_a_view
def open_breaches(view: View) -> list[Breach]:
    """Breaches that no contact or visit with a corrected plan has answered since."""
    if view.closed:
        return []
    corrected: list[Entry] = [c for c in view.upto("contacts") if c.spoken and c.plan_corrected]
    corrected += [v for v in view.upto("visits") if v.plan_corrected]
    return [b for b in breaches(view) if b.standing or not any(_corrects(view, a, b) for a in corrected)]


def _corrects(view: View, answer: Entry, breach: Breach) -> bool:
    """A contact or visit of the same day or later that could know of the breach."""
    later = (answer.recorded_at, answer.id) >= (breach.told_at, breach.entry_id)
    return answer.on >= breach.on and later and view.record.could_see(answer.id, breach.entry_id)
