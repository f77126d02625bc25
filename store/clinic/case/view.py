"""One case seen on one clinic date: what had happened by then, in order, and which stage it was in.

:class:`History` holds what does not depend on the clinic date and is shared by every date looked at, because
"since when has this been true" is answered by looking at one earlier date after another.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise, zip_longest
from operator import attrgetter, lt
from typing import Any, NamedTuple, TypeVar

from armrise.store.clinic.case.classes import WITH_CLASSES, read_in
from armrise.store.clinic.case.lazy import Lazy
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding
from armrise.store.record.kinds.paperwork import Discharge, Reopen
from armrise.store.record.kinds.plan import Orders, Step, pathway_code
from armrise.store.record.kinds.safety import Onset
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.pathway import Pathway, Rules, Stage

T = TypeVar("T")
DAY = timedelta(days=1)
OF_THE_EPISODE = (
    *("visits", "sessions", "mornings", "summaries", "events", "contacts", "attendances", "steps", "holds"),
)
"""Entries that, marked as history, belong to an earlier episode and say nothing of this one."""

_AS_RECORDED = attrgetter("on", "recorded_at", "id")


class NeedsFullHistory(Exception):
    """The record is a window and the answer lies before it: read the case in full and ask again."""


class Span(NamedTuple):
    """A stay in one stage, ``start`` inclusive and ``end`` exclusive (None: still there)."""

    stage: str
    start: date
    end: date | None
    step: Step


def newest(entries: Sequence[Any]) -> Any | None:
    """The last of a sequence in order, or None."""
    return entries[-1] if entries else None


class History:
    """A record and a rule version, with everything that holds for every clinic date."""

    def __init__(self, record: CaseRecord, rules: Rules) -> None:
        self.record = record
        self.rules = rules
        self._ordered: dict[str, tuple[list[Any], list[date]]] = {}
        self._read: dict[str, tuple[list[Any], list[date]]] = {}
        """The same under these rules, with the load classes that they read."""
        self._pathways: dict[str | None, Pathway | None] = {}
        self.memo: dict[Hashable, Any] = {}
        self.views: dict[date, View] = {}
        """The views looked through so far: several questions look back over the same days."""

    def once(self, key: Hashable, work_out: Callable[[], T]) -> T:
        """What ``work_out`` gives, worked out the first time that ``key`` is asked for."""
        if key not in self.memo:
            self.memo[key] = work_out()
        return self.memo[key]

    def let_go(self) -> None:
        """Drop what was worked out and every view: a history and its views hold each other, and a record
        that is done with would stay in memory until somebody looks for garbage."""
        self.memo.clear()
        for view in self.views.values():
            view.kept.clear()
        self.views.clear()

    def under(self, rules: Rules) -> History:
        """The same record under another rule version; what rests on the record alone is shared."""
        other = History(self.record, rules)
        other._ordered = self._ordered
        return other

    def on(self, day: date) -> View:
        """The view of ``day``, the same one each time it is asked for."""
        if (view := self.views.get(day)) is None:
            view = self.views[day] = View(self, day)
        return view

    def ordered(self, name: str) -> tuple[list[Any], list[date]]:
        """Entries of one field by (date, id), and their dates for bisection."""
        found = self._read.get(name)
        if found is None:
            found = self._in_order(name)
            if name in WITH_CLASSES and self._reads_classes:
                found = self._with_classes(*found)
            self._read[name] = found
        return found

    def _in_order(self, name: str) -> tuple[list[Any], list[date]]:
        found = self._ordered.get(name)
        if found is None:
            entries, own = list[Any](getattr(self.record, name)), name in OF_THE_EPISODE
            entries = [e for e in entries if not (e.history and e.on < self.began)] if own else entries
            dates = [e.on for e in entries]
            if not all(map(lt, dates, dates[1:])):
                # Of one day the order of recording, which the ids of a file taken later do not follow.
                entries.sort(key=_AS_RECORDED)
                dates = [e.on for e in entries]
            found = self._ordered[name] = (entries, dates)
        return found

    @Lazy
    def _reads_classes(self) -> bool:
        """Whether the case ever was in a pathway that reads an exercise as of another class."""
        codes = {self.record.pathway, *(pathway_code(step.stage) for step in self.record.steps)}
        return not codes.isdisjoint(self.rules.classes_in)

    def _with_classes(self, entries: list[Any], dates: list[date]) -> tuple[list[Any], list[date]]:
        """The same entries, each with the load classes of the pathway that the case was in on its day."""
        return [read_in(e, self._classes_on(e.on)) for e in entries], dates

    def _classes_on(self, day: date) -> dict[str, str]:
        span = self.span_on(day)
        pathway = self.pathway_of(span.stage if span else None)
        return self.rules.classes_in.get(pathway.code, {}) if pathway else {}

    @Lazy
    def began(self) -> date:
        """The day the record of this case began: nothing from then on can be filed as history."""
        seen = [e.on for e in (*self.record.visits, *self.record.steps) if not e.history]
        return min([self.record.registered_on, *seen])

    @Lazy
    def spans(self) -> tuple[Span, ...]:
        """Every stay in a stage, oldest first."""
        steps: list[Step] = self.ordered("steps")[0]
        pairs = zip_longest(steps, steps[1:])
        return tuple(Span(s.stage, s.on, later.on if later else None, s) for s, later in pairs)

    @Lazy
    def pathway_changes(self) -> list[tuple[date, Pathway | None]]:
        """The first day of each stay in another pathway than that of the stay before it, and that pathway."""
        stays = [(span.start, self.pathway_of(span.stage)) for span in self.spans]
        return [after for before, after in pairwise(stays) if before[1] is not after[1]]

    def span_on(self, day: date) -> Span | None:
        """The stay the case was in on ``day``; the day of a step belongs to the new stage."""
        steps, dates = self.ordered("steps")
        at = bisect_right(dates, day)
        return self.spans[at - 1] if at and steps else None

    def in_pathway_since(self, day: date) -> date | None:
        """The day the pathway the case was in on ``day`` was entered, its stages taken together."""
        since: date | None = None
        now: Pathway | None = None
        for span in reversed([s for s in self.spans if s.start <= day]):
            pathway = self.pathway_of(span.stage)
            if since is not None and pathway is not now:
                break
            since, now = span.start, pathway
        return since

    @Lazy
    def _read_spans(self) -> tuple[tuple[date, date], ...]:
        """Dates whose sessions and mornings were all read: from, and up to but not including."""
        since = self.record.known_from
        return self.record.known_spans or ((since or date.min, date.max),)

    def reads(self, first: date, last: date) -> bool:
        """Whether every session and morning of these days, both included, was read."""
        newest = self.record.known_from
        return newest is None or first >= newest or first >= self.read_from(last)

    def sure(self, first: date, last: date) -> None:
        """Nothing if so; else :class:`NeedsFullHistory`."""
        if not self.reads(first, last):
            raise NeedsFullHistory

    def read_from(self, day: date) -> date:
        """The first day from which on, up to ``day``, nothing is missing; the day after it where that is."""
        return next((low for low, high in self._read_spans if low <= day < high), day + DAY)

    def pathway_of(self, stage: str | None) -> Pathway | None:
        """The pathway holding a stage code; the case's own where the stage is unknown."""
        if stage not in self._pathways:
            pathways = self.rules.pathways
            code = pathway_code(stage) if stage else self.record.pathway
            own = pathways.get(code) or pathways.get(self.record.pathway)
            holding = (p for p in pathways.values() if stage and p.stage(stage))
            self._pathways[stage] = next(holding, own)
        return self._pathways[stage]

    def stage_on(self, day: date) -> Stage | None:
        """The stage on ``day``. Before placing: the pathway's first. None when the rule file lacks it."""
        span = self.span_on(day)
        code = span.stage if span else None
        pathway = self.pathway_of(code)
        if pathway is None:
            return None
        return pathway.stage(code) if code else pathway.stages[0]


@dataclass(frozen=True, eq=False)
class View:
    """A history on the clinic date ``today``: entries that happened later do not exist yet."""

    history: History
    today: date
    kept: dict[Hashable, Any] = field(default_factory=dict[Hashable, Any], init=False, repr=False)
    """Its entries by field, and what was worked out: :func:`armrise.store.clinic.case.once.once_a_view`."""

    @classmethod
    def of(cls, record: CaseRecord, rules: Rules, today: date) -> View:
        """The view of ``record`` under ``rules`` on ``today``."""
        return History(record, rules).on(today)

    def at(self, day: date) -> View:
        """The same history on another clinic date."""
        return self.history.on(day)

    def answers(self, answer: Entry, trouble: Entry) -> bool:
        """Whether ``answer`` can have answered ``trouble``: on its day or later, and recorded after it.

        What is told late is not answered by what was done before, nor is what a file brought by what was
        recorded here before it came. Of two entries recorded at one instant the order of entry decides.
        """
        return answer.on >= trouble.on and not self.told_after(trouble, answer.recorded_at, answer.id)

    def told_after(self, entry: Entry, instant: datetime, entry_id: int) -> bool:
        """Whether ``entry`` was told here after the entry ``entry_id``, which was recorded at ``instant``."""
        after = (entry.recorded_at, entry.id) > (instant, entry_id)
        return after or not self.record.could_see(entry_id, entry.id)

    @property
    def record(self) -> CaseRecord:
        """The record looked at."""
        return self.history.record

    @property
    def rules(self) -> Rules:
        """The rule version in force."""
        return self.history.rules

    def upto(self, name: str) -> list[Any]:
        """Entries of one field of the record that had happened by today, oldest first."""
        if (found := self.kept.get(name)) is None:
            entries, dates = self.history.ordered(name)
            found = self.kept[name] = entries[: bisect_right(dates, self.today)]
        return found

    def since(self, name: str, first: date | None) -> list[Any]:
        """The same, from ``first`` (inclusive) on."""
        found = self.upto(name)
        return found if first is None else found[bisect_left(self.history.ordered(name)[1], first) :]

    def yes_or_no(self, name: str, first: date | None = None) -> Finding | None:
        """The newest finding ``name`` from ``first`` on that says yes or no; "not asked" says neither."""
        said = self.since("findings", first)
        return newest([f for f in said if f.name == name and f.answer in ("yes", "no")])

    # --- where the case stands -------------------------------------------------------------------------

    @Lazy
    def span(self) -> Span | None:
        """The present stay in a stage."""
        return self.history.span_on(self.today)

    @Lazy
    def pathway(self) -> Pathway | None:
        """The present pathway, None when no rule file has it."""
        return self.history.pathway_of(self.span.stage if self.span else None)

    @Lazy
    def instruments(self) -> dict[str, InstrumentSpec]:
        """The outcome scores, with the figures of the present pathway where it has its own (ruling 88)."""
        key = ("instruments", self.pathway.code if self.pathway else None)
        return self.history.once(key, lambda: self.rules.instruments_in(self.pathway))

    @Lazy
    def stage(self) -> Stage | None:
        """The present stage; None before placing, and when the rule file no longer has it."""
        return self.pathway.stage(self.span.stage) if self.pathway and self.span else None

    @Lazy
    def next_stage(self) -> Stage | None:
        """The stage after the present one, None in the last."""
        if self.pathway is None or self.stage is None:
            return None
        at = self.pathway.index(self.stage.code) + 1
        return self.pathway.stages[at] if at < len(self.pathway.stages) else None

    @property
    def first_stage(self) -> bool:
        """True in the pathway's first stage, where nothing lies behind."""
        return bool(self.pathway and self.stage and self.pathway.index(self.stage.code) == 0)

    @Lazy
    def episode_start(self) -> date | None:
        """The day a reopening began a new episode; None while the record holds one episode."""
        start: date | None = None
        for reopened in self.upto("reopenings"):
            allowed = timedelta(days=self.rules["reopening.same_episode_days"])
            closed = [d.on for d in self.upto("discharges") if d.on <= reopened.on]
            late = bool(closed) and reopened.on - closed[-1] > allowed
            if reopened.new_mechanism or late:
                start = reopened.on
        return start

    @Lazy
    def _pathway_changes(self) -> list[tuple[date, Pathway | None]]:
        """Days on which the episode went over to another pathway, oldest first."""
        start = self.episode_start
        found = [change for change in self.history.pathway_changes if change[0] <= self.today]
        return found if start is None else [change for change in found if change[0] >= start]

    @Lazy
    def pathway_start(self) -> date | None:
        """The day the present pathway began, when another went before it; else the episode's start."""
        return self._pathway_changes[-1][0] if self._pathway_changes else self.episode_start

    @Lazy
    def segment_start(self) -> date | None:
        """The day surgery or an injury opened the present pathway in mid-episode; else the episode's start.

        What went before an operation is another tissue's history and no yardstick. A change between two
        pathways without one (stiffness found on the way) goes on in the same history.
        """
        healing = [day for day, pathway in self._pathway_changes if pathway and pathway.clock]
        return healing[-1] if healing else self.episode_start

    @Lazy
    def first_visit(self) -> date | None:
        """The first treatment visit of the present pathway: checkpoints and score dates count from it."""
        return self._first_visit_from(self.segment_start)

    @Lazy
    def episode_first_visit(self) -> date | None:
        """The first visit of the episode, whatever pathway it began on."""
        return self._first_visit_from(self.episode_start)

    def _first_visit_from(self, start: date | None) -> date | None:
        dates = self.history.ordered("visits")[1]
        at = bisect_left(dates, start) if start else 0
        return dates[at] if at < len(dates) and dates[at] <= self.today else None

    @Lazy
    def last_visit(self) -> Visit | None:
        """The newest visit of the episode."""
        visits, start = self.upto("visits"), self.episode_start
        return visits[-1] if visits and (start is None or visits[-1].on >= start) else None

    @Lazy
    def stage_start(self) -> date | None:
        """The day of the last step (day 0 of the stage)."""
        return self.span.start if self.span else None

    @Lazy
    def closed(self) -> Discharge | None:
        """The discharge in force, None while the case is open."""
        discharge: Discharge | None = newest(self.upto("discharges"))
        reopened: Reopen | None = newest(self.upto("reopenings"))
        if discharge is None:
            return None
        if reopened and (reopened.on, reopened.id) >= (discharge.on, discharge.id):
            return None
        return discharge

    @property
    def waiting(self) -> bool:
        """True while the first visit has not happened."""
        return self.span is None and not self.upto("visits")

    # --- healing ----------------------------------------------------------------------------------------

    def onset(self) -> Onset | None:
        """The surgery or injury from which the pathway's healing counts; the newest of its kind."""
        return self.onset_for(self.pathway)

    def onset_for(self, pathway: Pathway | None, day: date | None = None) -> Onset | None:
        """The newest onset of the kind ``pathway`` counts from, as it stood on ``day`` (default today)."""
        if pathway is None or pathway.clock is None:
            return None
        when = self.today if day is None else day
        return newest([o for o in self.upto("onsets") if o.what == pathway.clock and o.on <= when])

    def orders_on(self, day: date) -> list[Orders]:
        """Surgeon's orders dated up to ``day``, oldest first."""
        return [o for o in self.upto("orders") if o.on <= day]

    def last_order(self, field: str, day: date) -> tuple[Any, Orders] | None:
        """The newest value that orders dated up to ``day`` give ``field``, and those orders; else None."""
        found = [(value, o) for o in self.orders_on(day) if (value := getattr(o, field)) is not None]
        return newest(found)

    def sure(self, day: date) -> None:
        """Nothing if all that was told from ``day`` to today was read; else :class:`NeedsFullHistory`."""
        self.history.sure(day, self.today)

    def days_since(self, day: date | None) -> int | None:
        """Calendar days from ``day`` to today."""
        return None if day is None else (self.today - day).days
