"""What a dose proposal rests on: versions of an item, its sessions, how full they were, what is to blame."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import pairwise, takewhile

from armrise.store.clinic.case.lazy import Lazy
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.pain.classes import FLARE, GOOD, OVER, RAISED
from armrise.store.clinic.pain.response import Judged, Line, Response
from armrise.store.clinic.programme.parts import (
    Dose,
    Home,
    amount,
    counts_hold,
    is_raised,
    load_change,
    same_dose,
)
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem, is_again
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import words_date

FULL, SHORT, UNTOLD, ABSENT = "full", "short", "not told", "not done"
OF_THE_MORNING = "next morning"
_TOLD_AS: dict[str | None, str] = {"whole": FULL, "part": SHORT}
"""How much was done where the sets were not counted."""


def comes_after(session: Session, change: ProgrammeItem) -> bool:
    """Whether a session was done at a changed dose: later, or recorded later on the same day (ruling 57)."""
    if session.on != change.on:
        return session.on > change.on
    return (session.recorded_at, session.id) > (change.recorded_at, change.id)


class Blame(NamedTuple):
    """Which exercises answer for pain after a session, and why; every other one holds."""

    exercises: tuple[str, ...]
    why: str


class CaseFacts:
    """What all items of one case share: sessions oldest first, weights at home, what forbids raising."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.rules = view.rules
        self.home = Home.of(view)
        self.response = Response.of(view)
        self.judged = Line(self.response, view.today, view.segment_start)
        self.known = Line(self.response, view.today, view.segment_start, known=True)
        self.items = in_force(view)
        self._blame: dict[date, Blame] = {}

    @property
    def newest(self) -> Judged | None:
        """The newest session of all."""
        return self.judged[-1] if self.judged else None

    @property
    def newest_known(self) -> Judged | None:
        """The newest session whose class says something."""
        return self.known[-1] if self.known else None

    def blame(self, judged: Judged) -> Blame:
        """The exercises to blame for a session: raised in the days before it, else of the heaviest class.

        Two raised answer both. An exercise that the session lists as not done is not to blame; where the
        session names none of the programme, all of it was done. What was in force then counts, so that
        accepting one change does not pass the blame on.
        """
        if judged.on not in self._blame:
            self._blame[judged.on] = self._find_blame(judged)
        return self._blame[judged.on]

    def _find_blame(self, judged: Judged) -> Blame:
        held = self._in_force_at(judged.session)
        done = {i.exercise for s in self.response.by_date[judged.on] for i in s.items if i.sets != 0}
        names = [name for name in held if name in done] or list(held)
        raised = {name: on for name in names if (on := self._raised_before(held[name], judged))}
        if raised:
            dated = ", ".join(f"{name} ({words_date(on)})" for name, on in raised.items())
            return Blame(tuple(raised), f"raised last: {dated}")
        order = self.rules.class_order
        top = max((order.index(held[n][-1].load_class) for n in names), default=-1)
        heaviest = [n for n in names if order.index(held[n][-1].load_class) == top]
        return Blame(tuple(heaviest), f"nothing was raised; heaviest: {', '.join(heaviest)}")

    def _in_force_at(self, session: Session) -> dict[str, list[ProgrammeItem]]:
        """The versions of each exercise in force when a session was done."""
        found: dict[str, list[ProgrammeItem]] = {}
        for version in self.view.upto("programme"):
            if comes_after(session, version):
                found.setdefault(version.exercise, []).append(version)
        start = self.view.segment_start
        return {
            name: versions
            for name, versions in found.items()
            if versions[-1].stopped is None and (start is None or versions[-1].on >= start)
        }

    def _raised_before(self, versions: list[ProgrammeItem], judged: Judged) -> date | None:
        """The last day, of those before, on which it went up or was added to a running programme."""
        recent = [
            version.on
            for before, version in zip([None, *versions], versions, strict=False)
            if (judged.on - version.on).days <= self.rules["dose.blame_days"]
            and self._asks_more(before, version)
        ]
        return max(recent, default=None)

    def _asks_more(self, before: ProgrammeItem | None, version: ProgrammeItem) -> bool:
        if before is None or before.stopped is not None:
            return any(v.on < version.on for v in self.view.upto("programme") if v.stopped is None)
        return version.stopped is None and is_raised(before, version, self.rules.class_order)


class Told(NamedTuple):
    """One date's session as it bears on one item: its class, and whether the whole dose was done."""

    judged: Judged
    full: str
    at_this_dose: bool

    @property
    def on(self) -> date:
        """The date of the session."""
        return self.judged.on


class ItemFacts:
    """One exercise of the programme: its versions since it was last taken up, and its sessions."""

    def __init__(self, case: CaseFacts, item: ProgrammeItem) -> None:
        self.case = case
        self.item = item
        self.rules = case.rules
        self.today = case.view.today

    @Lazy
    def versions(self) -> list[ProgrammeItem]:
        """Versions since the exercise was last taken up, oldest first."""
        found: list[ProgrammeItem] = []
        for version in self.case.view.upto("programme"):
            if version.exercise == self.item.exercise:
                found = [] if version.stopped is not None else [*found, version]
        return found

    @Lazy
    def set_on(self) -> ProgrammeItem:
        """The version that set the present dose: later ones that ask for the same change nothing."""
        first = self.versions[-1]
        for before in reversed(self.versions[:-1]):
            if not same_dose(before, self.item) or (self.is_mobility and is_again(before, first)):
                break
            first = before
        return first

    @property
    def is_mobility(self) -> bool:
        """True for movement without load: with pain its arc gets smaller, and it is not cut (ruling 81)."""
        return self.item.load_class in self.rules.mobility_classes

    @Lazy
    def last_load_increase(self) -> date | None:
        """The day the weight or band last went up, None if it never did."""
        up = [after.on for before, after in pairwise(self.versions) if load_change(before, after) > 0]
        return up[-1] if up else None

    @Lazy
    def raised_last(self) -> bool:
        """Whether the present dose asks for more than the one before it."""
        at = self.versions.index(self.set_on)
        return bool(at) and is_raised(self.versions[at - 1], self.set_on, self.rules.class_order)

    @property
    def newest_first(self) -> Iterator[Told]:
        """The sessions as they bear on the item, from the newest back; two of a day are one, the worse."""
        return (self._told(judged) for judged in reversed(self.case.judged))

    def _told(self, judged: Judged) -> Told:
        sessions = self.case.response.by_date[judged.on]
        full = min((self._full(s) for s in sessions), key=(SHORT, UNTOLD, FULL, ABSENT).index)
        return Told(judged, full, all(comes_after(s, self.set_on) for s in sessions))

    def _full(self, session: Session) -> str:
        """Whether a session did the whole dose; one that names no exercise says nothing of it."""
        if not session.items:
            return UNTOLD
        done = [i for i in session.items if i.exercise == self.item.exercise]
        found = min((self._done(i) for i in done), key=(SHORT, UNTOLD, FULL).index, default=ABSENT)
        return _TOLD_AS.get(session.dose, UNTOLD) if found == UNTOLD else found

    def _done(self, done: DoneItem) -> str:
        item = self.item
        wanted = item.reps if counts_hold(item) else amount(item)
        pairs = ((done.sets, item.sets), (done.reps, wanted), (done.load, item.load), (done.band, item.band))
        asked = [(did, ask) for did, ask in pairs if ask is not None]
        if any(did is not None and did < ask for did, ask in asked):
            return SHORT
        return UNTOLD if any(did is None for did, _ in asked) else FULL

    @property
    def done(self) -> Iterator[Told]:
        """The sessions in which the item was done, or may have been, from the newest back."""
        return (t for t in self.newest_first if t.full != ABSENT and not self._left_out(t.judged))

    def done_on(self, judged: Judged) -> list[DoneItem]:
        """What the sessions of one date say of the item."""
        items = [i for s in self.case.response.by_date[judged.on] for i in s.items]
        return [i for i in items if i.exercise == self.item.exercise]

    def _left_out(self, judged: Judged) -> bool:
        """True when every session of the date names the item with no set done."""
        sets = [i.sets for i in self.done_on(judged)]
        return bool(sets) and all(number == 0 for number in sets)

    @Lazy
    def last(self) -> Told | None:
        """The newest session in which the item was done."""
        return next(self.done, None)

    @property
    def at_dose(self) -> Iterator[Told]:
        """Sessions since the present dose was set, in which the item was asked for, from the newest back."""
        since = takewhile(lambda t: t.on >= self.set_on.on, self.newest_first)
        return (t for t in since if t.at_this_dose and t.full != ABSENT)

    @Lazy
    def last_at_dose(self) -> Told | None:
        """The newest of them."""
        return next(self.at_dose, None)

    def good_run(self, full: str = FULL) -> list[Told]:
        """Good sessions in a row, newest first, all ``full`` (or all short); incomplete ones are skipped."""
        run: list[Told] = []
        for told in self.newest_first:
            if not told.at_this_dose or (self.today - told.on).days > self.rules["dose.window_days"]:
                break
            if told.judged.klass in (FLARE, OVER, RAISED):
                break
            if told.judged.klass != GOOD or told.full in (UNTOLD, ABSENT):
                continue
            if told.full != full:
                break
            run.append(told)
        return run

    def answered(self, judged: Judged) -> ProgrammeItem | None:
        """The change that has answered a painful session: a version of that day or later that asks no more.

        It has to be recorded after the pain was told: after the next morning, where that made the flare.
        """
        first, told = _known(self.case, judged)
        every = [v for v in self.case.view.upto("programme") if v.exercise == self.item.exercise]
        for before, after in pairwise(every):
            later = after.on >= first and not any(
                self.case.view.told_after(e, after.recorded_at, after.id) for e in told
            )
            if later and not is_raised(before, after, self.rules.class_order):
                return after
        return None

    @property
    def current(self) -> Dose:
        """The dose as it stands."""
        return Dose.of(self.item)


def _known(case: CaseFacts, judged: Judged) -> tuple[date, tuple[Entry, ...]]:
    """The first day, and the entries, from which the pain of a session was on record."""
    session: Entry = judged.session
    if not judged.cause.startswith(OF_THE_MORNING) or judged.session.morning == judged.morning:
        first = judged.on + DAY if judged.cause.startswith(OF_THE_MORNING) else judged.on
        return first, (session,)
    morning = judged.on + DAY
    told = [m for m in case.view.upto("mornings") if m.on == morning and m.pain == judged.morning]
    entries: list[Entry] = told or [session]
    return morning, (min(entries, key=lambda e: (e.recorded_at, e.id)), session)
