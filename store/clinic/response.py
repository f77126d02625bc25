"""How the shoulder answers to load: morning baseline, session classes, runs of good sessions, flare.

Pain is 0-10 (numeric rating). A session's next morning is judged against the baseline of the session's date.
The two-point steps rest on an about-two-point change being meaningful (Michener 2011, J Sport Rehabil 20:115);
every figure is in the rule file with its own status.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from store.clinic.fields import Absence
from store.clinic.pathway import Limits
from store.clinic.record import Session
from store.clinic.view import DAY, History, NeedsFullHistory, View

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
    ceiling: bool = False

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


def _number(value: int | Absence) -> int | None:
    return value if isinstance(value, int) else None


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
        self._next = 0
        self._read()
        self.dates = sorted(self.by_date)

    @classmethod
    def of(cls, view: View) -> Response:
        """The response of the view's history, made once."""
        memo = view.history.memo
        if "response" not in memo:
            memo["response"] = cls(view.history)
        return memo["response"]

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
        values = [w.pain for w in self.wakes.get(day, ()) if not w.recalled]
        return min(values) if values else None

    def worst_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for finding a breach: the higher, however late it was told."""
        values = [w.pain for w in self.wakes.get(day, ())]
        return max(values) if values else None

    def _window(self, day: date) -> tuple[list[int], int]:
        """Mornings of the baseline window of ``day``, newest first, flare mornings left out; and how many
        there were before leaving out."""
        kept: list[int] = []
        found = 0
        for back in range(self.rules["baseline.window_days"]):
            morning = day - timedelta(days=back)
            value = self.settled_value(morning)
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
        measured = self.measured_baseline(day)
        if measured is not None:
            return measured
        if self._window(day)[1] >= self.rules["baseline.least"]:
            standing = self._standing_baseline(day)
            if standing is not None:
                return standing
        return self._usual(day)

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
        results = [self._classify(s, limits, True) for s in self.by_date[on]]
        self._judged[on] = min(results, key=lambda j: SEVERITY_ORDER.index(j.klass))
        blind = [self._classify(s, limits, False) for s in self.by_date[on]]
        self._blind[on] = min(blind, key=lambda j: SEVERITY_ORDER.index(j.klass))

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
        during, later = _number(session.during), _number(session.later)
        wakes = self.wakes.get(on + DAY, []) if with_morning else []
        worst = max((w.pain for w in wakes), default=None)
        told = max((w.pain for w in wakes if not w.recalled), default=None)
        baseline = self._baseline.get(on)
        rise = None if worst is None or baseline is None else worst - baseline
        ceiling = (
            baseline is not None
            and baseline >= self.rules["ceiling.baseline"]
            and worst is not None
            and worst >= self.rules["ceiling.morning"]
        )
        cause = self._breach(limits, during, later, worst, rise, ceiling)
        missing = self._missing(during, later, told, baseline, bool(wakes))
        if cause:
            klass = FLARE if cause[0] == FLARE else RAISED
            return Judged(session, on, klass, baseline, worst, rise, missing, cause[1], ceiling)
        klass = INCOMPLETE if missing else GOOD
        return Judged(session, on, klass, baseline, worst, rise, missing)

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
        words: list[str] = []
        if during is None:
            words.append("pain during")
        if later is None:
            words.append("pain later")
        if told is None:
            words.append("next-morning score, told too late to count" if recalled else "next-morning score")
        if baseline is None:
            words.append("baseline")
        return tuple(words)


# --- flare not settling ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FlareState:
    """Whether a flare is not settling, by which causes, and how large (points, or nights)."""

    causes: tuple[str, ...]
    severity: int
    sentence: str
    newest: date
    evidence: tuple[int, ...]

    @property
    def session_causes(self) -> bool:
        """True for the causes that advise a step back: repeated flares or three raised mornings."""
        return any(c in ("a", "b", "c") for c in self.causes)


def rise_on(view: View, morning: date) -> int | None:
    """Pain on waking on ``morning`` above the baseline of the day before, None when either is unknown."""
    response = Response.of(view)
    value, baseline = response.worst_value(morning), response.baseline(morning - DAY)
    return None if value is None or baseline is None else value - baseline


def _mornings(view: View, first: date) -> list[date]:
    return sorted(d for d in Response.of(view).wakes if first <= d <= view.today)


def _horizon(view: View) -> date:
    """The first date that counts: four weeks back, and nothing from before a step back."""
    first = view.today - timedelta(days=view.rules["flare.horizon_days"])
    span = view.span
    if span and span.step.direction == "back":
        first = max(first, span.start)
    return first


def _is_settled(view: View, morning: date) -> bool:
    response = Response.of(view)
    rise = rise_on(view, morning)
    if rise is None or rise > view.rules["flare.settled_within"]:
        return False
    before = response.baseline(morning - DAY)
    near_ceiling = before is not None and before >= view.rules["ceiling.baseline"]
    worst = response.worst_value(morning) or 0
    return not (near_ceiling and worst >= view.rules["ceiling.morning"])


def _raised_mornings(view: View, first: date) -> list[date]:
    least = view.rules["flare.morning_rise"]
    return [d for d in _mornings(view, first) if (rise_on(view, d) or 0) >= least]


def _run_of_mornings(view: View, raised: list[date]) -> bool:
    """True when raised mornings fill the asked number of calendar days running."""
    wanted = view.rules["flare.mornings"]
    days = set(raised)
    return any(all(d + timedelta(days=k) in days for k in range(wanted)) for d in raised)


def _session_causes(view: View) -> tuple[list[str], list[Judged], list[date]]:
    """Causes (a) to (c) with the flares and raised mornings they rest on; empty once settled."""
    rules, first = view.rules, _horizon(view)
    known = [j for j in Response.of(view).all(view.today) if j.known and j.on >= first]
    raised = _raised_mornings(view, first)
    causes: list[str] = []
    last = known[-rules["flare.last"] :]
    if len(last) == rules["flare.last"] and all(j.klass == FLARE for j in last):
        causes.append("a")
    recent = [j for j in known if (view.today - j.on).days <= rules["flare.within_days"]]
    among = recent[-rules["flare.among"] :]
    if sum(j.klass == FLARE for j in among) >= rules["flare.of"]:
        causes.append("b")
    if _run_of_mornings(view, raised):
        causes.append("c")
    flares = [j for j in known if j.klass == FLARE]
    if not causes or _has_settled(view, flares, raised):
        return [], [], []
    return causes, flares, raised


def _has_settled(view: View, flares: list[Judged], raised: list[date]) -> bool:
    """True after enough settled mornings since the last flare session or raised morning."""
    last = max([*(j.on for j in flares), *raised])
    calm = [d for d in _mornings(view, last + DAY) if _is_settled(view, d)]
    return len(calm) >= view.rules["flare.settled_mornings"]


def first_baseline(view: View, start: date | None) -> tuple[int, date] | None:
    """The first computable baseline from ``start`` on, and its date."""
    key = ("first baseline", start)
    memo = view.history.memo
    if key not in memo:
        memo[key] = _search_first_baseline(view, start)
    found = memo[key]
    return found if found and found[1] <= view.today else None


def _search_first_baseline(view: View, start: date | None) -> tuple[int, date] | None:
    response = Response.of(view)
    days = sorted({*response.wakes, *(v.on for v in view.record.visits if v.usual_morning is not None)})
    known_from = view.record.known_from
    for morning in days:
        day = max(morning, start) if start else morning
        if start and (day - morning).days >= view.rules["baseline.window_days"]:
            continue
        if known_from and _in_gap(view, day, start):
            raise NeedsFullHistory
        value = response.baseline(day)
        if value is not None:
            return value, day
    return None


def _in_gap(view: View, day: date, start: date | None) -> bool:
    """True for a date whose sessions the window left out, or whose baseline would rest on such dates."""
    known_from = view.record.known_from
    early = view.record.EARLY_DAYS
    if known_from is None:
        return False
    begin = start or min((s.on for s in view.record.sessions), default=known_from)
    return (
        begin + timedelta(days=early) < day < known_from + timedelta(days=view.rules["baseline.window_days"])
        and begin + timedelta(days=early) < known_from
    )


def latest_baseline(view: View) -> tuple[int, date] | None:
    """The newest computable baseline up to today, looked for four weeks back."""
    response = Response.of(view)
    for back in range(view.rules["flare.horizon_days"] + 1):
        day = view.today - timedelta(days=back)
        value = response.baseline(day)
        if value is not None:
            return value, day
    return None


def creep(view: View) -> tuple[int, int, int, date] | None:
    """(difference, from, to, since) when the baseline itself stands above the stage's or episode's first."""
    if view.stage_start is None:
        return None
    now = latest_baseline(view)
    if now is None:
        return None
    firsts = [first_baseline(view, view.stage_start), first_baseline(view, view.segment_start)]
    above = [(now[0] - f[0], f[0], now[0], f[1]) for f in firsts if f and f[1] <= now[1]]
    worst = max(above, default=None)
    return worst if worst and worst[0] >= view.rules["creep.points"] else None


def extra_waking(view: View) -> tuple[int, int, int, int] | None:
    """(more nights, before, now, entry id) when night waking rose by the figure, until stale."""
    told = [
        m
        for m in view.since("measures", view.segment_start)
        if m.name == "night_waking" and not isinstance(m.value, Absence) and not m.repeated
    ]
    if len(told) < 2:
        return None
    before, now = told[-2], told[-1]
    stale = view.rules.measures["night_waking"].stale_days.whole
    more = int(now.value - before.value)
    if more < view.rules["flare.waking_more"] or (view.today - now.on).days > stale:
        return None
    return more, int(before.value), int(now.value), now.id


def newest_rise(view: View) -> int:
    """The newest known rise above baseline in points, at least 0."""
    for morning in reversed(_mornings(view, _horizon(view))):
        rise = rise_on(view, morning)
        if rise is not None:
            return max(0, rise)
    return 0


def flare_state(view: View) -> FlareState | None:
    """The flare reason on the view's date, None when nothing of it is true."""
    if view.span is None or view.closed:
        return None
    causes, flares, raised = _session_causes(view)
    crept, waking = creep(view), extra_waking(view)
    if crept:
        causes = [*causes, "d"]
    if waking:
        causes = [*causes, "e"]
    if not causes:
        return None
    severity = max(newest_rise(view), crept[0] if crept else 0, waking[0] if waking else 0)
    wakes = Response.of(view).wakes
    ids = [j.session.id for j in flares]
    ids += [w.entry_id for d in raised for w in wakes[d]]
    if waking:
        ids.append(waking[3])
    days = [*(j.on for j in flares), *raised]
    newest_day = max(days, default=view.today)
    sentence = _flare_sentence(view, causes, flares, raised, crept, waking)
    return FlareState(tuple(causes), severity, sentence, newest_day, tuple(dict.fromkeys(ids)))


def _flare_sentence(
    view: View,
    causes: list[str],
    flares: list[Judged],
    raised: list[date],
    crept: tuple[int, int, int, date] | None,
    waking: tuple[int, int, int, int] | None,
) -> str:
    response = Response.of(view)
    parts: list[str] = []
    if "a" in causes or "b" in causes:
        last = flares[-1]
        what = last.cause
        if last.rise is not None and last.cause.startswith("next morning"):
            what = f"next morning {last.morning}, baseline {last.baseline}"
        parts.append(f"{what}, twice" if "a" in causes else f"{_of_newest(view)}: {what}")
    elif "c" in causes:
        day = raised[-1]
        base = response.baseline(day - DAY)
        parts.append(f"morning pain {response.worst_value(day)}, baseline {base}, three days running")
    if crept:
        parts.append(f"morning pain has crept from {crept[1]} to {crept[2]} since {words_date(crept[3])}")
    if waking:
        parts.append(f"woken {waking[2]} nights a week, {waking[1]} before")
    raised_loads = loads_raised(view)
    if raised_loads:
        parts.append(raised_loads)
    return "; ".join(parts)


def _of_newest(view: View) -> str:
    """ "flare in 2 of the last 4 sessions", as cause (b) counts."""
    rules = view.rules
    known = [j for j in Response.of(view).all(view.today) if j.known and j.on >= _horizon(view)]
    recent = [j for j in known if (view.today - j.on).days <= rules["flare.within_days"]]
    among = recent[-rules["flare.among"] :]
    return f"flare in {sum(j.klass == FLARE for j in among)} of the last {len(among)} sessions"


def loads_raised(view: View) -> str:
    """Which exercises went up on the newest date of such a change in the last two weeks, as words."""
    newer: dict[date, int] = {}
    last: dict[str, object] = {}
    for item in view.upto("programme"):
        key = item.exercise
        amount = item.band if item.load is None else item.load
        before = last.get(key)
        if before is not None and amount is not None and amount > before:  # type: ignore[operator]
            newer[item.on] = newer.get(item.on, 0) + 1
        last[key] = amount
    recent = [d for d in newer if (view.today - d).days <= view.rules["baseline.window_days"]]
    if not recent:
        return ""
    day = max(recent)
    count, ago = newer[day], (view.today - day).days
    loads = "two loads" if count == 2 else "one load" if count == 1 else f"{count} loads"
    return f"{loads} raised {ago} days ago" if ago != 1 else f"{loads} raised yesterday"


def words_date(day: date) -> str:
    """A date as a clinician reads it: "Mon 2 Mar"."""
    return f"{day:%a} {day.day} {day:%b}"
