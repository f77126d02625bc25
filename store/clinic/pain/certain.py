"""Which sessions were flares, as far as that is certain without judging every session before them.

A morning counts for a baseline unless the session before it was a flare, which an earlier baseline decided,
and so on back to the first session. Here the chain is cut. A session not judged yet may have been a flare, or
not; where every way it may have gone comes to the same, that is certain whatever was before.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator
from datetime import date, timedelta
from typing import Any, NamedTuple

from armrise.store.clinic.case.view import DAY, History, NeedsFullHistory
from armrise.store.clinic.pain.calm import ANY, LEAST, MOST, NONE, ONLY, Calm, Possible, lower_median
from armrise.store.clinic.pain.classes import NextMorning, Part, during_flares, later_flares, morning_flares
from armrise.store.clinic.pain.told import DURING, LATER, ToldPain
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.pain import Session
from armrise.store.rules.pathway import Limits, Rules

_FLARE_POINTS = tuple(
    f"response.{name}"
    for name in ("flare_over_during", "during_top_over", "flare_over_later", "flare_over_later_healing")
)
"""By how many points above its limit pain makes a flare."""
_BACK = tuple(timedelta(days=back) for back in (14, 28, 56, 126))
"""So long before what is asked for the judging begins: tried in turn, at last from the first session."""


class Terms(NamedTuple):
    """What sessions of one stay are held against: its limits in points, and whether its pathway heals."""

    during: int
    later: int
    rise: int
    healing: bool

    @classmethod
    def of(cls, limits: Limits, *, healing: bool) -> Terms:
        """The terms of a stage."""
        return cls(limits.during.whole, limits.later.whole, limits.rise.whole, healing)


class _Figures(NamedTuple):
    """What of the rules is asked for again and again, spans of time as such."""

    window: timedelta
    """From the first morning of a baseline to the last."""
    least: int
    take: int
    stands: int
    usual_days: int
    usual_window: timedelta
    usual_least: int
    usual_take: int
    usual_all_least: int

    @classmethod
    def of(cls, rules: Rules) -> _Figures:
        """As the rules say."""
        return cls(
            timedelta(days=rules["baseline.window_days"] - 1),
            rules["baseline.least"],
            rules["baseline.take"],
            rules["baseline.stands_days"],
            rules["baseline.usual_days"],
            timedelta(days=rules["usual.window_days"]),
            rules["usual.least"],
            rules["usual.take"],
            rules["usual.all_least"],
        )


class Certain:
    """Baselines, usual pain and flares of a history: what each may be, and what is certain."""

    def __init__(self, history: History, told: ToldPain) -> None:
        self.history, self.rules, self.told = history, history.rules, told
        self._figures = _Figures.of(history.rules)
        self.flares: dict[date, bool | None] = dict.fromkeys(told.dates)
        """Of the dates with a session; None where it is not certain yet."""
        self.mornings = Calm(told.settled, self.flares, DAY)
        """Pain on waking as told in time; a session shows in it a day later."""
        self._calm_pains: dict[str, Calm] = {}
        self.flares_lie_above = all(self.rules[figure] > 0 for figure in _FLARE_POINTS)
        """Nothing within its limits is a flare."""
        self._steps = history.ordered("steps")[1]
        self._terms: dict[int, Terms | None] = {}
        self._tissue: dict[int, date | None] = {}
        """Both by how many stays in a stage had begun."""
        self._measured: dict[date, Possible] = {}
        self._doubtful: dict[date, Possible] = {}
        """Those that are not certain: they hold for one judging."""
        self._whole: dict[date, date] = {}
        """Up to which day was judged from a first day on, before which nothing was read."""
        self._strict = False
        """Whether the doubtful counts as anything."""
        self._closely = False
        """Whether what is doubtful is worth a closer look while sessions are judged."""
        self._by_morning: dict[tuple[int, int, int | None], bool] = {}
        """Whether a morning makes a flare, by its pain, how far it may rise, and the baseline."""
        self._quiet: dict[tuple[Any, ...], bool] = {}
        """Whether a session makes none whatever was before it, by the terms and all that was told of it."""
        self._by_part: dict[tuple[str, int, int | None, Terms], bool] = {}
        """Whether pain in a session does, by its part, how much it is, what is usual, and the terms."""

    # --- what is certain --------------------------------------------------------------------------------

    def value(self, possible: Callable[..., Possible], *of: str, day: date) -> int | None:
        """What ``possible`` is on ``day``: sessions before it are judged, from ever earlier on, until that is
        certain. Of the whole history it is at last; of a window it may not be: :class:`NeedsFullHistory`."""
        found = self._look(possible, *of, day)
        for start, before, closely in self._starts(day) if len(found) > 1 else ():
            self.judge(start, before, closely=closely)
            found = self._look(possible, *of, day)
            if len(found) == 1:
                break
        if len(found) > 1:
            found = possible(*of, day)
        if len(found) > 1:
            raise NeedsFullHistory
        (value,) = found
        return value

    def _look(self, possible: Callable[..., Possible], *of: Any) -> Possible:
        """What is certain, or anything: the doubtful is not looked at closely while there is a better way."""
        self._strict = True
        try:
            return possible(*of)
        finally:
            self._strict = False

    def _starts(self, day: date) -> Iterator[tuple[date, date, bool]]:
        """From which day on to judge, ever earlier, not before what was read without a gap, and before which;
        and whether to look closely at what is doubtful, which takes long."""
        first = max(self.history.read_from(day), self.told.dates[0] if self.told.dates else date.min)
        for back in _BACK[not self._goes_on_from(day - _BACK[0]) :]:
            start = max(first, day - back)
            if start == first:
                break
            yield start, day, back not in _BACK[:2]
        if self._whole.get(first, first) < day:
            # A first baseline is looked for day after day.
            self._whole[first] = day + _BACK[0]
            yield first, day + _BACK[0], True

    def _goes_on_from(self, start: date) -> bool:
        """Whether the last session before a day was judged already, so that judging need only go on."""
        at = bisect_left(self.told.dates, start)
        return not at or self.flares[self.told.dates[at - 1]] is not None

    def judged(self, on: date, *, flare: bool) -> None:
        """Take note of what a session was, found out with certainty."""
        self.flares[on] = flare

    def judge(self, start: date, before: date, *, closely: bool = True) -> None:
        """Find out which sessions from ``start`` on, before ``before``, were flares, as far as is certain."""
        self._doubtful.clear()
        self._closely = closely
        for on in self.told.sessions_on(start, before):
            if self.flares[on] is None:
                self.flares[on] = self._flared(on)

    # --- what a value may be ----------------------------------------------------------------------------

    def calm_mornings(self, day: date) -> Possible:
        """How many mornings count towards the baseline of ``day``."""
        first = day - self._figures.window
        return self.mornings.count(first, day) if self.history.reads(first - DAY, day) else ANY

    def measured(self, day: date) -> Possible:
        """The lower median of the newest mornings, None when too few remain."""
        found = self._surely_measured(day)
        if found is None:
            found = ANY if self._strict else self._doubtful.get(day)
        if found is None:
            _, least, take, *_ = self._figures
            found = self._doubtful[day] = self.mornings.middles(day - self._figures.window, day, least, take)
        return found

    def _surely_measured(self, day: date) -> Possible | None:
        """The same, or anything where the mornings were not all read; None where it is doubtful."""
        found = self._measured.get(day)
        if found is None:
            window, least, take, *_ = self._figures
            first = day - window
            if not self.history.reads(first - DAY, day):  # the first may be told with the day before
                found = ANY
            else:
                found = self.mornings.middle(first, day, least, take)
            if found is not None:
                self._measured[day] = found
        return found

    def baseline(self, day: date) -> Possible:
        """Morning baseline of ``day``: measured, else the last one of the stage, else as told."""
        found = self._surely_measured(day)
        if found is not None and (found is ANY or None not in found):
            return found
        return frozenset[int | None]().union(*self._baselines(day))

    def _baselines(self, day: date) -> Iterator[Possible]:
        """The same, one look after another, each where those before it may say nothing.

        The last computable baseline of a stage stands for a while: flares must not dissolve what they are
        judged by.
        """
        found = self.measured(day)
        yield found if found is ANY else found - NONE
        if None not in found or found is ANY:
            return
        window, least, _, stands, *_ = self._figures
        span = self.history.span_on(day)
        for back in range(1, stands + 1) if len(self.mornings.told(day - window, day)) >= least else ():
            earlier = day - timedelta(days=back)
            if span and earlier < span.start:
                break
            found = self.measured(earlier)
            yield found if found is ANY else found - NONE
            if None not in found or found is ANY:
                return
        yield self.usual_morning(day)

    def usual_morning(self, day: date) -> Possible:
        """Usual morning pain as told last, while it is recent enough."""
        last, days = self.told.last_usual(day), self._figures.usual_days
        recent = last is not None and (day - last.on).days <= days
        since = last.on if last is not None and recent else day - timedelta(days=days)
        if not self.history.reads(since, day):
            return ANY
        return ONLY[last.usual_morning] if last is not None and recent else NONE

    def usual(self, part: str, day: date) -> Possible:
        """What pain "during" or "later" usually was before ``day``; None where too little is known."""
        figures, pains, last = self._figures, self._pains(part), day - DAY
        first = max(day - figures.usual_window, self._same_tissue_since(day) or date.min)
        if first <= last and not self.history.reads(first, last):
            return ANY
        least, take = figures.usual_least, figures.usual_take
        found = pains.middle(first, last, least, take)
        if found is None:
            found = ANY if self._strict else pains.middles(first, last, least, take)
        if None not in found or found is ANY:
            return found
        told = pains.told(first, last)
        enough = bool(told) and len(told) >= figures.usual_all_least
        return (found - NONE) | (ONLY[lower_median(told[-take:])] if enough else NONE)

    def usual_or_told(self, part: str, day: date) -> Possible:
        """The same; for pain later the usual morning as told at a visit stands in for too little."""
        found = self.usual(part, day)
        return (found - NONE) | self.usual_morning(day) if part == LATER and None in found else found

    def _pains(self, part: str) -> Calm:
        """The worst known pain of each date's sessions."""
        if part not in self._calm_pains:
            self._calm_pains[part] = Calm(self.told.worst(part), self.flares, timedelta(0))
        return self._calm_pains[part]

    def _same_tissue_since(self, day: date) -> date | None:
        """The first day that says what is usual: before an operation or injury it was another tissue."""
        stay = self._stay(day)
        if stay not in self._tissue:
            self._tissue[stay] = self.history.in_pathway_since(day) if self.heals(day) else None
        return self._tissue[stay]

    def _stay(self, day: date) -> int:
        """How many stays in a stage had begun."""
        return bisect_right(self._steps, day)

    def heals(self, day: date) -> bool:
        """True on a pathway that counts from surgery or injury."""
        span = self.history.span_on(day)
        pathway = self.history.pathway_of(span.stage if span else None)
        return pathway is not None and pathway.clock is not None

    # --- whether a session was a flare ------------------------------------------------------------------

    def terms_on(self, on: date) -> Terms | None:
        """What a session of ``on`` is held against; None where no rule file has its pathway."""
        stay = self._stay(on)
        if stay not in self._terms:
            stage, pathway = self.history.stage_on(on), self.history.pathway_of(None)
            limits = stage.limits if stage else pathway.stages[0].limits if pathway else None
            self._terms[stay] = Terms.of(limits, healing=self.heals(on)) if limits else None
        return self._terms[stay]

    def _flared(self, on: date) -> bool | None:
        """Whether the session of ``on``, or the worse of two, was a flare; None where it may have been."""
        terms = self.terms_on(on)
        if terms is None:
            return False
        if not self.history.reads(on, on + DAY):
            return None
        said, worst = set[bool | None](), self.told.worst_value(on + DAY)
        for session in self.told.by_date[on]:
            if not self._is_quiet(session, worst, terms):
                said.add(self._part_flares(DURING, on, session.during, terms.during, terms))
                said.add(self._part_flares(LATER, on, session.later, terms.later, terms))
                said.add(self._morning_flares(on, worst, terms.rise))
        return True if True in said else None if None in said else False

    def _is_quiet(self, session: Session, worst: int | None, terms: Terms) -> bool:
        """Whether neither the session nor the morning after it can have made a flare, whatever was before."""
        key = terms, session.during, session.later, worst
        found = self._quiet.get(key)
        if found is None:
            calm = worst is None or self._is_harmless(worst, terms.rise)
            found = self._quiet[key] = (
                calm
                and not self._may_flare(DURING, session.during, terms.during, terms)
                and not self._may_flare(LATER, session.later, terms.later, terms)
            )
        return found

    def _morning_flares(self, on: date, worst: int | None, rise: int) -> bool | None:
        """Whether the next morning makes it one, over every baseline there may be."""
        if worst is None or self._is_harmless(worst, rise):
            return False
        if self._surely_measured(on) is None:
            # The quickest to work out first; what takes long only where the judging began far enough back.
            found = self._flares_over(worst, rise, [self._roughly(on)])
            if found is not None:
                return found
            if not self._closely and None in self.measured(on):
                return None
        return self._flares_over(worst, rise, self._baselines(on))

    def _is_harmless(self, worst: int, rise: int) -> bool:
        """Whether a morning makes no flare over any baseline: neither the lowest nor, at the ceiling, the
        highest."""
        return not (self._flares_at(worst, rise, LEAST) or self._flares_at(worst, rise, MOST))

    def _roughly(self, on: date) -> Possible:
        """More than the baseline may be: any morning of the days that it can rest on, or none."""
        since = on - self._figures.window - timedelta(days=self._figures.stands)
        if not self.history.reads(since - DAY, on):
            return ANY
        return self.usual_morning(on).union(self.mornings.told(since, on), NONE)

    def _flares_over(self, worst: int, rise: int, baselines: Iterable[Possible]) -> bool | None:
        """Whether a morning makes a flare over all of these baselines, or none; None where they differ."""
        said = set[bool]()
        for possible in baselines:
            said |= {self._flares_at(worst, rise, baseline) for baseline in possible}
            if len(said) > 1:
                return None
        return True in said

    def _flares_at(self, worst: int, rise: int, baseline: int | None) -> bool:
        key = worst, rise, baseline
        found = self._by_morning.get(key)
        if found is None:
            morning = NextMorning.of(self.rules, worst, baseline, rise)
            found = self._by_morning[key] = morning_flares(self.rules, morning)
        return found

    def _part_flares(self, part: str, on: date, pain: int | Absence, limit: int, terms: Terms) -> bool | None:
        """Whether pain during, or later, makes a session one, beside every usual pain there may be."""
        if not isinstance(pain, int) or not self._may_flare(part, pain, limit, terms):
            return False
        usual = self.usual_or_told(part, on) if pain > limit else NONE
        said = {self._flares_beside(part, pain, value, terms) for value in usual}
        return None if len(said) > 1 else True in said

    def _may_flare(self, part: str, pain: int | Absence, limit: int, terms: Terms) -> bool:
        """Whether it can at all: usual pain only lifts what a flare has to lie above."""
        if not isinstance(pain, int) or (pain <= limit and self.flares_lie_above):
            return False
        return self._flares_beside(part, pain, None, terms)

    def _flares_beside(self, part: str, pain: int, usual: int | None, terms: Terms) -> bool:
        key = part, pain, usual, terms
        found = self._by_part.get(key)
        if found is None:
            limit, rules = terms.during if part == DURING else terms.later, self.rules
            told = Part.of(rules, part, pain, limit, usual, healing=terms.healing)
            if part == DURING:
                found = during_flares(rules, told)
            else:
                found = later_flares(rules, told, healing=terms.healing)
            self._by_part[key] = found
        return found
