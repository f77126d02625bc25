"""The triggers that are true for a case: findings to act on, possible red flags, looks to take again.

Ruling 66. Those of the pathway speak before those of all pathways, each file in its order.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from datetime import date, timedelta
from itertools import chain
from typing import NamedTuple

from armrise.store.clinic.case.naming import known
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import next_but_daily, turns
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.findings.clock import day_zero
from armrise.store.clinic.findings.course import Course, Opened
from armrise.store.clinic.findings.looks import Look, ever_bad, subjects
from armrise.store.clinic.motion.denied import LiftDenied, lift_denied
from armrise.store.clinic.motion.lift import LOOK, power_loss
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.safety import Screen
from armrise.store.record.words import words_date
from armrise.store.rules.pathway import Pathway
from armrise.store.rules.trigger import FIND, FLAG, Condition, Trigger

MATTER = "finding to act on"
"""The reason in words, and the line of the verdict that names one."""
_READ = (
    *("findings", "measures", "events", "onsets", "visits", "steps", "contacts", "referrals", "decisions"),
    *("flag_outcomes", "reopenings", "discharges"),
)


class ToAct(NamedTuple):
    """A finding to act on: how severe, in words, since when, and what the verdict refers for, if it does."""

    trigger: Trigger
    severity: int
    sentence: str
    since: date
    evidence: tuple[int, ...]

    @property
    def about(self) -> tuple[str, ...]:
        """What an entry names that answers it."""
        return self.trigger.about

    @property
    def referral_only(self) -> bool:
        """Only a referral answers it, no decision."""
        return self.trigger.referral_only

    @property
    def answered_by(self) -> str:
        """What to record for it to be answered, in words."""
        return self.trigger.answered_by


class Acting(NamedTuple):
    """All findings to act on as one reason."""

    severity: int
    sentence: str
    since: date
    evidence: tuple[int, ...]


@once_a_view
def to_act(view: View) -> list[ToAct]:
    """Findings to act on that are true on the view's date and not answered, in the order they speak."""
    live = (
        course.opened for course in _courses(view) if course.trigger.reason == FIND and not course.answered
    )
    return [
        ToAct(
            opened.trigger,
            opened.trigger.severity,
            opened.text(view.today),
            opened.since,
            tuple(dict.fromkeys(entry.id for entry in opened.entries)),
        )
        for opened in live
        if opened and opened.true_on(view.today) and _of_this_stage(view, opened.trigger)
    ]


@once_a_view
def findings_to_act_on(view: View) -> list[ToAct | LiftDenied]:
    """Those of :func:`to_act`, and the looks to take again where nothing else that is live speaks of one.

    A look to take again withholds READY: nobody steps the case forward, so somebody has to look.
    """
    lost, denied = power_loss(view), lift_denied(view)
    found: list[ToAct | LiftDenied] = [*to_act(view)]
    said = {entry for one in (*found, *([lost] if lost else [])) for entry in one.evidence}
    for again in (*_looks_owed(view), *([denied] if denied else [])):
        if not said & _alike(view, again.evidence):
            found.append(again)
            said.update(again.evidence)
    return found


def _alike(view: View, evidence: Iterable[int]) -> set[int]:
    """These entries, and every finding of the same name as one of them."""
    ids, findings = set(evidence), view.upto("findings")
    names = {finding.name for finding in findings if finding.id in ids}
    return ids | {finding.id for finding in findings if finding.name in names}


def finding_to_act_on(view: View) -> Acting | None:
    """All of them as one reason: every text, the worst severity, the evidence of all; None without any."""
    found = findings_to_act_on(view)
    if not found:
        return None
    return Acting(
        max(one.severity for one in found),
        "; ".join(dict.fromkeys(one.sentence for one in found)),
        min(one.since for one in found),
        tuple(dict.fromkeys(entry for one in found for entry in one.evidence)),
    )


@once_a_view
def found_flags(view: View) -> list[Screen]:
    """What was found and is a possible red flag without an outcome, as the answer "yes" to its item."""
    live = (course.opened for course in _courses(view) if course.trigger.reason == FLAG)
    return [
        _as_flag(opened, opened.entries[-1], view.today)
        for opened in live
        if opened and opened.true_on(view.today) and _of_this_stage(view, opened.trigger)
    ]


def _days_of_flags(view: View) -> Iterator[date]:
    """The days on which what was found becomes a flag, and those after the last on which it is one."""
    for course in _courses(view):
        opened, last = course.opened, course.trigger.to_day
        if opened and course.trigger.reason == FLAG:
            yield opened.since
            if last and opened.zero:
                yield opened.zero.on + timedelta(days=last.whole) + DAY


FOUND_TURNS = turns(*_READ, days=_days_of_flags)
"""When :func:`found_flags` can turn."""


def may_flag(view: View) -> bool:
    """Whether the record holds, on whatever day, what opens a possible red flag."""
    return view.history.once("may flag", lambda: _may_open(view, (FLAG,)))


def findings_until(view: View) -> date:
    """The first day after the view's date on which :func:`findings_to_act_on` may be found otherwise: never
    where the record does not hold, on whatever day, what opens one, or a lift that is denied."""

    def may_be_found() -> bool:
        denied = any(f.name == LOOK and f.answer == "no" for f in view.history.ordered("findings")[0])
        return denied or _may_open(view, (FIND, FLAG))

    if not view.history.once("may be found", may_be_found):
        return date.max
    return next_but_daily(view) if nothing_opened(view) else view.today + DAY


def _may_open(view: View, reasons: Container[str]) -> bool:
    return any(ever_bad(view, condition) for condition in _conditions(view, reasons))


def _conditions(view: View, reasons: Container[str]) -> Iterator[Condition]:
    """What opens triggers for these reasons: of the pathways that the case ever is in, and of all."""
    codes = (None, *(span.stage for span in view.history.spans))
    pathways = {one.code: one for code in codes if (one := view.history.pathway_of(code))}
    triggers = chain(view.rules.triggers, *(pathway.triggers for pathway in pathways.values()))
    matters = (matter for one in triggers if one.reason in reasons for matter in subjects(one.when))
    return chain.from_iterable(matters)


def nothing_opened(view: View) -> bool:
    """Whether no trigger is open, and no look of too early a day waits to be taken again."""
    return not any(course.opened or course.too_early for course in _courses(view))


def _as_flag(opened: Opened, entry: Entry, day: date) -> Screen:
    return Screen(
        id=entry.id,
        on=entry.on,
        recorded_at=entry.recorded_at,
        recorded_on=entry.recorded_on,
        author=entry.author,
        source=entry.source,
        item=opened.trigger.as_item or "",
        answer="yes",
        severity=opened.trigger.severity,
        note=opened.text(day),
    )


def look_again(view: View) -> list[tuple[str, str]]:
    """(what to look at again, when it was seen): findings of too early a day, not looked at since."""
    return [
        (_named(course.matter[0], view), f"last seen {words_date(look.on)}") for course, look, _ in _due(view)
    ]


def _looks_owed(view: View) -> list[ToAct]:
    """The same as findings to act on."""
    severity = view.rules["function.look_severity"]
    return [
        ToAct(
            course.trigger,
            severity,
            f"{_named(course.matter[0], view)}: last seen {words_date(look.on)}, look again",
            since,
            tuple(entry.id for entry in look.entries),
        )
        for course, look, since in _due(view)
    ]


def _named(condition: Condition, view: View) -> str:
    if condition.finding:
        return condition.finding
    return view.rules.measures[condition.measure].label if condition.measure else ""


def _due(view: View) -> Iterator[tuple[Course, Look, date]]:
    """Looks of too early a day for which the day has come from which one would count, and that day."""
    for course in _courses(view):
        look, first = course.too_early, course.trigger.found_from
        if look is None or first is None or not course.trigger.look_again:
            continue
        zero = day_zero(view, course.pathway, course.trigger.clock, look.on)
        since = zero.on + timedelta(days=first.whole) if zero else date.max
        if since <= view.today and _of_this_stage(view, course.trigger):
            yield course, look, since


# --- which of them are asked --------------------------------------------------------------------------------


def _of_this_stage(view: View, trigger: Trigger) -> bool:
    return not trigger.stages or (view.stage is not None and view.stage.code in trigger.stages)


@once_a_view
def _courses(view: View) -> list[Course]:
    """Every matter of every trigger, walked through once for the days that know the same entries."""
    key = ("triggers", view.pathway.code if view.pathway else None, known(view, *_READ))
    return view.history.once(key, lambda: list(_walked(view)))


def _walked(view: View) -> Iterator[Course]:
    for pathway, trigger, until in _asked(view):
        for matter in subjects(trigger.when):
            if any(ever_bad(view, condition) for condition in matter):
                yield Course(view, pathway, trigger, matter, until)


def _asked(view: View) -> list[tuple[Pathway | None, Trigger, date | None]]:
    """Triggers of the pathway, of all, and of those the case was in before: what opened there stays open."""
    own = [*(view.pathway.triggers if view.pathway else ()), *view.rules.triggers]
    found: list[tuple[Pathway | None, Trigger, date | None]] = [(view.pathway, one, None) for one in own]
    keys = {trigger.key for trigger in own}
    for pathway, until in _left(view):
        found += [(pathway, trigger, until) for trigger in pathway.triggers if trigger.key not in keys]
        keys |= {trigger.key for trigger in pathway.triggers}
    return found


def _left(view: View) -> Iterator[tuple[Pathway, date]]:
    """Other pathways this episode was in, the newest first, each with the day it was left."""
    start = view.episode_start
    for span in reversed(view.history.spans):
        pathway = view.history.pathway_of(span.stage)
        ended = span.end is not None and span.end <= view.today and (start is None or span.start >= start)
        if ended and span.end and pathway is not None and pathway is not view.pathway:
            yield pathway, span.end
