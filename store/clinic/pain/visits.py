"""Worse at visits: pain and waking as told, against the best of the same series (rulings 64, 94 and 95).

Not everybody keeps a diary. What is told at visits, each value beside the best one, shows who grows worse all
the same: at once by a large rise, by a smaller one when it is told twice.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.case.naming import covers, entries_about, known, tissue_onsets
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import turns
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.masking import mask_days
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import Entry
from armrise.store.record.words import plain, words_date
from armrise.store.rules.pathway import Rules

MATTER = "worse at visits"
"""What an entry names that answers it."""

USUAL_MORNING = "usual_morning"
REST, NIGHT = "rest_pain", "night_pain"
_LETTERS = {REST: "ab", NIGHT: "ab", "worst_pain": "c", USUAL_MORNING: "d", "night_waking": "e"}
"""The series in the order they are printed, and the causes each can give."""
_BOTH_HIGH = ("f", "")
_OF_A_FLARE = ("d", "e")
"""Causes that a flare not settling may say by its own (d) and (e): that one speaks then."""
_READ = (
    *("measures", "visits", "medicines", "onsets", "events", "steps"),
    *("reopenings", "discharges", "referrals", "decisions"),
)

Cause = tuple[str, str]
"""The letter of the ruling and the series; (f) is of two series and names none."""


@dataclass(frozen=True, slots=True)
class Point:
    """The worst value of one series on one date."""

    on: date
    value: Decimal
    entries: tuple[Entry, ...]
    masked: bool


@dataclass(frozen=True, slots=True)
class Rise:
    """Worse at visits: severity 2 or 1, in words, since when (None: not to be told from the values alone)."""

    severity: int
    sentence: str
    since: date | None
    evidence: tuple[int, ...]
    causes: tuple[Cause, ...]

    @property
    def at_rest(self) -> bool:
        """True for causes (a), (b) and (f), of rest and night: the red-flag screen is asked again."""
        return any(letter in "abf" for letter, _ in self.causes)


@once_a_view
def worse_at_visits(view: View) -> Rise | None:
    """The reason "worse at visits" on the view's date, in hand or not; None when it is not true."""
    if view.span is None or view.closed:
        return None
    found = _walked(view)
    if found is None or not _may_be_of_a_flare(found):
        return found
    # What a flare said on earlier days is looked up there: only a look back tells since when this is true.
    spoken = _walked(view, _flare_speaks(view))
    return replace(spoken, since=None) if spoken else None


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


def _may_be_of_a_flare(rise: Rise) -> bool:
    return any(letter in _OF_A_FLARE for letter, _ in rise.causes)


def _days_of_a_flare(view: View) -> list[date]:
    """Where a flare may say the same, every day is looked at: what it says can turn on any."""
    found = _walked(view)
    return [view.today] if found and _may_be_of_a_flare(found) else []


VISIT_TURNS = turns(*_READ, days=_days_of_a_flare)
"""When :func:`worse_at_visits` can turn."""


def shown_at_visits(view: View, letter: str) -> list[tuple[Entry, ...]]:
    """Each time that values told made a cause true, by those values, whatever became of it since."""
    if view.span is None:
        return []
    shown = _course(view, frozenset()).shown_by(view.today)
    return [entries for cause, entries in shown if cause[0] == letter]


def _flare_speaks(view: View) -> frozenset[str]:
    flare = flare_state(view)
    return frozenset(flare.causes if flare else ()) & frozenset(_OF_A_FLARE)


# --- the series ---------------------------------------------------------------------------------------------


@once_a_view
def series_start(view: View) -> date | None:
    """First day whose values count: first visit, reopening, visit that assessed an injury, tissue settled."""
    settle = timedelta(days=view.rules["visit.settle_days"])
    assessed = [v for v in view.upto("visits") if v.injury_assessed]
    starts = [view.episode_first_visit, *(r.on for r in view.upto("reopenings"))]
    starts += [o.on + settle for o in tissue_onsets(view)]
    for event in view.upto("events"):
        starts.append(next((v.on for v in assessed if view.answers(v, event)), None))
    return max((day for day in starts if day), default=None)


def _all_points(view: View) -> dict[str, list[Point]]:
    """Each series from its start on, oldest first; of two values of a date the higher."""
    start = series_start(view)
    told: list[tuple[str, Decimal, Entry]] = [
        (m.name, m.value, m)
        for m in view.upto("measures")
        if m.name in _LETTERS and not isinstance(m.value, Absence) and not m.repeated
        if m.side in (None, view.record.side)
    ]
    told += [
        (USUAL_MORNING, Decimal(v.usual_morning), v)
        for v in view.upto("visits")
        if v.usual_morning is not None
    ]
    grouped: dict[str, dict[date, list[tuple[Decimal, Entry]]]] = {name: {} for name in _LETTERS}
    for name, value, entry in told:
        if start is not None and entry.on >= start:
            grouped[name].setdefault(entry.on, []).append((value, entry))
    spans = _masked_spans(view)
    return {
        name: [_worst(day, values, spans) for day, values in sorted(days.items())]
        for name, days in grouped.items()
    }


def _worst(day: date, values: list[tuple[Decimal, Entry]], spans: list[tuple[date, date]]) -> Point:
    worst = max(value for value, _ in values)
    entries = tuple(entry for value, entry in values if value == worst)
    return Point(day, worst, entries, any(first <= day <= last for first, last in spans))


def _masked_spans(view: View) -> list[tuple[date, date]]:
    """First and last day of each masking: from the day after the medicine on (ruling 94, here only)."""
    known_days = [(m.on, mask_days(view.rules, m)) for m in view.upto("medicines")]
    return [(on + timedelta(days=1), on + timedelta(days=days)) for on, days in known_days if days]


# --- when a cause is true -----------------------------------------------------------------------------------


@dataclass(slots=True)
class _Series:
    """The values of one series up to some day, and the value that an entry made the best."""

    points: list[Point]
    best: Point | None = None
    """The lowest unmasked value, of equals the newest; what was answered, until a lower one comes."""

    @property
    def newest(self) -> Point:
        return self.points[-1]

    def add(self, point: Point) -> None:
        """One value more, on a later date than the others."""
        self.points.append(point)
        if not point.masked and (self.best is None or point.value <= self.best.value):
            self.best = point

    def answer(self) -> None:
        """The newest value counts as the best from now on."""
        self.best = self.newest

    def after(self, best: Point) -> list[Point]:
        """The values between the best and the newest."""
        return self.points[bisect_right(self.points, best.on, key=_day) : -1]


def _day(point: Point) -> date:
    return point.on


def _at_once(rules: Rules, series: _Series, best: Point) -> list[Point] | None:
    """Cause (a): a large rise, very large or with another value above the best; the values it rests on."""
    rise = series.newest.value - best.value
    if rise < rules["visit.once_rise"]:
        return None
    before = [p for p in series.after(best) if p.value >= best.value + rules["visit.once_before"]]
    if not before and rise < rules["visit.once_alone"]:
        return None
    return [best, *before, series.newest]


def _confirmed(rules: Rules, series: _Series, best: Point, least: int) -> list[Point] | None:
    """Causes (b) and (c): risen by ``least``, and so a week or more before too; the values it rests on."""
    limit = best.value + least
    latest = series.newest.on - timedelta(days=rules["visit.confirm_days"])
    before = [p for p in series.after(best) if p.value >= limit and p.on <= latest]
    return [best, *before, series.newest] if before and series.newest.value >= limit else None


def _waking(rules: Rules, series: _Series, best: Point) -> list[Point] | None:
    """Cause (e): woken on more nights, and on more the time before; the values it rests on."""
    if len(series.points) < 2:
        return None
    before, now = series.points[-2:]
    risen = now.value - best.value >= rules["visit.waking_rise"]
    risen_before = before.value - best.value >= rules["visit.waking_before"]
    return [best, before, now] if risen and risen_before else None


def _true_causes(rules: Rules, name: str, series: _Series) -> list[tuple[Cause, int, list[Point]]]:
    """The causes that the newest value of one series makes true, with severity and the values behind each."""
    best, letters = series.best, _LETTERS[name]
    if best is None:
        return []
    found: list[tuple[str, int, list[Point] | None]] = []
    if letters in ("ab", "d"):
        found.append((letters[0], 2, _at_once(rules, series, best)))
        found.append((letters[-1], 1, _confirmed(rules, series, best, rules["visit.rise"])))
    elif letters == "c":
        found.append(("c", 1, _confirmed(rules, series, best, rules["visit.worst_rise"])))
    else:
        found.append(("e", 1, _waking(rules, series, best)))
    return [((letter, name), severity, points) for letter, severity, points in found if points]


# --- from the first value to the newest ---------------------------------------------------------------------


@dataclass(slots=True)
class _Stretch:
    """The days on which it has been true without a break: it stays true until every cause is back."""

    since: date
    severity: int = 0
    raised: dict[Cause, Point] = field(default_factory=dict[Cause, Point])
    """The newest value that made each cause true."""
    entries: dict[int, Entry] = field(default_factory=dict[int, Entry])


class _Course:
    """All series of a case walked through day by day, for what is true at the end of each."""

    def __init__(self, view: View, silent: frozenset[str]) -> None:
        self.view, self.rules, self.silent = view, view.rules, silent
        self.today, self.known = view.today, known(view, *_READ)
        self.series: dict[str, _Series] = {name: _Series([]) for name in _LETTERS}
        self.stretch: _Stretch | None = None
        self.shown: list[tuple[Cause, tuple[Entry, ...]]] = []
        self.days: list[date] = []
        """The days walked through."""
        self.ends: list[tuple[Rise | None, int]] = []
        """What was true at the end of each, and how many of ``shown`` there were."""
        self._walk()

    def rise(self, day: date) -> Rise | None:
        """What is true on ``day``."""
        return self._end(day)[0]

    def shown_by(self, day: date) -> list[tuple[Cause, tuple[Entry, ...]]]:
        """What was shown up to ``day``."""
        return self.shown[: self._end(day)[1]]

    def _end(self, day: date) -> tuple[Rise | None, int]:
        at = bisect_right(self.days, day)
        return self.ends[at - 1] if at else (None, 0)

    def _walk(self) -> None:
        points, replies = _all_points(self.view), entries_about(self.view, MATTER)
        by_day = {(p.on, name): p for name, found in points.items() for p in found}
        for day in sorted({*(day for day, _ in by_day), *(r.on for r in replies)}):
            for name, series in self.series.items():
                if point := by_day.get((day, name)):
                    series.add(point)
                    for cause, severity, behind in _true_causes(self.rules, name, series):
                        self._raise(day, cause, severity, behind)
            if high := self._both_high(by_day.get((day, REST)), by_day.get((day, NIGHT))):
                self._raise(day, _BOTH_HIGH, 2, high)
            if self.stretch and all(self._back(cause) for cause in self.stretch.raised):
                self.stretch = None
            for reply in replies:
                if reply.on == day:
                    self._answer(reply)
            self.days.append(day)
            self.ends.append((self._rise(), len(self.shown)))

    def _both_high(self, rest: Point | None, night: Point | None) -> list[Point]:
        """Cause (f): both figures reached on one date; the two values."""
        if rest is None or night is None:
            return []
        high = rest.value >= self.rules["visit.high_rest"] and night.value >= self.rules["visit.high_night"]
        return [rest, night] if high else []

    def _raise(self, day: date, cause: Cause, severity: int, behind: list[Point]) -> None:
        if cause[0] in self.silent:
            return
        self.shown.append((cause, tuple(e for point in behind for e in point.entries)))
        stretch = self.stretch = self.stretch or _Stretch(day)
        stretch.severity = max(stretch.severity, severity)
        stretch.raised[cause] = behind[-1]
        stretch.entries |= {e.id: e for point in behind for e in point.entries}

    def _back(self, cause: Cause) -> bool:
        """Whether the newest value of a cause is back; what is masked ends nothing."""
        if cause == _BOTH_HIGH:
            rest, night = self.series[REST].newest, self.series[NIGHT].newest
            calm = not rest.masked and rest.value < self.rules["visit.high_rest"]
            return calm or (not night.masked and night.value < self.rules["visit.high_night"])
        series = self.series[cause[1]]
        best, now = series.best, series.newest
        if best is None or now.masked:
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

    # --- in words -------------------------------------------------------------------------------------------

    def _rise(self) -> Rise | None:
        """What is true after what was walked through so far."""
        stretch = self.stretch
        if stretch is None:
            return None
        causes = tuple(sorted(stretch.raised))
        words, ids = "; ".join(self._words(stretch)), tuple(sorted(stretch.entries))
        return Rise(stretch.severity, words, stretch.since, ids, causes)

    def _words(self, stretch: _Stretch) -> list[str]:
        said: list[str] = []
        if high := stretch.raised.get(_BOTH_HIGH):
            rest = next(p for p in self.series[REST].points if p.on == high.on)
            said.append(f"rest pain {plain(rest.value)} and night pain {plain(high.value)} on one day")
        for name, series in self.series.items():
            risen = [point for (_, of), point in stretch.raised.items() if of == name]
            best = series.best
            if risen and best is not None:
                said.append(self._course_words(name, best, max(risen, key=lambda p: p.on)))
        return said

    def _course_words(self, name: str, best: Point, risen: Point) -> str:
        """ "night pain 2 to 5 (best 2 on Fri 6 Feb)", and the newest value where it is another one."""
        label = "usual morning pain" if name == USUAL_MORNING else self.rules.measures[name].label
        newest, low = self.series[name].newest, plain(best.value)
        now = f", now {plain(newest.value)}" if newest.value != risen.value else ""
        masked = " (may be masked)" if now and newest.masked else ""
        course = f"{label} {low} to {plain(risen.value)}{now}{masked}"
        return f"{course} (best {low} on {words_date(best.on)})"
