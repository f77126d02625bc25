"""Red flags, new injuries, and answers that are missing. A screen is a prompt and never a rule-out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.evidence import together
from armrise.store.clinic.case.naming import covers
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import (
    DAILY,
    PLACED,
    both,
    first_ahead,
    next_after,
    next_bearing,
    next_but_daily,
    next_of,
    turns,
)
from armrise.store.clinic.case.view import History, View, newest
from armrise.store.clinic.findings.contradicted import contradicted, may_contradict
from armrise.store.clinic.findings.triggers import FOUND_TURNS, found_flags, may_flag
from armrise.store.clinic.healing.healing import clocks_elsewhere, limit_turns
from armrise.store.clinic.healing.other_clock import NO_FIT
from armrise.store.clinic.pain.visits import VISIT_TURNS, worse_at_visits
from armrise.store.clinic.verdict.freshness import again_until, full_screens, owed_items, screen_again
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.head import REPORTED, Entry
from armrise.store.record.kinds.safety import NOT_NAMED, Event, FlagOutcome, Screen, asked_of, parts_of
from armrise.store.rules.red_flag import Raised

SERIOUS_EVENTS = ("dislocation", "slipped out of joint", "sudden loss of active lift")


def severity_of(view: View, flag: Screen) -> int:
    """3 same day, 2 urgent, 1 soon or query: as recorded, else the item's default in the rule file.

    Where another item or pain at visits raises the item (ruling 85), never less than that.
    """
    item = view.rules.screen_items.get(flag.item)
    stated = flag.severity if flag.severity is not None else item.severity if item else 3
    raised = item.raised if item else None
    return max(stated, raised.severity) if raised and _raised(view, raised) else stated


def _raised(view: View, raised: Raised) -> bool:
    if raised.item is not None and any(flag.item == raised.item for flag in open_flags(view)):
        return True
    risen = worse_at_visits(view) if raised.visit_causes else None
    return risen is not None and any(letter in raised.visit_causes for letter, _ in risen.causes)


def severity_mark(view: View, flags: Sequence[Screen]) -> str:
    """ " (from memory)" where the urgency of the most urgent flag is that of the rule file, from memory."""
    worst = max((severity_of(view, flag) for flag in flags), default=0)
    most = [flag for flag in flags if severity_of(view, flag) == worst]
    if any(flag.severity is not None for flag in most):
        return ""
    marks = [figure.mark if (figure := view.rules.screen_severity.get(f.item)) else "" for f in most]
    return marks[0] if all(marks) and marks else ""


@once_a_view
def open_flags(view: View) -> list[Screen]:
    """Possible red flags without a recorded outcome, oldest first: answered "yes", or found (ruling 66)."""
    outcomes: list[FlagOutcome] = view.upto("flag_outcomes")

    def answered(flag: Screen) -> bool:
        return any(o.item in ("all", flag.item) and view.answers(o, flag) for o in outcomes)

    told = [s for s in view.upto("screens") if s.answer == "yes"] + _not_named(view)
    left = [flag for flag in told if not answered(flag)]
    return sorted([*left, *found_flags(view)], key=lambda flag: (flag.on, flag.recorded_at, flag.id))


@once_a_view
def _not_named(view: View) -> list[Screen]:
    """A "yes" to the one question that nothing has named since (rulings 71 and 94), as a flag of its own.

    Named by a "yes" of the list or an event within the days of the rule file; ended by a full screen of a
    later day. What was recorded before the "yes" names and ends nothing.
    """
    within = timedelta(days=view.rules["screen.within_days"])
    named: list[Entry] = [s for s in view.upto("screens") if s.answer == "yes"]
    named += view.upto("events")

    def over(news: Entry) -> bool:
        by_name = (e for e in named if news.on <= e.on <= news.on + within)
        if any(covers(view, e, [news]) for e in by_name):
            return True
        full = (f for f in full_screens(view) if f.on > news.on and f.recorded_at >= news.recorded_at)
        return any(all(view.record.could_see(entry, news.id) for entry in f.evidence) for f in full)

    told = (e for name in ("visits", "contacts") for e in view.upto(name) if e.anything_new == "yes")
    return [_as_flag(news) for news in told if not over(news)]


def _as_flag(news: Entry) -> Screen:
    return Screen(
        id=news.id,
        on=news.on,
        recorded_at=news.recorded_at,
        recorded_on=news.recorded_on,
        author=news.author,
        source=REPORTED,
        item=NOT_NAMED,
        answer="yes",
    )


FLAG_TURNS = both(turns("screens", "contacts", "events", "flag_outcomes"), FOUND_TURNS, VISIT_TURNS)
"""When :func:`open_flags` and their urgency can turn."""


def flags_until(view: View) -> date:
    """The first day after the view's date on which :func:`open_flags` or their urgency may be otherwise.

    Where none is open one begins by an answer, or by what is found where the record ever holds that.
    """
    if may_flag(view) or open_flags(view):
        return FLAG_TURNS.following(view)
    return next_after(view.today, view.history.once("days of flags", lambda: _days_of_flags(view.history)))


def _days_of_flags(history: History) -> list[date]:
    said = [s.on for s in history.ordered("screens")[0] if s.answer == "yes"]
    told = (e for name in ("visits", "contacts") for e in history.ordered(name)[0])
    return sorted([*said, *(entry.on for entry in told if entry.anything_new == "yes")])


def screen_open(view: View) -> bool:
    """True while any possible red flag has no outcome."""
    return bool(open_flags(view))


@once_a_view
def open_events(view: View) -> list[Event]:
    """New injuries and instability events that no visit has assessed yet, oldest first."""
    assessed = [v for v in view.upto("visits") if v.injury_assessed]
    return [e for e in view.upto("events") if not any(view.answers(v, e) for v in assessed)]


EVENT_TURNS = turns("events")
"""When :func:`open_events` can turn: by entries alone."""


def events_until(view: View) -> date:
    """The first day after the view's date on which :func:`open_events` may be otherwise."""
    return EVENT_TURNS.following(view) if open_events(view) else next_of(view, (*PLACED, "events"))


def event_severity(event: Event) -> int:
    """2 for a dislocation or a sudden loss of active lift, 1 for anything else."""
    return 2 if event.event in SERIOUS_EVENTS else 1


class _Occasion(NamedTuple):
    """An occasion to ask the whole screen: answers count from one date, the lack of them from another."""

    answers_from: date
    lack_from: date | None
    evidence: tuple[int, ...]


@once_a_view
def _occasions(view: View) -> list[_Occasion]:
    """First visit or newest reopening, then every injury that was assessed, oldest first."""
    occasions = [_first_occasion(view)]
    assessed = [v for v in view.upto("visits") if v.injury_assessed]
    for event in view.upto("events"):
        visit = next((v for v in assessed if view.answers(v, event)), None)
        if visit and event.on > occasions[-1].answers_from:
            occasions.append(_Occasion(event.on, visit.on, (event.id, visit.id)))
    return occasions


def _first_occasion(view: View) -> _Occasion:
    if reopened := view.upto("reopenings"):
        return _Occasion(reopened[-1].on, reopened[-1].on, (reopened[-1].id,))
    start, visits = view.record.registered_on, view.upto("visits")
    if view.record.linked:
        # A person is screened once for both shoulders, if it was not long before.
        start -= timedelta(days=view.rules["screen.shared_days"])
    if not visits:
        return _Occasion(start, None, ())
    return _Occasion(min(start, visits[0].on), visits[0].on, (visits[0].id,))


def _screen_answers(view: View, since: date) -> dict[str, str]:
    """The newest answer per item of the screen from ``since`` on; "not asked" answers nothing."""
    answered: dict[str, str] = {}
    for screen in view.since("screens", since):
        if screen.answer != "not asked":
            for item in parts_of(screen.item):
                answered[item] = screen.answer
    return answered


def screen_unanswered(view: View) -> list[str]:
    """Items of the screen nobody has asked since it had to be asked (declined was asked)."""
    return _left(view, _occasions(view)[-1])


def _left(view: View, occasion: _Occasion) -> list[str]:
    answered = _screen_answers(view, occasion.answers_from)
    return [i for i in owed_items(view, occasion.lack_from or view.today) if i not in answered]


def screen_declined(view: View) -> list[str]:
    """Items the patient declined to answer: asked, but no answer to rest on."""
    answered = _screen_answers(view, _occasions(view)[-1].answers_from)
    return [i for i in asked_of(view.record.age_band) if answered.get(i) == "declined"]


class SafetyGap(NamedTuple):
    """Safety answers missing, since when, in words."""

    since: date
    sentence: str
    evidence: tuple[int, ...]
    """What made the answers owed: visits, a reopening, injuries, the surgery."""


def safety_gap(view: View) -> SafetyGap | None:
    """Screen items not asked, or answered against a finding; no surgeon's orders; a healing date that does
    not fit the pathway."""
    if view.closed or view.episode_first_visit is None:
        return None
    gaps = [gap for gap in (_screen_gap(view), _again_gap(view), _orders_gap(view)) if gap]
    gaps += [SafetyGap(c.since, c.sentence, c.evidence) for c in contradicted(view)]
    gaps += _clock_gaps(view)
    whole = together(gaps)
    if whole is None:
        return None
    return whole._replace(since=min(g.since for g in gaps), sentence="; ".join(g.sentence for g in gaps))


def gaps_until(view: View) -> date:
    """The first day after the view's date on which :func:`safety_gap` may be found otherwise.

    Most visits, values and scores bear on nothing of it, where the shoulder grows no worse and nothing speaks
    against an answer.
    """
    begun: list[Entry] = [*view.upto("onsets"), *view.upto("events")]
    days = min(next_after(view.today, limit_turns(view)), first_ahead(view, (e.recorded_on for e in begun)))
    told = min(next_bearing(view), next_of(view, _GAPS_READ))
    return min(days, again_until(view), next_but_daily(view) if may_contradict(view) else told)


_GAPS_READ = tuple(
    name for name in FIELD_OF_KIND.values() if name not in (*DAILY, "visits", "measures", "scores")
)


def _screen_gap(view: View) -> SafetyGap | None:
    """Counted from the first occasion whose answers are still owed: a later one does not make it younger."""
    occasions = _occasions(view)
    left = _left(view, occasions[-1])
    owed = [o for o in occasions if o.lack_from and _left(view, o)]
    never = not owed and not full_screens(view)
    if never:
        # Answers spread over weeks are no full screen, and without one nothing is fresh (ruling 94).
        owed = [o for o in occasions if o.lack_from]
    since = min((o.lack_from for o in owed if o.lack_from), default=None)
    if since is None:
        return None
    more = f" and {len(left) - 2} more" if len(left) > 2 else ""
    some = f"not asked: {'; '.join(left[:2])}{more}"
    whole = owed_items(view, occasions[-1].lack_from or view.today)
    words = "red-flag screen never asked in full" if never else some
    words = "red-flag screen not asked" if left == whole else words
    return SafetyGap(since, words, tuple(entry for o in owed for entry in o.evidence))


def _again_gap(view: View) -> SafetyGap | None:
    again = screen_again(view)
    return SafetyGap(again.since, again.sentence, again.evidence) if again else None


def _orders_gap(view: View) -> SafetyGap | None:
    """Counted from the first visit after the surgery (ruling 22); without one, from the surgery."""
    if not orders_missing(view):
        return None
    onset = view.onset()
    start = max([d for d in (view.segment_start, onset.on if onset else None) if d], default=None)
    seen = view.since("visits", start)
    since = seen[0].on if seen else start
    owed_by = onset or newest(seen)
    if since is None:
        return None
    return SafetyGap(since, "no surgeon's orders recorded", (owed_by.id,) if owed_by else ())


def _clock_gaps(view: View) -> list[SafetyGap]:
    """An onset that the pathway does not count from, since it was recorded (ruling 69)."""
    others = clocks_elsewhere(view, view.today)
    return [
        SafetyGap(other.onset.recorded_on, f"{NO_FIT}: {other.words(view.today)}", (other.onset.id,))
        for other in others
        if other.onset.recorded_on <= view.today
    ]


def orders_missing(view: View) -> bool:
    """True where the pathway needs the surgeon's orders and none are recorded."""
    return bool(view.pathway and view.pathway.needs_orders and not view.orders_on(view.today))
