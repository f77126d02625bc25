"""Red flags, new injuries, and answers that are missing. A screen is a prompt and never a rule-out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from armrise.store.clinic.case.view import View, answers
from armrise.store.record.kinds.safety import (
    ADDED_SCREEN_ITEMS,
    Event,
    FlagOutcome,
    Screen,
    asked_of,
    parts_of,
)

SERIOUS_EVENTS = ("dislocation", "slipped out of joint", "sudden loss of active lift")


def severity_of(view: View, flag: Screen) -> int:
    """3 same day, 2 urgent, 1 soon or query: as recorded, else the item's default in the rule file."""
    if flag.severity is not None:
        return flag.severity
    default = view.rules.screen_severity.get(flag.item)
    return default.whole if default else 3


def severity_mark(view: View, flags: Sequence[Screen]) -> str:
    """ " (from memory)" where the urgency of the most urgent flag is that of the rule file, from memory."""
    worst = max((severity_of(view, flag) for flag in flags), default=0)
    most = [flag for flag in flags if severity_of(view, flag) == worst]
    if any(flag.severity is not None for flag in most):
        return ""
    marks = [figure.mark if (figure := view.rules.screen_severity.get(f.item)) else "" for f in most]
    return marks[0] if all(marks) and marks else ""


def open_flags(view: View) -> list[Screen]:
    """Possible red flags without a recorded outcome, oldest first."""
    outcomes: list[FlagOutcome] = view.upto("flag_outcomes")

    def answered(flag: Screen) -> bool:
        return any(o.item in ("all", flag.item) and answers(o, flag) for o in outcomes)

    return [s for s in view.upto("screens") if s.answer == "yes" and not answered(s)]


def screen_open(view: View) -> bool:
    """True while any possible red flag has no outcome."""
    return bool(open_flags(view))


def open_events(view: View) -> list[Event]:
    """New injuries and instability events that no visit has assessed yet, oldest first."""
    assessed = [v for v in view.upto("visits") if v.injury_assessed]
    return [e for e in view.upto("events") if not any(answers(v, e) for v in assessed)]


def event_severity(event: Event) -> int:
    """2 for a dislocation or a sudden loss of active lift, 1 for anything else."""
    return 2 if event.event in SERIOUS_EVENTS else 1


def _required_since(view: View) -> tuple[date, date | None]:
    """(answers must be dated from, the lack counts from): first visit, reopening or assessed injury."""
    first = view.first_visit
    start = view.episode_start or view.record.registered_on
    if view.record.linked:
        # A person is screened once for both shoulders, if it was not long before.
        start -= timedelta(days=view.rules["screen.shared_days"])
    since, counts = min(start, first) if first else start, first
    for reopened in view.upto("reopenings"):
        since = counts = reopened.on
    assessed = [v for v in view.upto("visits") if v.injury_assessed]
    for event in view.upto("events"):
        visit = next((v for v in assessed if answers(v, event)), None)
        if visit and event.on > since:
            since, counts = event.on, visit.on
    return since, counts


def _screen_answers(view: View) -> dict[str, str]:
    """The newest answer per item of the screen since it had to be asked; "not asked" answers nothing."""
    since, _ = _required_since(view)
    answered: dict[str, str] = {}
    for screen in view.since("screens", since):
        if screen.answer != "not asked":
            for item in parts_of(screen.item):
                answered[item] = screen.answer
    return answered


def _owed(view: View) -> list[str]:
    """The items that a screen owes: those added last are asked, and owed by no screen yet."""
    return [item for item in asked_of(view.record.age_band) if item not in ADDED_SCREEN_ITEMS]


def screen_unanswered(view: View) -> list[str]:
    """Items of the screen nobody has asked since it had to be asked (declined was asked)."""
    answered = _screen_answers(view)
    return [i for i in _owed(view) if i not in answered]


def screen_declined(view: View) -> list[str]:
    """Items the patient declined to answer: asked, but no answer to rest on."""
    answered = _screen_answers(view)
    return [i for i in asked_of(view.record.age_band) if answered.get(i) == "declined"]


@dataclass(frozen=True, slots=True)
class SafetyGap:
    """Safety answers missing, since when, in words."""

    since: date
    sentence: str


def safety_gap(view: View) -> SafetyGap | None:
    """Screen items not asked after the first visit or an assessed injury, or no surgeon's orders."""
    if view.closed or view.first_visit is None:
        return None
    gaps: list[tuple[date, str]] = []
    left = screen_unanswered(view)
    _, counts = _required_since(view)
    if left and counts:
        more = f" and {len(left) - 2} more" if len(left) > 2 else ""
        some = f"not asked: {'; '.join(left[:2])}{more}"
        gaps.append((counts, "red-flag screen not asked" if left == _owed(view) else some))
    if orders_missing(view):
        gaps.append((view.first_visit, "no surgeon's orders recorded"))
    if not gaps:
        return None
    return SafetyGap(min(since for since, _ in gaps), "; ".join(what for _, what in gaps))


def orders_missing(view: View) -> bool:
    """True where the pathway needs the surgeon's orders and none are recorded."""
    return bool(view.pathway and view.pathway.needs_orders and not view.orders_on(view.today))
