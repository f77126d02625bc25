"""Sessions done of sessions asked, and hardly anything done (ruling 76 with 94 and 95).

Counted where each week holds a session, else as told; what is told never stands over what is counted. An
exercise counts from its first whole week on, and anew from any change of how often it is asked for.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

from armrise.store.clinic.case.naming import covers, entries_about
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import DAY, View, newest
from armrise.store.clinic.healing.breaches import versions_in_force
from armrise.store.clinic.motion import motion
from armrise.store.clinic.time.clocks import pauses
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import PeriodSummary, Session
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.words import count_days

WEEK = 7
MATTER = "seldom done"
"""What an entry names that answers it."""
_WORDS = "seldom done or seldom recorded"


class Adherence(NamedTuple):
    """What was done of what was asked, per cent from 0 to 100, rounded down; up to when, and in words."""

    percent: int
    on: date
    told: bool
    words: str


class Seldom(NamedTuple):
    """Hardly anything done: 100 less the per cent, in words, since when where a period told it."""

    severity: int
    sentence: str
    since: date | None
    evidence: tuple[int, ...]


class _Item(NamedTuple):
    """One exercise asked for so often a week, since the day on which that was last changed."""

    exercise: str
    per_week: int
    since: date
    entry_id: int

    @property
    def a_day(self) -> int:
        """How often a day it is asked for."""
        return max(1, -(-self.per_week // WEEK))

    def done(self, week: list[Session]) -> int:
        """How often it was done in a week, never more than asked."""
        days = [[s for s in week if s.on == on] for on in {s.on for s in week}]
        return min(self.per_week, sum(min(self.a_day, _times(self, day)) for day in days))


def _times(item: _Item, day: list[Session]) -> int:
    """How often the sessions of one date hold an exercise; one without its exercises holds all.

    The only session of a date of which nobody said how often stands for as often as asked.
    """
    alone = item.a_day if len(day) == 1 else 1
    with_it = (
        s for s in day if not s.items or any(i.exercise == item.exercise and i.sets != 0 for i in s.items)
    )
    return sum(alone if s.times is None else s.times for s in with_it)


@once_a_view
def _asked(view: View) -> list[_Item]:
    """Each exercise of today's programme that is asked for so often a week."""
    found: list[_Item] = []
    for versions in versions_in_force(view):
        now = versions[-1]
        if now.per_week is not None:
            found.append(_Item(now.exercise, now.per_week, _changed(versions), now.id))
    return found


def _changed(versions: list[ProgrammeItem]) -> date:
    """The day from which the newest frequency has held without a break."""
    since = versions[-1].on
    for version in reversed(versions):
        if version.per_week != versions[-1].per_week:
            break
        since = version.on
    return since


def _week(view: View, last: date) -> list[Session]:
    """The sessions of the seven days up to ``last``."""
    first = last - (WEEK - 1) * DAY
    return [s for s in view.since("sessions", first) if s.on <= last]


def _weeks(view: View, count: int) -> list[tuple[date, list[Session]]]:
    """The first day and the sessions of each of the newest weeks, the newest first.

    None at all where one of them holds no session: who records one a visit keeps no diary to count in.
    """
    ends = [view.today - timedelta(days=WEEK * back) for back in range(count)]
    weeks = [(end - (WEEK - 1) * DAY, _week(view, end)) for end in ends]
    least = view.rules["adherence.sessions_least"]
    return weeks if all(len(sessions) >= least for _, sessions in weeks) else []


# --- adherence ------------------------------------------------------------------------------------------


def adherence(view: View) -> Adherence | None:
    """Adherence on the view's date, None where nothing was recorded or told that counts still."""
    return _counted(view) or _told(view)


def _counted(view: View) -> Adherence | None:
    weeks = _weeks(view, view.rules["adherence.window_days"] // WEEK)
    shares: list[Fraction] = []
    for item in _asked(view):
        whole = [sessions for first, sessions in weeks if item.since <= first]
        if whole:
            done = sum(item.done(sessions) for sessions in whole)
            shares.append(Fraction(done, item.per_week * len(whole)))
    if not shares:
        return None
    days = {s.on for _, sessions in weeks for s in sessions}
    words = f"{len(days)} in {count_days(WEEK * len(weeks))}"
    return Adherence(int(sum(shares) * 100 / len(shares)), max(days), False, words)


def _told(view: View) -> Adherence | None:
    """The newest percentage or period told; of one date the lower."""
    rules, found = view.rules, list[Adherence]()
    measured: Measure | None = newest(motion.values(view, "adherence"))
    if measured and (view.today - measured.on).days <= rules["adherence.told_days"]:
        percent = int(motion.number(measured))
        found.append(Adherence(percent, measured.on, True, f"{percent} per cent, as told"))
    summed = _summed(view)
    if summed:
        found.append(Adherence(_percent(summed), summed.on, True, _days_told(summed)))
    return max(found, key=lambda told: (told.on, -told.percent), default=None)


def _summed(view: View) -> PeriodSummary | None:
    """The newest period of which days done and asked were told, while it counts."""
    told: list[PeriodSummary] = view.since("summaries", view.segment_start)
    last = newest([s for s in told if s.days_asked and s.days_done is not None])
    recent = last is not None and (view.today - last.on).days <= view.rules["adherence.summary_days"]
    return last if recent else None


def _percent(told: PeriodSummary) -> int:
    return 100 * (told.days_done or 0) // (told.days_asked or 1)


def _days_told(told: PeriodSummary) -> str:
    return f"{told.days_done} of {count_days(told.days_asked or 0)}, as told"


# --- seldom done ----------------------------------------------------------------------------------------


@once_a_view
def seldom_done(view: View) -> Seldom | None:
    """The reason "seldom done" on the view's date, in hand or not; None when it is not true."""
    if view.closed or view.span is None or _spoken_of(view):
        return None
    weeks = _weeks(view, view.rules["adherence.weeks"])
    return _seldom_counted(view, weeks) if weeks else _seldom_told(view)


def seldom_until(view: View) -> date:
    """The first day after the view's date on which :func:`seldom_done` may be found otherwise: never where
    nobody was asked how often, and nothing was told of a period."""

    def asked() -> bool:
        programme = view.history.ordered("programme")[0]
        return bool(view.history.ordered("summaries")[0]) or any(i.per_week is not None for i in programme)

    return view.today + DAY if view.history.once("asked how often", asked) else date.max


def _spoken_of(view: View) -> bool:
    first = view.today - timedelta(days=view.rules["adherence.answer_days"] - 1)
    return any(entry.on >= first for entry in entries_about(view, MATTER))


def _on_hold(view: View, first: date, last: date) -> bool:
    return any(pause.start <= last and pause.end > first for pause in pauses(view))


def _seldom_counted(view: View, weeks: list[tuple[date, list[Session]]]) -> Seldom | None:
    """Every exercise asked for all the time, below the figure in each week; the lowest is named."""
    first = weeks[-1][0]
    items = [item for item in _asked(view) if item.since <= first]
    low = view.rules["adherence.low_percent"]
    if not items or _on_hold(view, first, view.today):
        return None
    done = {item: [item.done(sessions) for _, sessions in weeks] for item in items}
    if any(count * 100 >= low * item.per_week for item, counts in done.items() for count in counts):
        return None
    lowest = min(items, key=lambda item: (Fraction(sum(done[item]), item.per_week), item.exercise))
    count, asked = sum(done[lowest]), lowest.per_week * len(weeks)
    words = f"{_WORDS}: {count} of {asked} asked in {_number(len(weeks))} weeks ({lowest.exercise})"
    return Seldom(100 - 100 * count // asked, words, None, tuple(item.entry_id for item in items))


def _number(count: int) -> str:
    return "two" if count == 2 else str(count)


def _seldom_told(view: View) -> Seldom | None:
    """A long enough period told with less than the figure, until a week is counted or less is asked."""
    rules, told = view.rules, _summed(view)
    if told is None or told.days < rules["adherence.summary_least"]:
        return None
    percent = _percent(told)
    if percent >= rules["adherence.low_told"] or _on_hold(view, told.since, told.on):
        return None
    if _asked_less(view, told) or _some_week_enough(view, told.on):
        return None
    return Seldom(100 - percent, f"{_WORDS}: {_days_told(told)}", told.on, (told.id,))


def _asked_less(view: View, told: PeriodSummary) -> bool:
    """Whether an exercise was asked for less often, or taken out, since a period was told."""
    before: dict[str, ProgrammeItem] = {}
    for item in view.upto("programme"):
        was = before.get(item.exercise)
        before[item.exercise] = item
        if was is None or was.stopped is not None or not covers(view, item, [told]):
            continue
        if item.stopped is not None or (was.per_week and item.per_week and item.per_week < was.per_week):
            return True
    return False


def _some_week_enough(view: View, after: date) -> bool:
    """Whether in some whole week after a day an exercise was done often enough, as recorded."""
    low, last = view.rules["adherence.low_percent"], after + WEEK * DAY
    while last <= view.today:
        first, sessions = last - (WEEK - 1) * DAY, _week(view, last)
        items = [item for item in _asked(view) if item.since <= first]
        if any(item.done(sessions) * 100 >= low * item.per_week for item in items):
            return True
        last += DAY
    return False
