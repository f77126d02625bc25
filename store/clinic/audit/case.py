"""The facts of one case for an audit: where it stood, what began, ended, was stepped, held or broken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from armrise.store.clinic.audit.care import due_values, letters, pathway_on, referrals, slots
from armrise.store.clinic.audit.facts import (
    FLARE,
    NO_FLARE,
    NOT_OVER,
    NOTHING_TOLD,
    Active,
    Begun,
    Broken,
    Ended,
    Facts,
    Held,
    Overridden,
    Period,
    Placed,
    Reopened,
    Stamped,
    Stayed,
    Stepped,
)
from armrise.store.clinic.audit.outcome import scored
from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.healing.breaches import breaches, open_breaches
from armrise.store.clinic.healing.healing import guarded
from armrise.store.clinic.pain.classes import FLARE as FLARE_CLASS
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.scores.outcome import score_owed
from armrise.store.clinic.standing.reasons import tier_on
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.duration import dated_stays
from armrise.store.clinic.verdict.screening import screen_declined, screen_unanswered
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.plan import Override, Step
from armrise.store.rules.pathway import Rules

WEEK = timedelta(days=7)


def case_facts(record: CaseRecord, rules: Rules, period: Period) -> Facts:
    """Everything the audit of ``period`` counts of one case.

    A case registered after the period has nothing in it. The record may be a window that holds the period:
    where an answer lies before it, :class:`armrise.store.clinic.case.view.NeedsFullHistory`.
    """
    if record.registered_on > period.last:
        return Facts()
    until = _until(record, period.last)
    history = History(until, rules)
    followed_by = History(record, rules) if until is not record else history
    try:
        return _facts(history.on(period.last), followed_by.on(period.known), period)
    finally:
        history.let_go()
        followed_by.let_go()


def _facts(view: View, later: View, period: Period) -> Facts:
    """The same, of the case on the last day, and on the day of the audit."""
    later.sure(period.first)
    return Facts(
        active=tuple(_active(view)),
        begun=tuple(_begun(view, period)),
        ended=tuple(
            Ended(**pathway_on(view, d.on), on=d.on, outcome=d.outcome)
            for d in _within(view, "discharges", period)
        ),
        reopened=tuple(
            Reopened(**pathway_on(view, r.on), on=r.on) for r in _within(view, "reopenings", period)
        ),
        scored=tuple(scored(view, period)),
        stayed=tuple(_stayed(view, period)),
        slots=tuple(slots(later, period)),
        stepped=tuple(
            Stepped(**pathway_on(view, s.on), on=s.on, direction=s.direction, stage=s.stage)
            for s in _within(view, "steps", period)
            if s.direction != "placing"
        ),
        overridden=tuple(_overridden(view, later, period)),
        held=tuple(
            Held(**pathway_on(view, h.on), on=h.on, reason=h.reason)
            for h in _within(view, "holds", period)
            if h.until > h.on
        ),
        broken=tuple(_broken(view, period)),
        owed=tuple(letters(view, period)),
        due=tuple(due_values(view, period)),
        referred=tuple(referrals(view, later, period)),
        placed=tuple(_placed(view, period)),
        stamped=tuple(_stamped(view, period)),
    )


def _until(record: CaseRecord, last: date) -> CaseRecord:
    """The record without what happened after ``last``: the rules may look ahead in what they are given."""
    every = ((name, getattr(record, name)) for name in FIELD_OF_KIND.values())
    changes = {
        name: tuple(e for e in entries if e.on <= last)
        for name, entries in every
        if entries and entries[-1].on > last
    }
    return replace(record, **changes) if changes else record


def _within(view: View, name: str, period: Period) -> list[Any]:
    return [e for e in view.since(name, period.first) if e.on in period]


def treated(view: View) -> bool:
    """True for a case being treated on the view's date: placed or seen, and not closed."""
    return not view.closed and not view.waiting


def _active(view: View) -> Iterator[Active]:
    if not treated(view):
        return
    review, stage = clocks.review(view), view.stage
    started = view.episode_start or view.record.registered_on
    yield Active(
        **pathway_on(view, view.today),
        side=view.record.side,
        stage=view.span.stage if view.span else "",
        on_hold=clocks.hold_now(view) is not None,
        tier=tier_on(view),
        overdue_days=review.overdue_days,
        interval=review.interval,
        counted_days=clocks.counted_days(view),
        stall_days=stage.stall.whole if stage else None,
        held_days=clocks.days_paused(view, started),
        heals=guarded(view.pathway),
        score_owed=score_owed(view) is not None,
    )


def _begun(view: View, period: Period) -> Iterator[Begun]:
    """First visits of episodes in the period, each with the state of the screen at the end of that day."""
    firsts = {view.at(v.on).episode_first_visit for v in view.upto("visits")}
    for day in sorted(d for d in firsts if d is not None and d in period):
        then = view.at(day)
        yield Begun(
            **pathway_on(view, day),
            on=day,
            not_asked=len(screen_unanswered(then)),
            declined=len(screen_declined(then)),
        )


def _stayed(view: View, period: Period) -> Iterator[Stayed]:
    """Every stay up to the last day; those that moved on within the period are marked."""
    for start, stay in dated_stays(view):
        moved = stay.moved_on and start + timedelta(days=stay.days) in period
        yield Stayed(**pathway_on(view, start), stay=stay, moved_in_period=moved)


def _overridden(view: View, later: View, period: Period) -> Iterator[Overridden]:
    steps: list[Step] = _within(view, "steps", period)
    for step in steps:
        if step.override_category is not None:
            against = step.verdict or "verdict not recorded"
            yield _override(
                view,
                later,
                step,
                f"{against}, step {step.direction}",
                step.override_category,
                step.override_reason,
            )
    stayed: list[Override] = _within(view, "overrides", period)
    for stay in stayed:
        yield _override(view, later, stay, f"{stay.against}, stayed", stay.category, stay.reason)


def _override(
    view: View, later: View, entry: Entry, against: str, category: str, reason: str | None
) -> Overridden:
    return Overridden(
        **pathway_on(view, entry.on),
        on=entry.on,
        against=against,
        category=category,
        reason=reason or "",
        author=entry.author,
        followed=followed(later, entry.on),
    )


def followed(view: View, day: date) -> str:
    """What came in the days after a decision: a flare, none, nothing that tells, or the days are not over.

    The day of the decision itself does not count: its session may have come before. Silence is no
    "no flare".
    """
    end = day + timedelta(days=view.rules["audit.after_days"])
    judged = Response.of(view).between(day + DAY, view.today, end)
    if any(j.klass == FLARE_CLASS for j in judged):
        return FLARE
    if view.today <= end:
        return NOT_OVER
    return NO_FLARE if any(j.known for j in judged) else NOTHING_TOLD


def _broken(view: View, period: Period) -> Iterator[Broken]:
    """Each broken limit once a day and entry, the worst of them, answered or not by the last day."""
    still = {(b.on, b.entry_id) for b in open_breaches(view)}
    worst: dict[tuple[date, int], int] = {}
    for breach in breaches(view):
        if breach.on in period:
            key = breach.on, breach.entry_id
            worst[key] = max(worst.get(key, 0), breach.severity)
    for (on, entry), severity in worst.items():
        yield Broken(**pathway_on(view, on), on=on, severity=severity, answered=(on, entry) not in still)


def week_ends(period: Period) -> list[date]:
    """The last day of the period and every seventh day before it, oldest first."""
    found: list[date] = []
    day = period.last
    while day >= period.first:
        found.append(day)
        day -= WEEK
    return found[::-1]


def _placed(view: View, period: Period) -> Iterator[Placed]:
    """The tier at the end of every week, by what is known now."""
    for day in week_ends(period):
        then = view.at(day)
        if view.record.registered_on <= day and treated(then):
            yield Placed(**pathway_on(view, day), week_end=day, tier=tier_on(then))


def _stamped(view: View, period: Period) -> Iterator[Stamped]:
    for name in ("steps", "overrides"):
        for entry in _within(view, name, period):
            rules = getattr(entry, "rules", None)
            if rules:
                yield Stamped(**pathway_on(view, entry.on), on=entry.on, rules=rules)
