"""Every session judged oldest first, from the first of the history on: what judging on demand has to come to.

The plain way, without a thought for time: flares are known before anything that leaves them out is asked.
"""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, History
from armrise.store.clinic.pain.calm import lower_median
from armrise.store.clinic.pain.classes import FLARE, INCOMPLETE, NextMorning, Part, breach
from armrise.store.clinic.pain.told import DURING, LATER, ToldPain
from armrise.store.record.kinds.pain import Session

Class = tuple[str, int | None]
"""The class of a session and the baseline it was judged by."""


class InOrder:
    """The baselines and classes of one whole history."""

    def __init__(self, history: History) -> None:
        self.history, self.rules, self.told = history, history.rules, ToldPain(history)
        self.flared: set[date] = set()
        self.classes: dict[date, Class] = {}
        for on in self.told.dates:
            self.classes[on] = min((self._class(s) for s in self.told.by_date[on]), key=_worst)
            if self.classes[on][0] == FLARE:
                self.flared.add(on)

    def measured(self, day: date) -> int | None:
        """The lower median of the newest mornings that no flare made."""
        first = day - timedelta(days=self.rules["baseline.window_days"] - 1)
        kept = [self.told.settled[d] for d in self._woke(first, day) if d - DAY not in self.flared]
        if len(kept) < self.rules["baseline.least"]:
            return None
        return lower_median(kept[-self.rules["baseline.take"] :])

    def _woke(self, first: date, last: date) -> list[date]:
        return [d for d in sorted(self.told.settled) if first <= d <= last]

    def baseline(self, day: date) -> int | None:
        """Measured, else the last one that stands, else as told."""
        found = self.measured(day)
        first = day - timedelta(days=self.rules["baseline.window_days"] - 1)
        if found is None and len(self._woke(first, day)) >= self.rules["baseline.least"]:
            found = self._standing(day)
        return self.usual_morning(day) if found is None else found

    def _standing(self, day: date) -> int | None:
        span = self.history.span_on(day)
        for back in range(1, self.rules["baseline.stands_days"] + 1):
            earlier = day - timedelta(days=back)
            if span and earlier < span.start:
                return None
            if (measured := self.measured(earlier)) is not None:
                return measured
        return None

    def usual_morning(self, day: date) -> int | None:
        """As told last, while recent."""
        told = [entry for entry in self.told.usual if entry.on <= day]
        recent = told and (day - told[-1].on).days <= self.rules["baseline.usual_days"]
        return told[-1].usual_morning if recent else None

    def usual(self, part: str, day: date) -> int | None:
        """The lower median of the newest values that no flare made; where all are of flares, of them."""
        rules, worst = self.rules, self.told.worst(part)
        first = day - timedelta(days=rules["usual.window_days"])
        since = self.history.in_pathway_since(day) if self._heals(day) else None
        days = [d for d in sorted(worst) if max(first, since or first) <= d < day]
        calm = [worst[d] for d in days if d not in self.flared]
        every = [worst[d] for d in days]
        enough = every if len(every) >= rules["usual.all_least"] else []
        found = calm if len(calm) >= rules["usual.least"] else enough
        return lower_median(found[-rules["usual.take"] :]) if found else None

    def _heals(self, day: date) -> bool:
        span = self.history.span_on(day)
        pathway = self.history.pathway_of(span.stage if span else None)
        return pathway is not None and pathway.clock is not None

    def _class(self, session: Session) -> Class:
        on, stage = session.on, self.history.stage_on(session.on)
        assert stage is not None
        limits, heals, baseline = stage.limits, self._heals(on), self.baseline(on)
        worst = max((w.pain for w in self.told.wakes.get(on + DAY, ())), default=None)
        parts: list[Part] = []
        for part, pain, limit in (
            (DURING, session.during, limits.during.whole),
            (LATER, session.later, limits.later.whole),
        ):
            value = pain if isinstance(pain, int) else None
            usual = self.usual(part, on) if value is not None and value > limit else None
            if usual is None and part == LATER and value is not None and value > limit:
                usual = self.usual_morning(on)
            parts.append(Part.of(self.rules, part, value, limit, usual, healing=heals))
        morning = NextMorning.of(self.rules, worst, baseline, limits.rise.whole)
        broken = breach(self.rules, *parts, morning, healing=heals)
        told = worst is not None and on + DAY in self.told.settled and baseline is not None
        whole = told and all(part.value is not None for part in parts)
        return (broken[0] if broken else "good" if whole else INCOMPLETE), baseline


def _worst(found: Class) -> int:
    return ("flare", "over", "raised", "incomplete", "good").index(found[0])
