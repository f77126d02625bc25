"""The facts of one case for an audit that are about care given: slots, letters, referrals, values due."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from armrise.store.clinic.audit.facts import (
    DECLINED,
    MEASURED,
    MISSING,
    PROHIBITED,
    Due,
    Owed,
    Period,
    Referred,
    Slot,
    Where,
)
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.time.clocks import settled_by
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Appointment, Visit
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.paperwork import Letter, Referral
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.pathway import Stage

NOT_RECORDED = "not recorded"
SILENT = ("died", "moved")
"""Discharge outcomes after which no letter is owed."""


def pathway_on(view: View, day: date) -> Where:
    """The case, and the pathway it was in on ``day``."""
    span = view.history.span_on(day)
    pathway = view.history.pathway_of(span.stage if span else None)
    return Where(case=view.record.code, pathway=pathway.code if pathway else view.record.pathway)


# --- slots ----------------------------------------------------------------------------------------------


def slots(view: View, period: Period) -> Iterator[Slot]:
    """Slots whose day lay in the period, each day once: what became of the one booked last for it."""
    booked: dict[date, Appointment] = {}
    for slot in view.upto("appointments"):
        if slot.booked_for in period:
            booked[slot.booked_for] = slot
    seen = {v.on for v in view.upto("visits")}
    for day, slot in sorted(booked.items()):
        told = settled_by(view, slot)
        known = told.outcome if told else "attended" if day in seen else NOT_RECORDED
        yield Slot(**pathway_on(view, day), on=day, outcome=known)


# --- letters and referrals ------------------------------------------------------------------------------


def letters(view: View, period: Period) -> Iterator[Owed]:
    """Letters sent in the period, and those owed on its last day, each with the day it was owed from."""
    sent = [x for x in view.upto("letters") if x.state == "sent"]
    closed = view.closed
    for day, about in _owed_from(view):
        done = next((x.on for x in sent if _answers_letter(x, day, about)), None)
        silenced = closed is not None and closed.outcome in SILENT
        if (done is None and not silenced) or (done is not None and done in period):
            yield Owed(**pathway_on(view, day), on=day, about=about, sent=done)


def _owed_from(view: View) -> list[tuple[date, str]]:
    """The day each letter became owed: the discharge in force, and every referral of the episode."""
    closed = view.closed
    owed = [(closed.on, "discharge")] if closed and closed.letter and closed.outcome not in SILENT else []
    return owed + [(r.on, "referral") for r in view.since("referrals", view.episode_start)]


def _answers_letter(letter: Letter, day: date, about: str) -> bool:
    """A discharge letter is its own; what a referral owes is ended by any letter sent from its day on."""
    return letter.on >= day and (about != "discharge" or letter.about == "discharge")


def referrals(view: View, later: View, period: Period) -> Iterator[Referred]:
    """Referrals on in the period, and whether something has come back by the day of the audit."""
    for referral in view.since("referrals", period.first):
        back = _answered_on(later, referral)
        yield Referred(
            **pathway_on(view, referral.on),
            on=referral.on,
            about=referral.about,
            urgency=referral.urgency,
            answered=back is not None,
            days=((back or later.today) - referral.on).days,
        )


def _answered_on(view: View, referral: Referral) -> date | None:
    told = [
        a for a in view.upto("referral_answers") if a.about == referral.about and view.answers(a, referral)
    ]
    if referral.about == "possible red flag":
        told += [
            o
            for o in view.upto("flag_outcomes")
            if o.outcome == "referred and answered" and view.answers(o, referral)
        ]
    return min((a.on for a in told), default=None)


# --- values that were due -------------------------------------------------------------------------------

CHECK_IN = {"during": "check-in: pain during", "later": "check-in: pain later that day"}
CHECK_IN_MORNING = "check-in: pain next morning"


def due_values(view: View, period: Period) -> Iterator[Due]:
    """Measures due at the visits of the period, and the three pain scores of its check-ins."""
    for day in sorted({v.on for v in view.since("visits", period.first)}):
        yield from _at_visit(view, day)
    for session in view.since("sessions", period.first):
        yield from _of_session(view, session, period)


def expected(stage: Stage | None) -> list[str]:
    """The measures that a stage's exit criteria read, in their order."""
    found: list[str] = []
    for criterion in stage.exit if stage else ():
        for name in _measures(criterion):
            if name not in found:
                found.append(name)
    return found


def _measures(criterion: Criterion) -> Iterator[str]:
    if criterion.kind == "measure" and criterion.measure:
        yield criterion.measure
    for part in criterion.parts:
        yield from _measures(part)


def _at_visit(view: View, day: date) -> Iterator[Due]:
    """What the stage wanted that the visit began in; a video visit can ask and cannot measure."""
    visits: list[Visit] = [v for v in view.since("visits", day) if v.on == day]
    remote = all(v.mode == "video" for v in visits)
    before = view.history.span_on(day - DAY)
    stage = view.history.stage_on(day - DAY if before else day)
    for name in expected(stage):
        spec = view.rules.measures.get(name)
        if remote and spec is not None and not spec.question:
            continue
        label = spec.label if spec else name
        yield Due(**pathway_on(view, day), name=label, found=_found(view, name, day))


def _found(view: View, name: str, day: date) -> str:
    """A number measured that day beats the other answers; a value carried forward is none."""
    own = (None, view.record.side)
    told: list[Measure] = [
        m for m in view.since("measures", day) if m.on == day and m.name == name and m.side in own
    ]
    if any(not isinstance(m.value, Absence) and not m.repeated for m in told):
        return MEASURED
    said = {m.value for m in told}
    return PROHIBITED if Absence.PROHIBITED in said else DECLINED if Absence.DECLINED in said else MISSING


def _of_session(view: View, session: Session, period: Period) -> Iterator[Due]:
    here = pathway_on(view, session.on)
    for name, label in CHECK_IN.items():
        yield Due(**here, name=label, found=_score(getattr(session, name)))
    if session.on < period.last:  # the morning after the last day has not come
        yield Due(**here, name=CHECK_IN_MORNING, found=_morning(view, session))


def _score(value: int | Absence) -> str:
    if isinstance(value, int):
        return MEASURED
    return {Absence.DECLINED: DECLINED, Absence.PROHIBITED: PROHIBITED}.get(value, MISSING)


def _morning(view: View, session: Session) -> str:
    """The next morning as told with the check-in, or by itself."""
    found = _score(session.morning)
    told = [m for m in view.since("mornings", session.on + DAY) if m.on == session.on + DAY]
    return MEASURED if any(isinstance(m.pain, int) for m in told) else found
