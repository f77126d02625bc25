"""The standing of a case: one pure function of the record, the rule version and the clinic date."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.standing import Pain, Standing, Word
from armrise.store.clinic.case.view import DAY, History, NeedsFullHistory, View, newest
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.healing.healing import onset_word
from armrise.store.clinic.healing.limits import limits_in_force
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.standing.do import with_do
from armrise.store.clinic.standing.memory import memory_caution
from armrise.store.clinic.standing.reasons import live_reasons, look_far_back
from armrise.store.clinic.time import clocks, slots
from armrise.store.clinic.verdict.cautions import cautions
from armrise.store.clinic.verdict.readiness import verdict
from armrise.store.record.case import CaseRecord
from armrise.store.record.phrase import dated, phrase
from armrise.store.record.words import words_date
from armrise.store.rules.pathway import Rules

__all__ = ["NeedsFullHistory", "stand", "stand_view"]

TREND_DAYS = 14


def stand(record: CaseRecord, rules: Rules, today: date) -> Standing:
    """The standing of ``record`` under ``rules`` on the clinic date ``today``.

    Raises :class:`NeedsFullHistory` when the record is a window of its history and the answer lies before it.
    """
    history = History(record, rules)
    try:
        return stand_view(history.on(today))
    finally:
        history.let_go()


def stand_view(view: View) -> Standing:
    """The standing of a view that is already at hand."""
    record, pathway, stage = view.record, view.pathway, view.stage
    clock = view.at(view.closed.on) if view.closed else view
    held, onset = clocks.hold_now(view), view.onset()
    if record.known_from is not None:
        look_far_back(view)
    decided = verdict(view)  # first: one of the reasons asks for its word, which is then at hand
    reasons = live_reasons(view)
    reasons = with_do(view, reasons, decided)
    noted = (*cautions(view), *memory_caution(view, reasons, decided))
    return Standing(
        code=record.code,
        person=record.person,
        side=record.side,
        status=status_of(view),
        pathway=pathway.code if pathway else record.pathway,
        pathway_name=pathway.name if pathway else f"{record.pathway}, not in the rule file",
        stage=view.span.stage if view.span else "",
        stage_name=stage.name if stage else ("stage not in rule file" if view.span else "not placed yet"),
        days_in_stage=clock.days_since(view.stage_start),
        total_days_in_stage=clocks.total_days(clock),
        days_in_episode=clock.days_since(view.episode_first_visit),
        usual_days=stage.usual.whole if stage else None,
        days_since_onset=view.days_since(onset.on if onset else None),
        onset_word=onset_word(pathway),
        review=clocks.review(view),
        pain=pain(view),
        trend=trend(view),
        reasons=reasons,
        verdict=decided._replace(cautions=noted),
        limits=limits_in_force(view),
        cautions=noted,
        as_of=view.today,
        clinician=record.clinician,
        age_band=record.age_band,
        linked=record.linked,
        last_data=clocks.last_data(view),
        last_override=_last_override(view),
        hold_until=held.end if held else None,
        extra=extras(view),
        referrer=record.referrer,
        tried=slots.tried_today(view),
    )


def status_of(view: View) -> str:
    """ "active", "on hold", "closed" or "waiting"."""
    if view.closed:
        return "closed"
    if view.waiting:
        return "waiting"
    return "on hold" if clocks.hold_now(view) else "active"


def pain(view: View) -> Pain:
    """The last session's pain triple with the baseline it is judged against."""
    judged = Response.of(view).all(view.today)
    if not judged:
        if view.record.known_from:
            raise NeedsFullHistory
        return Pain(None, None, None, None, Response.of(view).baseline(view.today), None)
    last = judged[-1]
    view.sure(last.on)
    during, later = last.session.during, last.session.later
    morning = last.morning if last.morning is not None else None
    shown = last.session.morning if morning is None and last.on < view.today else morning
    return Pain(during, later, shown, last.on, last.baseline, (view.today - last.on).days)


def trend(view: View) -> tuple[int | None, ...]:
    """Next-morning scores of the last two weeks, oldest first; None where none was told."""
    response = Response.of(view)
    days = (view.today - timedelta(days=back) for back in range(TREND_DAYS - 1, -1, -1))
    return tuple(response.worst_value(d) for d in days)


def _last_override(view: View) -> str:
    """The newest override of this stage, printed for the rest of it."""
    steps = [s for s in view.since("steps", view.stage_start) if s.override_reason]
    stays = view.since("overrides", view.stage_start)
    last_step, last_stay = newest(steps), newest(stays)
    last = last_step if last_step and (not last_stay or last_step.on >= last_stay.on) else last_stay
    return dated(last, view.rules, year=view.today.year) if last else ""


def extras(view: View) -> tuple[str, ...]:
    """Facts for the five-second view beyond limits and cautions: open access, programme, last visit."""
    found: list[str] = []
    if view.closed is None:
        items = in_force(view)
        if items:
            found.append(f"programme: {len(items)} exercise{'s' if len(items) > 1 else ''}")
        if view.last_visit:
            found.append(f"last visit {words_date(view.last_visit.on)}")
        if told := newest(view.since("summaries", view.stage_start)):
            found.append(phrase(told))
    if any(f.name == "open access set" and f.answer == "yes" for f in view.upto("findings")):
        found.append("open access")
    late = [
        s
        for s in view.since("sessions", view.today - timedelta(days=7))
        if (s.recorded_on - s.on - DAY).days > 1
    ]
    if late:
        what, how = ("diary", "typed") if late[-1].written else ("check-in", "recorded")
        found.append(f"{what} of {words_date(late[-1].on)} {how} {late[-1].days_late} days later")
    if verdict(view).word is Word.READY and view.pathway and view.next_stage is None:
        found.append("last stage: discharge comes next")
    return tuple(found)
