"""How fresh the red-flag screen is: full screens, the one question, and when it is asked again (ruling 71).

A screen belongs to the person and grows old. The one question at every review keeps it fresh for a while; a
shoulder that grows worse is screened again, whatever was asked before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import (
    both,
    first_ahead,
    next_after,
    next_but_daily,
    next_placed,
    true_since,
)
from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.pain.visits import (
    AT_REST_TURNS,
    VISIT_TURNS,
    risen_at_rest,
    visits_until,
    worse_at_visits,
)
from armrise.store.clinic.pain.visits import MATTER as WORSE_AT_VISITS
from armrise.store.clinic.scores.worse import WORSE_TURNS, is_worse, worse
from armrise.store.record.case import oldest_age
from armrise.store.record.kinds.care import Contact, Visit
from armrise.store.record.kinds.safety import SCREEN_ITEMS, Screen, parts_of
from armrise.store.record.words import words_date

WORSE = "worse, or not responding"
QUESTION, IN_FULL = "red-flag question", "red-flag screen, in full"
"""What is missing where the screen is not fresh any more."""


class FullScreen(NamedTuple):
    """A screen with every item answered within a week, dated as the oldest of its answers."""

    on: date
    done: date
    """The day of its last answer."""
    recorded_at: datetime
    """When the last of it was recorded."""
    evidence: tuple[int, ...]


def owed_items(view: View, on: date) -> list[str]:
    """The items that a screen of the day ``on`` owes: those asked by then, of this age (ruling 85).

    An age nobody recorded is not young.
    """
    return view.history.once(("items owed", on), lambda: _owed_items(view, on))


def _owed_items(view: View, on: date) -> list[str]:
    items, age = view.rules.screen_items, oldest_age(view.record.age_band)
    return [
        name
        for name in SCREEN_ITEMS
        if (since := items[name].asked_from) is None or since <= on
        if (under := items[name].asked_under) is None or (age is not None and age < under)
    ]


# --- full screens -----------------------------------------------------------------------------------------


@once_a_view
def full_screens(view: View) -> list[FullScreen]:
    """Every full screen whose last answer had been given by the view's date, in the order of that."""
    every = view.history.once("full screens", lambda: _full_screens(view))
    return [one for one in every if one.done <= view.today]


def _full_screens(view: View) -> list[FullScreen]:
    within = timedelta(days=view.rules["screen.within_days"])
    answered: list[Screen] = [s for s in view.history.ordered("screens")[0] if s.answer != "not asked"]
    newest: dict[str, Screen] = {}
    found: list[FullScreen] = []
    for number, screen in enumerate(answered):
        newest |= dict.fromkeys(parts_of(screen.item), screen)
        if number + 1 < len(answered) and answered[number + 1].on == screen.on:
            continue
        parts = [newest.get(item) for item in owed_items(view, screen.on)]
        given = [one for one in parts if one is not None and one.on >= screen.on - within]
        if len(given) == len(parts):
            found.append(_as_full(given, screen.on))
    return found


def _as_full(given: Sequence[Screen], done: date) -> FullScreen:
    ids = tuple(sorted({one.id for one in given}))
    return FullScreen(min(one.on for one in given), done, max(one.recorded_at for one in given), ids)


@once_a_view
def newest_full(view: View) -> FullScreen | None:
    """The full screen of the latest date."""
    return max(full_screens(view), key=lambda one: one.on, default=None)


# --- fresh, or the question due ---------------------------------------------------------------------------


class Due(NamedTuple):
    """The screen is not fresh: what is missing, the last day it was, and what was asked when."""

    missing: str
    last_fresh: date
    observed: str
    evidence: tuple[int, ...]


@once_a_view
def question_due(view: View) -> Due | None:
    """What keeps the screen from being fresh; None while it is, and where no full screen was ever made."""
    full, last_fresh = newest_full(view), fresh_until(view)
    if full is None or last_fresh is None or last_fresh >= view.today:
        return None
    most = timedelta(days=view.rules["screen.full_days"])
    asked = [a for a in _told_nothing_new(view) if a.on <= full.on + most]
    missing = IN_FULL if view.today > full.on + most else QUESTION
    last = max(asked, key=lambda a: (a.on, a.recorded_at, a.id), default=None)
    said = f", nothing new on {words_date(last.on)}" if last and last.on > full.on else ", not asked since"
    observed = f"screened {words_date(full.on)}{said}"
    return Due(missing, last_fresh, observed, (*full.evidence, *([last.id] if last else [])))


def fresh_until(view: View) -> date | None:
    """The last day on which the screen is fresh; None where no full screen was ever made, or nobody asks."""
    full = newest_full(view)
    if full is None or view.closed or view.episode_first_visit is None:
        return None
    alone, most = (timedelta(days=view.rules[f"screen.{name}"]) for name in ("question_days", "full_days"))
    asked = [a for a in _told_nothing_new(view) if a.on <= full.on + most]
    return max([full.on + alone, *(min(full.on + most, a.on + alone) for a in asked)])


def question_until(view: View) -> date:
    """The first day after the view's date on which the question may have been due for too long, or not.

    Another answer puts it off: it counts where it is due already.
    """
    last = fresh_until(view)
    if last is None:
        return next_placed(view, "screens")
    late = last + timedelta(days=view.rules["screen.ask_after"]) + DAY
    ahead = first_ahead(view, (last + DAY, late))
    asked = view.history.once("days of asking", lambda: _days_of_asking(view.history))
    answer = next_after(view.today, asked) if late <= view.today else date.max
    return min(ahead, answer, next_placed(view, "screens"))


def _days_of_asking(history: History) -> list[date]:
    both = (entry for name in ("visits", "contacts") for entry in history.ordered(name)[0])
    return sorted({entry.on for entry in both if entry.anything_new == "no"})


def _told_nothing_new(view: View) -> list[Visit | Contact]:
    both: list[Visit | Contact] = [*view.upto("visits"), *view.upto("contacts")]
    return [entry for entry in both if entry.anything_new == "no"]


# --- asked again in full ----------------------------------------------------------------------------------


class Again(NamedTuple):
    """The full screen is owed again: since when, in words, and the entries that made it so."""

    since: date
    sentence: str
    evidence: tuple[int, ...]


@once_a_view
def screen_again(view: View) -> Again | None:
    """Worse by score, or pain at rest or night risen at visits, and no full screen since it came true.

    A decision ends those reasons and not this: it ends by a full screen, or once the value is back.
    """
    full = newest_full(view)
    if full is None or view.closed or view.span is None:
        return None
    undecided = _undecided(view)
    trouble = _trouble(undecided)
    if trouble is None:
        return None
    day = _in_trouble_since(undecided, full.on)
    return Again(day, f"red-flag screen again, in full: {trouble[0]}", trouble[1]) if day > full.on else None


def _in_trouble_since(view: View, first: date) -> date:
    """The first day of the unbroken stretch of trouble up to the view's date; not before ``first``.

    Each kind of trouble is followed back by turns of its own; where it began the other may go on.
    """
    looking = view
    while True:
        own = (WORSE_TURNS, is_worse) if is_worse(looking) else (AT_REST_TURNS, risen_at_rest)
        day = true_since(looking, own[0], first, own[1])
        if day <= first:
            return day
        looking = view.at(day - DAY)
        if not is_worse(looking) and not risen_at_rest(looking):
            return day


def again_until(view: View) -> date:
    """The first day after the view's date on which :func:`screen_again` may be found otherwise, but for the
    entries of screens and decisions."""
    undecided = _undecided(view)
    if is_worse(undecided) or risen_at_rest(undecided):
        return min(next_but_daily(view), AGAIN_TURNS.following(undecided))
    return min(WORSE_TURNS.following(undecided), visits_until(undecided))


AGAIN_TURNS = both(WORSE_TURNS, VISIT_TURNS)
"""When what asks for the screen again can turn."""


def _trouble(view: View) -> tuple[str, tuple[int, ...]] | None:
    """What asks for the screen again, in words, with its entries."""
    lost, risen = worse(view), worse_at_visits(view)
    at_rest = risen if risen and risen.at_rest else None
    named = [word for word, found in ((WORSE, lost), (WORSE_AT_VISITS, at_rest)) if found]
    ids = tuple(entry for found in (lost, at_rest) if found for entry in found.evidence)
    return ("; ".join(named), ids) if named else None


def _undecided(view: View) -> View:
    """The same case without the decisions that answer a reason."""

    def without() -> History | None:
        record = view.record
        decided = [e for e in (*record.decisions, *record.referrals) if e.about == WORSE_AT_VISITS]
        if not decided and not any(v.decision for v in record.visits):
            return None
        visits = tuple(replace(v, decision=False) for v in record.visits)
        bare = replace(record, decisions=(), referrals=(), visits=visits)
        return History(bare, view.rules)

    undecided = view.history.once("undecided", without)
    return undecided.on(view.today) if undecided else view
