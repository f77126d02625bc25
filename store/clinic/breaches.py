"""Healing limits broken: by a session, a measurement, an event, the sling or the programme itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from store.clinic.fields import Absence
from store.clinic.healing import (
    CLASS_WORDS,
    allowed_on,
    combined_barred,
    gate,
    guarded,
    onset_word,
    sling_until,
)
from store.clinic.motion import degrees
from store.clinic.record import DoneItem, ProgrammeItem, Session
from store.clinic.view import View, newest
from store.clinic.words import words_date

SEVERE = ("I1", "I2", "R1", "R2", "R3", "W2", "X1")


@dataclass(frozen=True, slots=True)
class Breach:
    """A healing limit broken on one date. Severity 3 resisted or lifting, 2 active or range, 1 sling."""

    on: date
    severity: int
    sentence: str
    entry_id: int


def class_severity(load_class: str) -> int:
    """3 for resisted, lifting, isometric before its gate, full weight or tasks; 2 for the rest."""
    return 3 if load_class in SEVERE else 2


def breaches(view: View) -> list[Breach]:
    """Every healing limit broken up to the view's date, answered or not, oldest first."""
    memo = view.history.memo
    if "breaches" not in memo:
        whole = View(view.history, date.max)
        memo["breaches"] = sorted(_recorded_breaches(whole), key=lambda b: (b.on, b.entry_id))
    found: list[Breach] = [b for b in memo["breaches"] if b.on <= view.today]
    return [*found, *_programme_breaches(view)]


def _recorded_breaches(view: View) -> list[Breach]:
    found: list[Breach] = []
    for session in view.upto("sessions"):
        found += _session_breaches(view, session)
    for finding in view.upto("findings"):
        if finding.name in ("sling off", "sling weaned") and finding.answer == "yes":
            found += _sling_breach(view, finding.on, finding.id)
    for event in view.upto("events"):
        if event.combined and combined_barred(view, event.on):
            found.append(Breach(event.on, 2, _combined_words(event.on), event.id))
    return [*found, *_range_breaches(view)]


def _session_breaches(view: View, session: Session) -> list[Breach]:
    found: list[Breach] = []
    allowed = allowed_on(view, session.on)
    if allowed is not None:
        for item in session.items:
            if item.load_class not in allowed and item.load_class != "P0":
                found.append(_class_breach(view, session.on, item, session.id))
            elif _more_than_asked(view, item, session.on):
                words = (
                    f"more {item.exercise} than prescribed on {words_date(session.on)}, in a protected stage"
                )
                found.append(Breach(session.on, class_severity(item.load_class), words, session.id))
            if item.combined and combined_barred(view, session.on):
                found.append(Breach(session.on, 2, _combined_words(session.on), session.id))
    if session.sling_off:
        found += _sling_breach(view, session.on, session.id)
    return found


def _more_than_asked(view: View, item: DoneItem, on: date) -> bool:
    """A dose above prescription breaks a limit while tissue heals; elsewhere it is only said."""
    stage = view.history.stage_on(on)
    if stage is None or not stage.protected:
        return False
    sets = item.sets is not None and item.sets_asked is not None and item.sets > item.sets_asked
    reps = item.reps is not None and item.reps_asked is not None and item.reps > item.reps_asked
    return sets or reps


def _class_breach(view: View, on: date, item: DoneItem | ProgrammeItem, entry_id: int) -> Breach:
    onset = view.onset_for(view.history.pathway_of(_stage_code(view, on)), on)
    when = f"day {(on - onset.on).days}" if onset else words_date(on)
    word = onset_word(view.history.pathway_of(_stage_code(view, on)))
    after = f" after {word}" if onset else ""
    words = f"{item.exercise} ({CLASS_WORDS[item.load_class]}) on {when}{after}"
    opening = _opens_for(view, on, item.load_class)
    if opening:
        words += f"; {CLASS_WORDS[item.load_class]} opens on {opening}"
    return Breach(on, class_severity(item.load_class), words, entry_id)


def _stage_code(view: View, on: date) -> str | None:
    stage = view.history.stage_on(on)
    return stage.code if stage else None


def _opens_for(view: View, on: date, load_class: str) -> str:
    """When the class becomes allowed by the gates, in words."""
    pathway = view.history.pathway_of(_stage_code(view, on))
    if pathway is None:
        return ""
    for stage in pathway.stages:
        if load_class in stage.allowed:
            opening = gate(view, stage, on)
            if opening and opening.opens:
                day = f"day {opening.day}, " if opening.day is not None else ""
                return f"{day}{words_date(opening.opens)}"
            return ""
    return ""


def _combined_words(on: date) -> str:
    return f"combined abduction and external rotation on {words_date(on)}"


def _sling_breach(view: View, on: date, entry_id: int) -> list[Breach]:
    limit = sling_until(view, on)
    if limit is None or on >= limit[0]:
        return []
    words = f"sling off on {words_date(on)}, to be worn until {words_date(limit[0])} ({limit[1]})"
    return [Breach(on, 1, words, entry_id)]


def _range_breaches(view: View) -> list[Breach]:
    """Range beyond a typed order limit in force on the day it was measured."""
    found: list[Breach] = []
    if not guarded(view.pathway):
        return found
    for measure in view.upto("measures"):
        if isinstance(measure.value, Absence) or measure.repeated:
            continue
        if measure.side not in (None, view.record.side):
            continue
        limit = _range_limit(view, measure.name, measure.on)
        if limit is not None and degrees(measure) > limit:
            label = view.rules.measures[measure.name].label
            words = f"{label} {degrees(measure)} on {words_date(measure.on)}, ordered limit {limit}"
            found.append(Breach(measure.on, 2, words, measure.id))
    return found


ROTATIONS = ("passive_external_rotation", "active_external_rotation")
ELEVATIONS = ("passive_flexion", "active_flexion", "passive_abduction", "active_abduction")


def _range_limit(view: View, name: str, day: date) -> int | None:
    orders = view.orders_on(day)
    if name in ROTATIONS:
        told = newest([o for o in orders if o.external_rotation_limit is not None])
        return told.external_rotation_limit if told else None
    if name in ELEVATIONS:
        told = newest([o for o in orders if o.elevation_limit is not None])
        return told.elevation_limit if told else None
    return None


def in_force(view: View) -> list[ProgrammeItem]:
    """The programme today: the newest version of each exercise that has not been stopped."""
    items: dict[str, ProgrammeItem] = {}
    for item in view.upto("programme"):
        items[item.exercise] = item
    start = view.segment_start
    return [i for i in items.values() if i.stopped is None and (start is None or i.on >= start)]


def _programme_breaches(view: View) -> list[Breach]:
    """A class in today's programme that today does not allow: live as long as it stands there."""
    allowed = allowed_on(view, view.today)
    if allowed is None:
        return []
    barred = combined_barred(view, view.today)
    found: list[Breach] = []
    for item in in_force(view):
        if item.load_class not in allowed and item.load_class != "P0":
            breach = _class_breach(view, view.today, item, item.id)
            found.append(Breach(view.today, breach.severity, f"in the programme: {breach.sentence}", item.id))
        elif item.combined and barred:
            words = f"in the programme: {item.exercise}, combined abduction and external rotation"
            found.append(Breach(view.today, 2, words, item.id))
    return found


def open_breaches(view: View) -> list[Breach]:
    """Breaches that no contact or visit with a corrected plan has answered since."""
    if view.closed or view.span is None:
        return []
    answers = [c.on for c in view.upto("contacts") if c.spoken and c.plan_corrected]
    answers += [v.on for v in view.upto("visits") if v.plan_corrected]
    last = max(answers, default=None)
    programme = {i.id for i in in_force(view)}
    return [
        b
        for b in breaches(view)
        if last is None or b.on > last or (b.entry_id in programme and b.on == view.today)
    ]
