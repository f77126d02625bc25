"""A clinician who reads the list each working day and acts on it, within so many slots and calls a day."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.standing.triage import order
from armrise.store.record.kinds.head import ANSWERABLE
from tests.simulated.chart import DAY, Chart
from tests.simulated.truth import draw

FIRST_DAY = date(2026, 1, 5)
WEEKEND = 5
URGENT = ("today", "harm if left")
BY_DECISION = {
    "VIS": "worse at visits",
    "FUN": "losing lift or strength",
    "STF": "losing range",
    "WRS": "worse, or not responding",
    "STL": "stalled",
    "LOW": "seldom done",
    "OVR": "over the limit",
}
"""What a decision at a visit answers, once the shoulder was examined."""


@dataclass(frozen=True, slots=True)
class Look:
    """What the rules said of a case: on the morning list, or at a visit after the examination."""

    chart: Chart
    day: date
    at_visit: bool
    stage: str
    entered: date
    standing: Standing
    known: int
    """Entries there were then."""


@dataclass(slots=True)
class Clinic:
    """The charts of one clinic, and everything its rules said."""

    charts: Sequence[Chart]
    looks: list[Look] = field(default_factory=list)
    slots: dict[date, int] = field(default_factory=dict)

    @property
    def a_day(self) -> int:
        """Slots and calls of a working day."""
        return max(2, len(self.charts) // 8)

    def free(self, day: date) -> date:
        """The first working day from ``day`` on that has a slot."""
        while day.weekday() >= WEEKEND or self.slots.get(day, 0) >= self.a_day:
            day += DAY
        return day

    def book(self, chart: Chart, today: date, wanted: date) -> None:
        """A slot on ``wanted`` or the first free day after it; an earlier one stays."""
        slot = self.free(max(wanted, today + DAY))
        if chart.booked and today < chart.booked <= slot:
            return
        self.slots[slot] = self.slots.get(slot, 0) + 1
        chart.booked = slot
        chart.made.booked(slot, made=today)

    def look(self, chart: Chart, day: date, *, at_visit: bool) -> Standing:
        """Ask the rules, and keep what they say."""
        standing, known = chart.standing(day), len(chart.made.entries)
        self.looks.append(Look(chart, day, at_visit, chart.made.stage, chart.entered, standing, known))
        return standing

    # -- a day -------------------------------------------------------------------------------------------

    def day(self, today: date) -> None:
        """One day: what is told, then the list, the visits, the calls."""
        known = [c for c in self.charts if c.seen and c.closed is None]
        for chart in known:
            chart.overnight(today)
            chart.events(today)
        if today.weekday() >= WEEKEND:
            return
        listed = {c.shoulder.code: self.look(c, today, at_visit=False) for c in known}
        for chart in known:
            if chart.booked == today:
                self.visit(chart, today)
        for chart in self.charts:
            if chart.shoulder.first == today:
                chart.place(today)
                self.book(chart, today, today + chart.stage.review.whole * DAY)
        unseen = {c.shoulder.code: c for c in known if c.closed is None and today not in c.seen}
        rows = [s for s in order(listed.values()) if s.code in unseen and s.tier in (*URGENT, "contact owed")]
        open_rows = [s for s in rows if s.placing is not None and not s.placing.in_hand]
        for standing in open_rows[: self.a_day]:
            self.call(unseen[standing.code], today, standing, urgent=standing.tier in URGENT)

    def call(self, chart: Chart, today: date, standing: Standing, *, urgent: bool) -> None:
        """Ring: cut the load in a flare, book, and say until when each reason is answered."""
        if chart.rng.random() < 0.2:
            chart.made.contact(today, "no answer")
            return
        flare = any(r.code == "FLA" for r in standing.reasons)
        news = "yes" if (item := chart.shoulder.told(today)) else "no"
        chart.made.contact(today, "spoke", load_cut=flare, anything_new=news)
        if item:
            chart.made.screen(today, item, "yes", source="patient reported")
        if flare:
            chart.shoulder.cuts.append(today)
            chart.accept(today)
        self.book(chart, today, today + (DAY if urgent else 5 * DAY))
        assert chart.booked is not None
        for reason in standing.reasons:
            if reason.tier in URGENT and (chart.booked - today).days <= 14:
                chart.made.in_hand(today, reason.name, chart.booked)

    # -- a visit -----------------------------------------------------------------------------------------

    def visit(self, chart: Chart, today: date) -> None:
        """Examine, type the weeks, record what is missing, then act on what the rules say."""
        chart.booked = None
        chart.made.attendance(today, "attended")
        if not chart.diary:
            chart.session(today - DAY, today)
            chart.summary(today)
        self.ask(chart, today)
        chart.examine(today)
        chart.record_missing(today)
        standing = self.look(chart, today, at_visit=True)
        chart.seen.append(today)
        self.answer(chart, today, standing)
        self.decide(chart, today, standing)
        if chart.closed is None:
            self.book(chart, today, today + chart.stage.review.whole * DAY)

    def ask(self, chart: Chart, today: date) -> None:
        """The visit with the one question; a "yes" is named."""
        item = chart.shoulder.told(today)
        events = bool(chart.made.record().events)
        usual = chart.rated(chart.shoulder.level(today))
        news = "yes" if item else "no"
        chart.made.visit(today, usual_morning=usual, injury_assessed=events, anything_new=news)
        if item:
            chart.made.screen(today, item, "yes", source="patient reported")
        if events:
            if "A2" in chart.stage.allowed:
                chart.finding("can lift to 90 degrees", today)
            self.settle(chart, today, "fall")

    def answer(self, chart: Chart, today: date, standing: Standing) -> None:
        """An entry for each live reason that a visit can answer."""
        made, live = chart.made, {r.code for r in standing.reasons}
        for code, about in BY_DECISION.items():
            if code in live and about in ANSWERABLE:
                made.decision(today, about)
        if live & {"STF", "FUN", "FND"} and chart.made.stage.startswith("PO"):
            made.contact(today, "spoke", surgeon_told=True)
        if "FLA" in live:
            made.contact(today, "spoke", load_cut=True, note="at the visit")
            chart.shoulder.cuts.append(today)
        if "PRM" in live:
            chart.score(chart.region, today)
        if "LTR" in live:
            made.letter(today, "progress")
        if "FLA" in live or chart.shoulder.flare(today) is None:
            chart.accept(today)

    def decide(self, chart: Chart, today: date, standing: Standing) -> None:
        """Step on, step back, refer or close, as the verdict says."""
        word = standing.verdict.word
        last = standing.verdict.line == "ready to discharge"
        if word is Word.READY and last:
            chart.made.discharge(today, "goal met")
            chart.closed = today
        elif word is Word.READY:
            chart.step(today, 1)
        elif word is Word.STEP_BACK and not chart.stage.protected:
            chart.step(today, -1)
        elif word is Word.REFER:
            self.refer(chart, today, standing)

    def refer(self, chart: Chart, today: date, standing: Standing) -> None:
        """Refer once; a shoulder that is in danger leaves for whoever treats it at the next visit."""
        about = standing.verdict.rule if standing.verdict.rule in ANSWERABLE else "other"
        referred = any(r.about == about for r in chart.made.record().referrals)
        chart.made.referral(today, about)
        if about == "possible red flag":
            chart.made.in_hand(today, about, today + 7 * DAY)
            if not referred:
                return
            chart.made.flag_outcome(today, outcome="referred and answered")
        danger = chart.shoulder.endangered(today)
        if danger and danger.kind in ("wound", "nerve"):
            self.settle(chart, today, danger.kind)
        elif danger and referred:
            chart.made.discharge(today, "referred on")
            chart.closed = today

    def settle(self, chart: Chart, today: date, kind: str) -> None:
        """A danger of this kind is over from tomorrow on."""
        danger = chart.shoulder.endangered(today)
        if danger and danger.kind == kind:
            chart.shoulder.settled = today + DAY


def working_days(first: date, count: int) -> Iterator[date]:
    """Every calendar date from ``first`` until ``count`` working days are over."""
    day = first
    while count:
        yield day
        count -= day.weekday() < WEEKEND
        day += DAY


def run(seed: int, *, shoulders: int = 40, days: int = 60, diary: bool) -> Clinic:
    """One clinic of ``shoulders`` over ``days`` working days; first visits lie in the first two weeks."""
    rng = random.Random(seed)
    dates = list(working_days(FIRST_DAY, days))
    first = [day for day in dates[:14] if day.weekday() < WEEKEND]
    drawn = [draw(rng, n + 1, first[n % len(first)], len(dates)) for n in range(shoulders)]
    clinic = Clinic([Chart(s, diary=diary, rng=random.Random(f"{seed} {s.code}")) for s in drawn])
    for day in dates:
        clinic.day(day)
    return clinic
