"""How the shoulder answers to load: morning baseline, usual pain, and the class of every session.

Pain is 0-10 (numeric rating). A session's next morning is judged against the baseline of the session's date,
pain during and later against the stage's limits and the pain usual before that date (ruling 77). Every figure
is in the rule file with its source and status.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.pain.calm import Calm, lower_median
from armrise.store.clinic.pain.classes import FLARE, GOOD, INCOMPLETE, WORST_FIRST, NextMorning, Part, breach
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.pain import Session
from armrise.store.rules.pathway import Limits

DURING, LATER = "during", "later"
_FLARE_POINTS = tuple(
    f"response.{name}"
    for name in ("flare_over_during", "during_top_over", "flare_over_later", "flare_over_later_healing")
)
"""By how many points above its limit pain makes a flare."""


class Judged(NamedTuple):
    """A session with its class. ``rise`` is next morning minus baseline, None when either is unknown.

    ``over`` is by how many points pain during or later lay above its limit, 0 when by none.
    """

    session: Session
    on: date
    klass: str
    baseline: int | None
    morning: int | None
    rise: int | None
    missing: tuple[str, ...]
    over: int = 0
    cause: str = ""

    @property
    def known(self) -> bool:
        """True when the class says something: every class but incomplete."""
        return self.klass != INCOMPLETE


class Wake(NamedTuple):
    """Pain on waking on one date, as told; ``recalled`` when told too late to qualify.

    What was written down at home on the day is not recalled, however late it is typed (ruling 74).
    """

    pain: int
    recalled: bool
    entry_id: int


class _Terms(NamedTuple):
    """What sessions of one stay are held against: its limits in points, and whether its pathway heals."""

    during: int
    later: int
    rise: int
    healing: bool

    @classmethod
    def of(cls, limits: Limits, *, healing: bool) -> _Terms:
        return cls(limits.during.whole, limits.later.whole, limits.rise.whole, healing)


def usual_told(history: History) -> list[Visit | Session]:
    """Visits and sessions with which a usual morning was told, oldest first."""

    def found() -> list[Visit | Session]:
        entries = [*history.ordered("visits")[0], *history.ordered("sessions")[0]]
        told = [entry for entry in entries if entry.usual_morning is not None]
        return sorted(told, key=lambda entry: (entry.on, entry.id))

    return history.once("usual mornings told", found)


class Response:
    """Baselines and session classes of a whole history, worked out oldest first and kept."""

    def __init__(self, history: History) -> None:
        self.history = history
        self.rules = history.rules
        self.wakes: dict[date, list[Wake]] = {}
        self.by_date: dict[date, list[Session]] = {}
        self._judged: dict[date, Judged] = {}
        self._line: list[Judged] = []
        self._line_dates: list[date] = []
        """The same, oldest first, with their dates."""
        self._flared = set[date]()
        self._blind: dict[date, Judged] = {}
        """As they are on their own date, the next morning not known yet."""
        self._terms: dict[date | None, _Terms | None] = {}
        """By the first day of the stay."""
        self._baseline: dict[date, int | None] = {}
        self._rises: dict[date, int | None] = {}
        self._calm: dict[date, bool] = {}
        self._usual: dict[tuple[str, date], int | None] = {}
        self._next = 0
        """Where in ``dates`` the first session lies that is not judged yet."""
        self.flares_lie_above = all(self.rules[figure] > 0 for figure in _FLARE_POINTS)
        """Nothing within its limits is a flare."""
        worst = self._read()
        self._pains = {part: Calm(told, self._flared, timedelta(0)) for part, told in worst.items()}
        """The worst known pain of each date's sessions."""
        in_time = ((day, [w.pain for w in wakes if not w.recalled]) for day, wakes in self.wakes.items())
        self._settled = {day: min(told) for day, told in in_time if told}
        self._mornings = Calm(self._settled, self._flared, DAY)
        """Pain on waking as told in time; a session shows in it a day later."""
        self.dates = sorted(self.by_date)
        self._woke = sorted(self.wakes)
        """The dates with pain on waking told."""
        self._usual_told = usual_told(history)
        self._usual_dates = [entry.on for entry in self._usual_told]

    @classmethod
    def of(cls, view: View) -> Response:
        """The response of the view's history, made once."""
        memo = view.history.memo
        if "response" not in memo:
            memo["response"] = cls(view.history)
        return memo["response"]

    def _read(self) -> dict[str, dict[date, int]]:
        """Sessions and wakes by their dates; the worst known pain of each date, during and later."""
        late, worst = self.rules["response.recall_days"], {DURING: dict[date, int](), LATER: {}}
        for session in self.history.ordered("sessions")[0]:
            on = session.on
            self.by_date.setdefault(on, []).append(session)
            for pain, known in ((session.during, worst[DURING]), (session.later, worst[LATER])):
                if isinstance(pain, int) and pain >= known.get(on, pain):
                    known[on] = pain
            if isinstance(session.morning, int):
                wakes = on + DAY
                recalled = not session.written and (session.recorded_on - wakes).days > late
                self.wakes.setdefault(wakes, []).append(Wake(session.morning, recalled, session.id))
        for entry in self.history.ordered("mornings")[0]:
            if isinstance(entry.pain, int):
                recalled = entry.days_late > late and not entry.written
                self.wakes.setdefault(entry.on, []).append(Wake(entry.pain, recalled, entry.id))
        return worst

    # --- baseline ---------------------------------------------------------------------------------------

    def settled_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for a baseline: told in time; the lower where two were told."""
        return self._settled.get(day)

    def worst_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for finding a breach: the higher, however late it was told."""
        return max((w.pain for w in self.wakes.get(day, ())), default=None)

    def _window_from(self, day: date) -> date:
        """The first morning that counts for the baseline of ``day``."""
        return day - timedelta(days=self.rules["baseline.window_days"] - 1)

    def _calm_mornings(self, day: date) -> list[int]:
        """Mornings of the baseline window of ``day``, oldest first, flare mornings left out."""
        return self._mornings.calm(self._window_from(day), day)

    def woke(self, first: date, last: date) -> list[date]:
        """The dates of these, both included, with pain on waking told, oldest first."""
        return self._woke[bisect_left(self._woke, first) : bisect_right(self._woke, last)]

    def measured_baseline(self, day: date) -> int | None:
        """The median (lower middle) of the newest mornings, None when too few remain."""
        self._judge_before(day)
        kept = self._calm_mornings(day)
        if len(kept) < self.rules["baseline.least"]:
            return None
        return lower_median(kept[-self.rules["baseline.take"] :])

    def baseline(self, day: date) -> int | None:
        """Morning baseline of ``day`` in points, which judges the morning of the day after; None unknown."""
        if day not in self._baseline:
            self._judge_before(day)
            self._baseline[day] = self._find_baseline(day)
        return self._baseline[day]

    def _find_baseline(self, day: date) -> int | None:
        found = self.measured_baseline(day)
        if found is not None:
            return found
        if len(self._mornings.told(self._window_from(day), day)) >= self.rules["baseline.least"]:
            found = self._standing_baseline(day)
        return self.usual_morning(day) if found is None else found

    def _standing_baseline(self, day: date) -> int | None:
        """The last computable baseline of this stage: flares must not dissolve what they are judged by."""
        span = self.history.span_on(day)
        for back in range(1, self.rules["baseline.stands_days"] + 1):
            earlier = day - timedelta(days=back)
            if span and earlier < span.start:
                return None
            measured = self.measured_baseline(earlier)
            if measured is not None:
                return measured
        return None

    def usual_morning(self, day: date) -> int | None:
        """Usual morning pain as told last, while it is recent enough."""
        at = bisect_right(self._usual_dates, day)
        if at and (day - self._usual_dates[at - 1]).days <= self.rules["baseline.usual_days"]:
            return self._usual_told[at - 1].usual_morning
        return None

    def mornings_found(self, day: date) -> int:
        """How many mornings could count towards the baseline of ``day``."""
        self._judge_before(day)
        return len(self._calm_mornings(day))

    def rise(self, morning: date) -> int | None:
        """Pain on waking on ``morning`` above the baseline of the day before, None when either is unknown."""
        if morning not in self._rises:
            value, baseline = self.worst_value(morning), self.baseline(morning - DAY)
            self._rises[morning] = None if value is None or baseline is None else value - baseline
        return self._rises[morning]

    def settled(self, morning: date) -> bool:
        """Back within a point of baseline, as told in time: what is recalled late comforts nobody."""
        if morning not in self._calm:
            self._calm[morning] = self._is_settled(morning)
        return self._calm[morning]

    def _is_settled(self, morning: date) -> bool:
        rise = self.rise(morning)
        if rise is None or rise > self.rules["flare.settled_within"] or morning not in self._settled:
            return False
        return not self.at_ceiling(self.baseline(morning - DAY), self.worst_value(morning))

    # --- usual pain -------------------------------------------------------------------------------------

    def usual(self, part: str, day: date) -> int | None:
        """What pain "during" or "later" usually was before ``day``; None where too little is known.

        The lower median of the worst values of the newest dates, those of a flare left out. Where a flare is
        all there is, it counts: a steadily sore shoulder would otherwise stay in a flare for ever.
        """
        key = (part, day)
        if key not in self._usual:
            self._judge_before(day)
            self._usual[key] = self._find_usual(part, day)
        return self._usual[key]

    def usual_or_told(self, part: str, day: date) -> int | None:
        """The same; for pain later the usual morning as told at a visit stands in for too little."""
        usual = self.usual(part, day)
        return self.usual_morning(day) if usual is None and part == LATER else usual

    def _find_usual(self, part: str, day: date) -> int | None:
        rules, pains = self.rules, self._pains[part]
        first = day - timedelta(days=rules["usual.window_days"])
        first = max(first, self._same_tissue_since(day) or first)
        found = pains.calm(first, day - DAY)
        if len(found) < rules["usual.least"]:
            told = pains.told(first, day - DAY)
            found = told if len(told) >= rules["usual.all_least"] else []
        return lower_median(found[-rules["usual.take"] :]) if found else None

    def _same_tissue_since(self, day: date) -> date | None:
        """The first day that says what is usual: before an operation or injury it was another tissue."""
        return self.history.in_pathway_since(day) if self._heals(day) else None

    # --- classes ----------------------------------------------------------------------------------------

    def _judge_before(self, day: date) -> None:
        """Judge sessions oldest first up to the day before ``day``: each rests on earlier ones only."""
        while self._next < len(self.dates) and self.dates[self._next] < day:
            on = self.dates[self._next]
            self._next += 1
            self._judge(on)

    def _judge(self, on: date) -> None:
        terms = self._terms_on(on)
        if terms is None:
            return
        self._baseline[on] = self._find_baseline(on)
        judged = self._judged[on] = self._worse_of(on, terms, with_morning=True)
        if judged.klass == FLARE:
            self._flared.add(on)
        self._line.append(judged)
        self._line_dates.append(on)

    def _worse_of(self, on: date, terms: _Terms, *, with_morning: bool) -> Judged:
        """The worse of the sessions of one date."""
        classes = [self._classify(s, terms, with_morning) for s in self.by_date[on]]
        return min(classes, key=_worst_first) if classes[1:] else classes[0]

    def _terms_on(self, on: date) -> _Terms | None:
        """What a session of ``on`` is held against; None where no rule file has its pathway."""
        span = self.history.span_on(on)
        start = span.start if span else None
        if start not in self._terms:
            stage, pathway = self.history.stage_on(on), self.history.pathway_of(None)
            limits = stage.limits if stage else pathway.stages[0].limits if pathway else None
            self._terms[start] = _Terms.of(limits, healing=self._heals(on)) if limits else None
        return self._terms[start]

    def judged_on(self, on: date) -> Judged | None:
        """The session of the date ``on`` (the worse of two), with its next morning; None without one."""
        if on not in self.by_date:
            return None
        self._judge_before(on + DAY)
        return self._judged.get(on)

    def all(self, today: date) -> list[Judged]:
        """One judged session a date up to ``today``, oldest first; tonight's next morning is not known."""
        return self.between(date.min, today)

    def between(self, first: date, today: date) -> list[Judged]:
        """The same, from ``first`` on."""
        self._judge_before(today + DAY)
        dates = self._line_dates
        found = self._line[bisect_left(dates, first) : bisect_left(dates, today)]
        if today in self._judged and first <= today:
            found.append(self._blind_on(today))
        return found

    def _blind_on(self, today: date) -> Judged:
        terms = self._terms_on(today)
        if today not in self._blind and terms is not None:
            self._blind[today] = self._worse_of(today, terms, with_morning=False)
        return self._blind[today]

    def classes(self, session: Session, today: date) -> Judged | None:
        """One session judged by itself, for listing every session of a case."""
        stage = self.history.stage_on(session.on)
        if stage is None:
            return None
        self._judge_before(session.on + DAY)
        self.baseline(session.on)
        terms = _Terms.of(stage.limits, healing=self._heals(session.on))
        return self._classify(session, terms, session.on < today)

    def _classify(self, session: Session, terms: _Terms, with_morning: bool) -> Judged:
        on, wakes = session.on, self.wakes.get(session.on + DAY, ()) if with_morning else ()
        during = session.during if isinstance(session.during, int) else None
        later = session.later if isinstance(session.later, int) else None
        worst, baseline = max((w.pain for w in wakes), default=None), self._baseline.get(on)
        rise = None if worst is None or baseline is None else worst - baseline
        over = max(0, (during or 0) - terms.during, (later or 0) - terms.later)
        missing = self._missing(session, during, later, baseline, bool(wakes))
        risen, ceiling = rise is not None and rise > terms.rise, self.at_ceiling(baseline, worst)
        broken: tuple[str, str] | None = None
        if over or risen or ceiling or not self.flares_lie_above:
            morning = NextMorning(worst, rise, terms.rise, ceiling)
            parts = (self._part(on, terms, DURING, during), self._part(on, terms, LATER, later))
            broken = breach(self.rules, *parts, morning, healing=terms.healing)
        klass, cause = broken or (INCOMPLETE if missing else GOOD, "")
        return Judged(session, on, klass, baseline, worst, rise, missing, over, cause)

    def _part(self, on: date, terms: _Terms, part: str, pain: int | None) -> Part:
        """Pain of a session with its limit and, where that is passed, what was usual."""
        limit = terms.during if part == DURING else terms.later
        usual = self.usual_or_told(part, on) if pain is not None and pain > limit else None
        return Part.of(self.rules, part, pain, limit, usual, healing=terms.healing)

    def _heals(self, day: date) -> bool:
        """True on a pathway that counts from surgery or injury."""
        span = self.history.span_on(day)
        pathway = self.history.pathway_of(span.stage if span else None)
        return pathway is not None and pathway.clock is not None

    def at_ceiling(self, baseline: int | None, morning: int | None) -> bool:
        """True for a morning so near the top of the scale that no rise over its baseline could show."""
        if baseline is None or morning is None:
            return False
        return baseline >= self.rules["ceiling.baseline"] and morning >= self.rules["ceiling.morning"]

    def _missing(
        self, session: Session, during: int | None, later: int | None, baseline: int | None, woke: bool
    ) -> tuple[str, ...]:
        """What was not told of a session; ``woke``: the next morning was, in time or too late to count."""
        told = woke and session.on + DAY in self._settled
        if told and during is not None and later is not None and baseline is not None:
            return ()
        morning = "next-morning score, told too late to count" if woke else "next-morning score"
        asked = (
            ("pain during", during is not None),
            ("pain later", later is not None),
            (morning, told),
            ("baseline", baseline is not None),
        )
        return tuple(name for name, known in asked if not known)


def _worst_first(judged: Judged) -> tuple[int, int]:
    return WORST_FIRST.index(judged.klass), -judged.over
