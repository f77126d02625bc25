"""How the shoulder answers to load: morning baseline, session classes, runs of good sessions, flare.

Pain is 0-10 (numeric rating). A session's next morning is judged against the baseline of the session's date.
The two-point steps rest on an about-two-point change being meaningful (Michener 2011, J Sport Rehabil
20:115); every figure is in the rule file with its own status.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.record.kinds.pain import Session
from armrise.store.rules.pathway import Limits

FLARE, RAISED, INCOMPLETE, GOOD = "flare", "raised", "incomplete", "good"
SEVERITY_ORDER = (FLARE, RAISED, INCOMPLETE, GOOD)


@dataclass(frozen=True, slots=True)
class Judged:
    """A session with its class. ``rise`` is next morning minus baseline, None when either is unknown."""

    session: Session
    on: date
    klass: str
    baseline: int | None
    morning: int | None
    rise: int | None
    missing: tuple[str, ...]
    cause: str = ""

    @property
    def known(self) -> bool:
        """True when the class says something: every class but incomplete."""
        return self.klass != INCOMPLETE


@dataclass(frozen=True, slots=True)
class Wake:
    """Pain on waking on one date, as told; ``recalled`` when told too late to qualify."""

    pain: int
    recalled: bool
    entry_id: int


class Response:
    """Baselines and session classes of a whole history, worked out oldest first and kept."""

    def __init__(self, history: History) -> None:
        self.history = history
        self.rules = history.rules
        self.wakes: dict[date, list[Wake]] = {}
        self.by_date: dict[date, list[Session]] = {}
        self._judged: dict[date, Judged] = {}
        self._blind: dict[date, Judged] = {}
        self._baseline: dict[date, int | None] = {}
        self._settled: dict[date, int | None] = {}
        self._windows: dict[date, tuple[list[int], int]] = {}
        self._next = 0
        """Where in ``dates`` the first session lies that is not judged yet."""
        self._read()
        self.dates = sorted(self.by_date)

    @classmethod
    def of(cls, view: View) -> Response:
        """The response of the view's history, made once."""
        return view.history.once("response", lambda: cls(view.history))

    def _read(self) -> None:
        late = self.rules["response.recall_days"]
        for session in self.history.ordered("sessions")[0]:
            self.by_date.setdefault(session.on, []).append(session)
            if isinstance(session.morning, int):
                wakes = session.on + DAY
                recalled = (session.recorded_on - wakes).days > late
                self.wakes.setdefault(wakes, []).append(Wake(session.morning, recalled, session.id))
        for entry in self.history.ordered("mornings")[0]:
            if isinstance(entry.pain, int):
                recalled = entry.days_late > late
                self.wakes.setdefault(entry.on, []).append(Wake(entry.pain, recalled, entry.id))

    # --- baseline ---------------------------------------------------------------------------------------

    def settled_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for a baseline: told in time; the lower where two were told."""
        if day not in self._settled:
            told = (w.pain for w in self.wakes.get(day, ()) if not w.recalled)
            self._settled[day] = min(told, default=None)
        return self._settled[day]

    def worst_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for finding a breach: the higher, however late it was told."""
        return max((w.pain for w in self.wakes.get(day, ())), default=None)

    def _window(self, day: date) -> tuple[list[int], int]:
        """Mornings of the baseline window of ``day``, newest first, flare mornings left out; and how many
        there were before leaving out. It rests on earlier sessions only, so it is looked at once a day."""
        if day not in self._windows:
            self._windows[day] = self._find_window(day)
        return self._windows[day]

    def _find_window(self, day: date) -> tuple[list[int], int]:
        kept: list[int] = []
        found = 0
        morning = day + DAY
        for _ in range(self.rules["baseline.window_days"]):
            morning -= DAY
            value = self.settled_value(morning) if morning in self.wakes else None
            if value is None:
                continue
            found += 1
            before = self.judged_on(morning - DAY)
            if before is None or before.klass != FLARE:
                kept.append(value)
        return kept, found

    def measured_baseline(self, day: date) -> int | None:
        """The median (lower middle) of the newest mornings, None when too few remain."""
        kept, _ = self._window(day)
        if len(kept) < self.rules["baseline.least"]:
            return None
        taken = sorted(kept[: self.rules["baseline.take"]])
        return taken[(len(taken) - 1) // 2]

    def baseline(self, day: date) -> int | None:
        """Morning baseline of ``day`` in points, which judges the morning of the day after; None unknown."""
        if day not in self._baseline:
            self._judge_before(day)
            self._baseline[day] = self._find_baseline(day)
        return self._baseline[day]

    def _find_baseline(self, day: date) -> int | None:
        found = self.measured_baseline(day)
        if found is None and self._window(day)[1] >= self.rules["baseline.least"]:
            found = self._standing_baseline(day)
        return self._usual(day) if found is None else found

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

    def _usual(self, day: date) -> int | None:
        """Usual morning pain as told at the last visit, while it is recent enough."""
        told = [v for v in self.history.ordered("visits")[0] if v.on <= day and v.usual_morning is not None]
        if told and (day - told[-1].on).days <= self.rules["baseline.usual_days"]:
            return told[-1].usual_morning
        return None

    def mornings_found(self, day: date) -> int:
        """How many mornings could count towards the baseline of ``day``."""
        return len(self._window(day)[0])

    # --- classes ----------------------------------------------------------------------------------------

    def _judge_before(self, day: date) -> None:
        """Judge sessions oldest first up to the day before ``day``: each rests on earlier ones only."""
        while self._next < len(self.dates) and self.dates[self._next] < day:
            on = self.dates[self._next]
            self._next += 1
            self._judge(on)

    def _judge(self, on: date) -> None:
        stage = self.history.stage_on(on)
        pathway = self.history.pathway_of(None)
        limits = stage.limits if stage else pathway.stages[0].limits if pathway else None
        if limits is None:
            return
        self._baseline[on] = self._find_baseline(on)
        for judged, with_morning in ((self._judged, True), (self._blind, False)):
            classes = [self._classify(s, limits, with_morning) for s in self.by_date[on]]
            judged[on] = min(classes, key=lambda j: SEVERITY_ORDER.index(j.klass))

    def judged_on(self, on: date) -> Judged | None:
        """The session of the date ``on`` (the worse of two), with its next morning; None without one."""
        if on not in self.by_date:
            return None
        self._judge_before(on + DAY)
        return self._judged.get(on)

    def all(self, today: date) -> list[Judged]:
        """One judged session a date up to ``today``, oldest first; tonight's next morning is not known."""
        self._judge_before(today + DAY)
        found = [self._judged[d] for d in self.dates if d < today and d in self._judged]
        if today in self._blind:
            found.append(self._blind[today])
        return found

    def classes(self, session: Session, today: date) -> Judged | None:
        """One session judged by itself, for listing every session of a case."""
        stage = self.history.stage_on(session.on)
        if stage is None:
            return None
        self._judge_before(session.on + DAY)
        self.baseline(session.on)
        return self._classify(session, stage.limits, session.on < today)

    def _classify(self, session: Session, limits: Limits, with_morning: bool) -> Judged:
        on = session.on
        during, later = (p if isinstance(p, int) else None for p in (session.during, session.later))
        wakes = self.wakes.get(on + DAY, []) if with_morning else []
        worst = max((w.pain for w in wakes), default=None)
        told = max((w.pain for w in wakes if not w.recalled), default=None)
        baseline = self._baseline.get(on)
        rise = None if worst is None or baseline is None else worst - baseline
        ceiling = self.at_ceiling(baseline, worst)
        missing = self._missing(during, later, told, baseline, bool(wakes))
        broken = self._breach(limits, during, later, worst, rise, ceiling)
        klass, cause = broken or (INCOMPLETE if missing else GOOD, "")
        return Judged(session, on, klass, baseline, worst, rise, missing, cause)

    def at_ceiling(self, baseline: int | None, morning: int | None) -> bool:
        """True for a morning so near the top of the scale that no rise over its baseline could show."""
        if baseline is None or morning is None:
            return False
        return baseline >= self.rules["ceiling.baseline"] and morning >= self.rules["ceiling.morning"]

    def _breach(
        self,
        limits: Limits,
        during: int | None,
        later: int | None,
        morning: int | None,
        rise: int | None,
        ceiling: bool,
    ) -> tuple[str, str] | None:
        """(class, what broke the limit): a known breach beats a missing score."""
        over_during = -1 if during is None else during - limits.during.whole
        over_later = -1 if later is None else later - limits.later.whole
        over_rise = -1 if rise is None else rise - limits.rise.whole
        high = morning is not None and morning >= self.rules["response.flare_morning"]
        if over_during >= self.rules["response.flare_over_during"]:
            return FLARE, f"pain during {during}, limit {limits.during.whole}"
        if over_later >= self.rules["response.flare_over_later"]:
            return FLARE, f"pain later {later}, limit {limits.later.whole}"
        if over_rise >= 2 or (over_rise >= 1 and high):
            return FLARE, f"next morning {morning}, {rise} above baseline"
        if ceiling:
            return FLARE, f"next morning {morning}, near the ceiling of the scale"
        if over_during >= 1:
            return RAISED, f"pain during {during}, limit {limits.during.whole}"
        if over_later >= 1:
            return RAISED, f"pain later {later}, limit {limits.later.whole}"
        if over_rise >= 1:
            return RAISED, f"next morning {morning}, {rise} above baseline"
        return None

    @staticmethod
    def _missing(
        during: int | None, later: int | None, told: int | None, baseline: int | None, recalled: bool
    ) -> tuple[str, ...]:
        morning = "next-morning score, told too late to count" if recalled else "next-morning score"
        asked = (("pain during", during), ("pain later", later), (morning, told), ("baseline", baseline))
        return tuple(name for name, value in asked if value is None)
