"""Worse at visits: pain and waking as told, against the best of the same series (rulings 64, 94 and 95).

Not everybody keeps a diary. What is told at visits, each value beside the best one, shows who grows worse all
the same: at once by a large rise, by a smaller one when it is told twice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby, islice
from typing import NamedTuple

from armrise.store.clinic.case.naming import covers, entries_about, known, tissue_onsets
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import END, first_ahead, next_of, next_placed, turns
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.creep import has_crept
from armrise.store.clinic.pain.flare import extra_waking
from armrise.store.clinic.pain.masking import mask_days
from armrise.store.clinic.pain.rises import (
    LETTERS,
    NIGHT,
    REST,
    USUAL_MORNING,
    Behind,
    Cause,
    Point,
    Series,
    by_day,
    least_asked,
    true_causes,
)
from armrise.store.clinic.pain.sustained import horizon
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


def risen_at_rest(view: View) -> bool:
    """Whether the reason is true by one of these causes, asked for neither words nor entries."""
    if view.span is None or view.closed:
        return False
    causes = _course(view, frozenset()).causes(view.today)
    if _may_be_of_a_flare(causes):
        causes = _course(view, _flare_speaks(view)).causes(view.today)
    return _at_rest(causes)


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
    """Whether values of the record can make one of these causes true, on whatever day."""
    begins_once = not any(view.history.ordered(name)[0] for name in ("reopenings", "events", "onsets"))
    far = view.history.on(END)
    if begins_once and far.span is not None:
        return any(cause[0] in letters for cause, _ in _course(far, frozenset()).shown)
    return any(told for told, _ in view.history.once("told at visits", lambda: _told(view)).values())


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


# --- the series ---------------------------------------------------------------------------------------------


@once_a_view
def series_start(view: View) -> date | None:
    """First day whose values count: first visit, reopening, visit that assessed an injury, tissue settled."""
    settle, events = timedelta(days=view.rules["visit.settle_days"]), view.upto("events")
    assessed = [v for v in view.upto("visits") if v.injury_assessed] if events else []
    starts = [view.episode_first_visit, *(r.on for r in view.upto("reopenings"))]
    starts += [o.on + settle for o in tissue_onsets(view)]
    for event in events:
        starts.append(next((v.on for v in assessed if view.answers(v, event)), None))
    return max((day for day in starts if day), default=None)


def _all_points(view: View) -> dict[str, list[Point]]:
    """Each series from its start on, oldest first; of two values of a date the higher."""
    start, spans = series_start(view), _masked_spans(view)
    if start is None:
        return {}
    found: dict[str, list[Point]] = {}
    for name, (told, dates) in view.history.once("told at visits", lambda: _told(view)).items():
        those = told[bisect_left(dates, start) : bisect_right(dates, view.today)]
        found[name] = [_worst(day, list(same), spans) for day, same in groupby(those, key=_dated)]
    return found


Told = tuple[Decimal, Entry]
"""A value and the entry that told it."""


def _told(view: View) -> dict[str, tuple[list[Told], list[date]]]:
    """The values of each series over the whole history, oldest first, with their dates."""
    told: dict[str, list[Told]] = {name: [] for name in LETTERS}
    for m in view.history.ordered("measures")[0]:
        if m.name in told and m.real and m.side in (None, view.record.side):
            told[m.name].append((m.value, m))
    for v in view.history.ordered("visits")[0]:
        if v.usual_morning is not None:
            told[USUAL_MORNING].append((Decimal(v.usual_morning), v))
    told[USUAL_MORNING].sort(key=_dated)
    return {name: (found, [entry.on for _, entry in found]) for name, found in told.items()}


def _dated(told: Told) -> date:
    return told[1].on


def _worst(day: date, told: list[Told], spans: list[tuple[date, date]]) -> Point:
    worst, entry = told[0]
    entries: tuple[Entry, ...] = (entry,)
    if len(told) > 1:
        worst = max(value for value, _ in told)
        entries = tuple(entry for value, entry in told if value == worst)
    return Point(day, worst, entries, any(first <= day <= last for first, last in spans))


def _masked_spans(view: View) -> list[tuple[date, date]]:
    """First and last day of each masking: from the day after the medicine on (ruling 94, here only)."""
    known_days = [(m.on, mask_days(view.rules, m)) for m in view.upto("medicines")]
    return [(on + timedelta(days=1), on + timedelta(days=days)) for on, days in known_days if days]


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
        run, count = self.taken.get(cause, (behind.run, 0))
        more = behind.run[count if run is behind.run else 0 : behind.many]
        self.taken[cause] = (behind.run, behind.many)
        for point in (behind.first, *more, behind.last):
            self.entries |= {entry.id: entry for entry in point.entries}


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
        self.series = {name: Series(least_asked(view.rules)) for name in LETTERS}
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
        for name, found in _all_points(self.view).items():
            for point in found:
                told.setdefault(point.on, {})[name] = point
        for day in sorted({*told, *replies}):
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
            for cause, severity, behind in true_causes(self.rules, name, series):
                self._raise(day, cause, severity, behind)
        rest, night = told.get(REST), told.get(NIGHT)
        if rest and night and self._high(rest, night):
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
            return _NOTHING._replace(shown=shown)
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
