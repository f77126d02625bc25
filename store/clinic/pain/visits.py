"""Worse at visits: pain and waking as told, against the best of the same series (rulings 64, 94 and 95).

Not everybody keeps a diary. What is told at visits, each value beside the best one, shows who grows worse all
the same: at once by a large rise, by a smaller one when it is told twice.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import NamedTuple

from armrise.store.clinic.case.lazy import Lazy
from armrise.store.clinic.case.naming import covers, entries_about, known
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import END, Turns, first_ahead, next_of, next_placed, turns
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.creep import has_crept
from armrise.store.clinic.pain.flare import extra_waking
from armrise.store.clinic.pain.rises import (
    LETTERS,
    NIGHT,
    REST,
    USUAL_MORNING,
    Behind,
    Cause,
    Figures,
    Point,
    Series,
    by_day,
)
from armrise.store.clinic.pain.sustained import horizon
from armrise.store.clinic.pain.told_at_visits import all_points, series_start
from armrise.store.record.kinds.head import Entry
from armrise.store.record.words import plain, words_date

MATTER = "worse at visits"
"""What an entry names that answers it."""

_BOTH_HIGH = ("f", "")
_OF_A_FLARE = ("d", "e")
"""Causes that a flare not settling may say by its own (d) and (e): that one speaks then."""
_READ = (
    *("measures", "visits", "medicines", "onsets", "events", "steps"),
    *("reopenings", "discharges", "referrals", "decisions"),
)


class Rise(NamedTuple):
    """Worse at visits: severity 2 or 1, in words, since when (None: not to be told from the values alone)."""

    severity: int
    sentence: str
    since: date | None
    evidence: tuple[int, ...]
    causes: tuple[Cause, ...]

    @property
    def at_rest(self) -> bool:
        """True for causes (a), (b) and (f), of rest and night: the red-flag screen is asked again."""
        return _at_rest(self.causes)


def _at_rest(causes: Iterable[Cause]) -> bool:
    return any(letter in "abf" for letter, _ in causes)


def _causes(view: View) -> Iterable[Cause]:
    """The causes by which the reason is true, asked for neither words nor entries."""
    if view.span is None or view.closed:
        return ()
    causes = _course(view, frozenset()).causes(view.today)
    if _may_be_of_a_flare(causes):
        causes = _course(view, _flare_speaks(view)).causes(view.today)
    return causes


def is_worse_at_visits(view: View) -> bool:
    """Whether the reason is true."""
    return any(_causes(view))


def risen_at_rest(view: View) -> bool:
    """Whether it is by a cause of rest and night."""
    return _at_rest(_causes(view))


@once_a_view
def worse_at_visits(view: View) -> Rise | None:
    """The reason "worse at visits" on the view's date, in hand or not; None when it is not true."""
    if view.span is None or view.closed:
        return None
    found = _walked(view)
    if found is None or not _may_be_of_a_flare(found.causes):
        return found
    # What a flare said on earlier days is looked up there: only a look back tells since when this is true.
    spoken = _walked(view, _flare_speaks(view))
    return spoken._replace(since=None) if spoken else None


def _walked(view: View, silent: frozenset[str] = frozenset()) -> Rise | None:
    return _course(view, silent).rise(view.today)


def _course(view: View, silent: frozenset[str]) -> _Course:
    """The series walked through, once for every day that counts from the same start and knows no more.

    What is told later changes nothing that was true before, so that the longest walk serves earlier days too.
    """
    memo, key = view.history.memo, ("worse at visits", series_start(view), silent)
    course: _Course | None = memo.get(key)
    if course is None or (view.today > course.today and known(view, *_READ) != course.known):
        course = memo[key] = _Course(view, silent)
    return course


def _may_be_of_a_flare(causes: Iterable[Cause]) -> bool:
    return any(letter in _OF_A_FLARE for letter, _ in causes)


def _days_of_a_flare(view: View) -> list[date]:
    """Where a flare may say the same, every day is looked at: what it says can turn on any."""
    causes = _course(view, frozenset()).causes(view.today)
    return [view.today] if _may_be_of_a_flare(causes) else []


VISIT_TURNS = turns(*_READ, days=_days_of_a_flare)
"""When :func:`worse_at_visits` can turn."""


def _days_at_rest(view: View) -> list[date]:
    """The past days on which the values as such turned it, or may have left it to a flare to say; and the
    first visit of the episode and those that assessed an injury, from which values count."""
    visits, first = view.history.ordered("visits")[0], view.episode_first_visit
    assessed = view.history.once("assessed on", lambda: [v.on for v in visits if v.injury_assessed])
    days = [*_course(view, frozenset()).turned_at_rest, *assessed, *_days_of_a_flare(view)]
    return [*days, first] if first else days


AT_REST_TURNS = Turns(("steps", "discharges", "reopenings", "onsets", "events"), _days_at_rest)
"""When :func:`risen_at_rest` turned, looked at from the days that follow."""


def visits_until(view: View) -> date:
    """The first day after the view's date on which :func:`worse_at_visits` may be found otherwise.

    Asked first, it walks through all that the record holds: where nothing is true it begins on the first of
    the days ahead on which anything is.
    """
    start = series_start(view)
    far = view.history.on(END)
    if series_start(far) == start:
        _course(far, frozenset())
    if worse_at_visits(view):
        return VISIT_TURNS.following(view)
    course = _course(view, frozenset())
    moves = next_placed(view, "onsets", "events", *(("visits",) if view.upto("events") else ()))
    settled = (day for day in (start,) if day)
    ahead = course.true_after(view.today) if course.today == END else next_of(view, _READ)
    return min(moves, ahead, first_ahead(view, settled))


def may_show(view: View, letters: Collection[str]) -> bool:
    """Whether values of the record can make one of these causes true, on whatever day.

    Where they begin to count more than once, that is not looked into: they may.
    """
    begins_once = not any(view.history.ordered(name)[0] for name in ("reopenings", "events", "onsets"))
    far = view.history.on(END)
    once = begins_once and far.span is not None
    return not once or any(cause[0] in letters for cause, _ in _course(far, frozenset()).shown)


def shown_at_visits(view: View, letter: str) -> list[tuple[Entry, ...]]:
    """Each time that values told made a cause true, by those values, whatever became of it since."""
    if view.span is None:
        return []
    shown = _course(view, frozenset()).shown_by(view.today)
    return [behind.entries for cause, behind in shown if cause[0] == letter]


def _flare_speaks(view: View) -> frozenset[str]:
    said = zip(_OF_A_FLARE, (has_crept(view), extra_waking(view)), strict=True)
    view.sure(horizon(view))
    return frozenset(letter for letter, true in said if true)


# --- from the first value to the newest ---------------------------------------------------------------------


@dataclass(slots=True)
class _Stretch:
    """The days on which it has been true without a break: it stays true until every cause is back."""

    since: date
    severity: int = 0
    raised: dict[Cause, Point] = field(default_factory=dict[Cause, Point])
    """The newest value that made each cause true."""
    entries: dict[int, Entry] = field(default_factory=dict[int, Entry])
    taken: dict[Cause, tuple[list[Point], int]] = field(default_factory=dict[Cause, tuple[list[Point], int]])
    """How much of the run behind each cause stands in ``entries``."""

    def rest_on(self, cause: Cause, severity: int, behind: Behind) -> None:
        """A cause that the values ``behind`` it make true, once more or for the first time."""
        self.severity = max(self.severity, severity)
        self.raised[cause] = behind.last
        taken = self.taken.get(cause)
        goes_on = taken is not None and taken[0] is behind.run
        before = () if goes_on else (behind.first,)
        more = behind.run[taken[1] if taken and goes_on else 0 : behind.many]
        self.taken[cause] = (behind.run, behind.many)
        for point in (*before, *more, behind.last):
            for entry in point.entries:
                self.entries[entry.id] = entry


class _End(NamedTuple):
    """What was true at the end of one day."""

    stretch: _Stretch | None
    severity: int
    raised: dict[Cause, Point]
    """As the stretch had them then."""
    course: dict[str, tuple[Point | None, Point | None]]
    """The best and the newest value of each series."""
    entries: int
    """How many entries it rested on by then."""
    shown: int
    """How much had been shown by then."""


_NOTHING = _End(None, 0, {}, {}, 0, 0)


class _Course:
    """All series of a case walked through day by day, for what is true at the end of each."""

    def __init__(self, view: View, silent: frozenset[str]) -> None:
        self.view, self.rules, self.silent = view, view.rules, silent
        self.today, self.known = view.today, known(view, *_READ)
        self.series: dict[str, Series] = {}
        self.rest_on_day: dict[date, Point] = {}
        self.stretch: _Stretch | None = None
        self.shown: list[tuple[Cause, Behind]] = []
        self.days: list[date] = []
        """The days walked through."""
        self.ends: list[_End] = []
        self._walk()

    def rise(self, day: date) -> Rise | None:
        """What is true on ``day``."""
        end = self._end(day)
        return self._rise(end, end.stretch) if end.stretch else None

    def true_after(self, today: date) -> date:
        """The first day after ``today`` at whose end anything is true; the end of time without one."""
        at = bisect_right(self.days, today)
        ends = zip(self.days[at:], self.ends[at:], strict=True)
        return next((day for day, end in ends if end.stretch), date.max)

    def causes(self, day: date) -> Iterable[Cause]:
        """The causes of what is true on ``day``, in no order."""
        return self._end(day).raised

    @Lazy
    def turned_at_rest(self) -> list[date]:
        """The days on which the causes of rest and night began or ended, or those that a flare may say."""
        found, before = list[date](), (False, False)
        for day, end in zip(self.days, self.ends, strict=True):
            now = (_at_rest(end.raised), _may_be_of_a_flare(end.raised)) if end.raised else (False, False)
            if now != before:
                found.append(day)
            before = now
        return found

    def shown_by(self, day: date) -> list[tuple[Cause, Behind]]:
        """What was shown up to ``day``."""
        return self.shown[: self._end(day).shown]

    def _end(self, day: date) -> _End:
        at = bisect_right(self.days, day)
        return self.ends[at - 1] if at else _NOTHING

    def _walk(self) -> None:
        replies: dict[date, list[Entry]] = {}
        for reply in entries_about(self.view, MATTER):
            replies.setdefault(reply.on, []).append(reply)
        told: dict[date, dict[str, Point]] = {}
        every = all_points(self.view)
        if every:
            figures = Figures.of(self.rules)
            self.series = {name: Series(name, figures) for name in LETTERS}
        for name, found in every.items():
            for point in found:
                told.setdefault(point.on, {})[name] = point
        for day in sorted(told.keys() | replies.keys()) if replies else sorted(told):
            self._take(day, told.get(day, {}))
            if self.stretch and all(self._back(cause) for cause in self.stretch.raised):
                self.stretch = None
            for reply in replies.get(day, ()):
                self._answer(reply)
            self.days.append(day)
            self.ends.append(self._now())

    def _take(self, day: date, told: dict[str, Point]) -> None:
        """The values of one day, and what they make true."""
        for name, point in told.items():
            series = self.series[name]
            series.add(point)
            for cause, severity, behind in series.causes():
                self._raise(day, cause, severity, behind)
        if REST in told and NIGHT in told and self._high(rest := told[REST], night := told[NIGHT]):
            self.rest_on_day[day] = rest
            self._raise(day, _BOTH_HIGH, 2, Behind(rest, [], 0, night))

    def _high(self, rest: Point, night: Point) -> bool:
        """Cause (f): both figures reached on one date."""
        return rest.value >= self.rules["visit.high_rest"] and night.value >= self.rules["visit.high_night"]

    def _raise(self, day: date, cause: Cause, severity: int, behind: Behind) -> None:
        if cause[0] in self.silent:
            return
        self.shown.append((cause, behind))
        self.stretch = self.stretch or _Stretch(day)
        self.stretch.rest_on(cause, severity, behind)

    def _back(self, cause: Cause) -> bool:
        """Whether the newest value of a cause is back; what is masked ends nothing."""
        if cause == _BOTH_HIGH:
            rest, night = self.series[REST].newest, self.series[NIGHT].newest
            return _lower(rest, self.rules["visit.high_rest"]) or _lower(
                night, self.rules["visit.high_night"]
            )
        best, now = self.series[cause[1]].best, self.series[cause[1]].newest
        if best is None or now is None or now.masked:
            return False
        return now.value - best.value <= self.rules["visit.back_within"]

    def _answer(self, reply: Entry) -> None:
        """An entry that could know all of it ends it; the values so answered count as the best from then."""
        stretch = self.stretch
        if stretch is None or not covers(self.view, reply, stretch.entries.values()):
            return
        for cause in stretch.raised:
            for name in (REST, NIGHT) if cause == _BOTH_HIGH else (cause[1],):
                self.series[name].answer()
        self.stretch = None

    def _now(self) -> _End:
        """What is true after what was walked through so far."""
        stretch, shown = self.stretch, len(self.shown)
        if stretch is None:
            return _End(None, 0, {}, {}, 0, shown) if shown else _NOTHING
        course = {name: (one.best, one.newest) for name, one in self.series.items()}
        return _End(stretch, stretch.severity, {**stretch.raised}, course, len(stretch.entries), shown)

    # --- in words -------------------------------------------------------------------------------------------

    def _rise(self, end: _End, stretch: _Stretch) -> Rise:
        ids = tuple(sorted(islice(stretch.entries, end.entries)))
        words = "; ".join(self._words(end))
        return Rise(end.severity, words, stretch.since, ids, tuple(sorted(end.raised)))

    def _words(self, end: _End) -> list[str]:
        said: list[str] = []
        if high := end.raised.get(_BOTH_HIGH):
            rest = self.rest_on_day[high.on]
            said.append(f"rest pain {plain(rest.value)} and night pain {plain(high.value)} on one day")
        for name, (best, newest) in end.course.items():
            risen = [point for (_, of), point in end.raised.items() if of == name]
            if risen and best and newest:
                said.append(self._course_words(name, best, max(risen, key=by_day), newest))
        return said

    def _course_words(self, name: str, best: Point, risen: Point, newest: Point) -> str:
        """ "night pain 2 to 5 (best 2 on Fri 6 Feb)", and the newest value where it is another one."""
        label = "usual morning pain" if name == USUAL_MORNING else self.rules.measures[name].label
        now = f", now {plain(newest.value)}" if newest.value != risen.value else ""
        masked = " (may be masked)" if now and newest.masked else ""
        course = f"{label} {plain(best.value)} to {plain(risen.value)}{now}{masked}"
        return f"{course} (best {plain(best.value)} on {words_date(best.on)})"


def _lower(point: Point | None, high: int) -> bool:
    return point is not None and not point.masked and point.value < high
