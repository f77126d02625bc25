"""How the shoulder answers to load: morning baseline, usual pain, and the class of every session.

Pain is 0-10 (numeric rating). A session's next morning is judged against the baseline of the session's date,
pain during and later against the stage's limits and the pain usual before that date (ruling 77). Every figure
is in the rule file with its source and status.

Nothing is judged before it is asked for, and of what was before only as much as makes the answer certain.
What cannot be made certain of a record that is a window raises
:class:`armrise.store.clinic.case.view.NeedsFullHistory`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import islice
from typing import NamedTuple, overload

from armrise.store.clinic.case.view import DAY, History, NeedsFullHistory, View
from armrise.store.clinic.pain.certain import Certain, Terms
from armrise.store.clinic.pain.classes import FLARE, GOOD, INCOMPLETE, WORST_FIRST, NextMorning, Part, breach
from armrise.store.clinic.pain.told import DURING, LATER, ToldPain
from armrise.store.record.kinds.pain import Session


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


class Response:
    """Baselines and session classes of a whole history, worked out when asked for and kept."""

    def __init__(self, history: History) -> None:
        self.history = history
        self.rules = history.rules
        self.told = ToldPain(history)
        self.wakes, self.by_date, self.dates = self.told.wakes, self.told.by_date, self.told.dates
        self._certain = Certain(history, self.told)
        self._judged: dict[date, Judged | None] = {}
        self._blind: dict[date, Judged] = {}
        """As they are on their own date, the next morning not known yet."""
        self._baseline: dict[date, int | None] = {}
        self._rises: dict[date, int | None] = {}
        self._calm: dict[date, bool] = {}
        self._usual: dict[tuple[str, date], int | None] = {}

    @classmethod
    def of(cls, view: View) -> Response:
        """The response of the view's history, made once."""
        memo = view.history.memo
        if "response" not in memo:
            memo["response"] = cls(view.history)
        return memo["response"]

    @property
    def flares_lie_above(self) -> bool:
        """Whether nothing within its limits is a flare by these rules."""
        return self._certain.flares_lie_above

    def terms_on(self, on: date) -> Terms | None:
        """What sessions of a date are held against; None where no rule file has their pathway."""
        return self._certain.terms_on(on)

    # --- baseline ---------------------------------------------------------------------------------------

    def settled_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for a baseline: told in time; the lower where two were told."""
        self.history.sure(day - DAY, day)
        return self.told.settled.get(day)

    def worst_value(self, day: date) -> int | None:
        """Pain on waking on ``day`` for finding a breach: the higher, however late it was told."""
        self.history.sure(day - DAY, day)
        return self.told.worst_value(day)

    def woke(self, first: date, last: date) -> list[date]:
        """The dates of these, both included, with pain on waking told, oldest first."""
        self.history.sure(first - DAY, last)  # the first may be told with the session of the day before
        return self.told.woke_on(first, last)

    def baseline(self, day: date) -> int | None:
        """Morning baseline of ``day`` in points, which judges the morning of the day after; None unknown."""
        if day not in self._baseline:
            self._baseline[day] = self._certain.value(self._certain.baseline, day=day)
        return self._baseline[day]

    def usual_morning(self, day: date) -> int | None:
        """Usual morning pain as told last, while it is recent enough."""
        return self._certain.value(self._certain.usual_morning, day=day)

    def mornings_found(self, day: date) -> int:
        """How many mornings could count towards the baseline of ``day``."""
        return self._certain.value(self._certain.calm_mornings, day=day) or 0

    def rise(self, morning: date) -> int | None:
        """Pain on waking on ``morning`` above the baseline of the day before, None when either is unknown."""
        if morning not in self._rises:
            value = self.worst_value(morning)
            baseline = None if value is None else self.baseline(morning - DAY)
            self._rises[morning] = None if value is None or baseline is None else value - baseline
        return self._rises[morning]

    def settled(self, morning: date) -> bool:
        """Back within a point of baseline, as told in time: what is recalled late comforts nobody."""
        if morning not in self._calm:
            self._calm[morning] = self._is_settled(morning)
        return self._calm[morning]

    def _is_settled(self, morning: date) -> bool:
        rise = self.rise(morning)
        if rise is None or rise > self.rules["flare.settled_within"] or morning not in self.told.settled:
            return False
        worst, baseline = self.worst_value(morning), self.baseline(morning - DAY)
        return not NextMorning.of(self.rules, worst, baseline, 0).ceiling

    # --- usual pain -------------------------------------------------------------------------------------

    def usual(self, part: str, day: date) -> int | None:
        """What pain "during" or "later" usually was before ``day``; None where too little is known.

        The lower median of the worst values of the newest dates, those of a flare left out. Where a flare is
        all there is, it counts: a steadily sore shoulder would otherwise stay in a flare for ever.
        """
        key = (part, day)
        if key not in self._usual:
            self._usual[key] = self._certain.value(self._certain.usual, part, day=day)
        return self._usual[key]

    def usual_or_told(self, part: str, day: date) -> int | None:
        """The same; for pain later the usual morning as told at a visit stands in for too little."""
        usual = self.usual(part, day)
        return self.usual_morning(day) if usual is None and part == LATER else usual

    # --- classes ----------------------------------------------------------------------------------------

    def judged_on(self, on: date) -> Judged | None:
        """The session of the date ``on`` (the worse of two), with its next morning; None without one."""
        if on not in self._judged:
            self.history.sure(on, on)
            terms = self._certain.terms_on(on) if on in self.by_date else None
            judged = self._judged[on] = self._worse_of(on, terms, with_morning=True) if terms else None
            if judged is not None:
                self._certain.judged(on, flare=judged.klass == FLARE)
        return self._judged[on]

    def _worse_of(self, on: date, terms: Terms, *, with_morning: bool) -> Judged:
        """The worse of the sessions of one date."""
        classes = [self._classify(s, terms, with_morning) for s in self.by_date[on]]
        return min(classes, key=_worst_first) if classes[1:] else classes[0]

    def all(self, today: date) -> Line:
        """One judged session a date up to ``today``, oldest first; tonight's next morning is not known."""
        return Line(self, today)

    def between(self, first: date, today: date, last: date = date.max) -> list[Judged]:
        """The same, from ``first`` on, and up to ``last``."""
        last = min(last, today)
        if first <= last:
            self.history.sure(first, last)
        found = (self.on_its_day(on, today) for on in self.told.sessions_on(first, last + DAY))
        return [judged for judged in found if judged is not None]

    def on_its_day(self, on: date, today: date) -> Judged | None:
        """The session of a date as judged ``today``: of today's own the next morning is not known."""
        if on != today:
            return self.judged_on(on)
        terms = self._certain.terms_on(on)
        if on not in self._blind and terms is not None:
            self._blind[on] = self._worse_of(on, terms, with_morning=False)
        return self._blind.get(on)

    def classes(self, session: Session, today: date) -> Judged | None:
        """One session judged by itself, for listing every session of a case."""
        stage = self.history.stage_on(session.on)
        if stage is None:
            return None
        terms = Terms.of(stage.limits, healing=self._certain.heals(session.on))
        return self._classify(session, terms, session.on < today)

    def _classify(self, session: Session, terms: Terms, with_morning: bool) -> Judged:
        on = session.on
        self.history.sure(on, on + DAY if with_morning else on)
        worst = self.told.worst_value(on + DAY) if with_morning else None
        during = session.during if isinstance(session.during, int) else None
        later = session.later if isinstance(session.later, int) else None
        baseline = self.baseline(on)
        over = max(0, (during or 0) - terms.during, (later or 0) - terms.later)
        missing = self._missing(session, during, later, baseline, worst is not None)
        morning = NextMorning.of(self.rules, worst, baseline, terms.rise)
        broken: tuple[str, str] | None = None
        if over or morning.over or morning.ceiling or not self._certain.flares_lie_above:
            parts = (self._part(on, terms, DURING, during), self._part(on, terms, LATER, later))
            broken = breach(self.rules, *parts, morning, healing=terms.healing)
        klass, cause = broken or (INCOMPLETE if missing else GOOD, "")
        return Judged(session, on, klass, baseline, worst, morning.rise, missing, over, cause)

    def _part(self, on: date, terms: Terms, part: str, pain: int | None) -> Part:
        """Pain of a session with its limit and, where that is passed, what was usual."""
        limit = terms.during if part == DURING else terms.later
        usual = self.usual_or_told(part, on) if pain is not None and pain > limit else None
        return Part.of(self.rules, part, pain, limit, usual, healing=terms.healing)

    def _missing(
        self, session: Session, during: int | None, later: int | None, baseline: int | None, woke: bool
    ) -> tuple[str, ...]:
        """What was not told of a session; ``woke``: the next morning was, in time or too late to count."""
        told = woke and session.on + DAY in self.told.settled
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


class Line(Sequence[Judged]):
    """The judged sessions up to a day, one a date, oldest first.

    Best read from its end: only what is looked at is judged. Reading on past what was read of a window raises
    :class:`armrise.store.clinic.case.view.NeedsFullHistory`.
    """

    def __init__(
        self, response: Response, today: date, first: date | None = None, *, known: bool = False
    ) -> None:
        """From ``first`` on; ``known``: those whose class says something."""
        self._response, self._today = response, today
        self._first, self._known = first, known

    def __reversed__(self) -> Iterator[Judged]:
        response, today = self._response, self._today
        read_from, wanted_from = response.history.read_from(today), self._first or date.min
        for on in reversed(response.told.sessions_on(max(read_from, wanted_from), today + DAY)):
            judged = response.on_its_day(on, today)
            if judged is not None and (judged.known or not self._known):
                yield judged
        if wanted_from < read_from:
            raise NeedsFullHistory

    def __iter__(self) -> Iterator[Judged]:
        return iter([*reversed(self)][::-1])

    def __len__(self) -> int:
        return sum(1 for _ in reversed(self))

    def __bool__(self) -> bool:
        return any(True for _ in reversed(self))

    @overload
    def __getitem__(self, at: int) -> Judged: ...
    @overload
    def __getitem__(self, at: slice) -> list[Judged]: ...
    def __getitem__(self, at: int | slice) -> Judged | list[Judged]:
        ends = (at,) if isinstance(at, int) else (at.start, -1 if at.stop is None else at.stop)
        # From the end only so far as is asked for; what is counted from the beginning needs all of it.
        few = all(end is not None and end < 0 for end in ends)
        return [*islice(reversed(self), -ends[0] if few else None)][::-1][at]


def _worst_first(judged: Judged) -> tuple[int, int]:
    return WORST_FIRST.index(judged.klass), -judged.over
