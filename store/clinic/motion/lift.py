"""Losing lift or strength: what the arm can do by itself, against the best it could (rulings 65, 94 and 95).

An arm that is lifted less while it can still be moved as far has lost strength and not range. It ends when it
is back or answered; what was answered speaks again once more is lost.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable, Iterator
from datetime import date, timedelta
from decimal import Decimal
from itertools import islice
from typing import NamedTuple

from armrise.store.clinic.case.lazy import Lazy
from armrise.store.clinic.case.measured import every_real
from armrise.store.clinic.case.naming import SURGEON_TOLD, covers, entries_about, known
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import END, Turns, next_placed, turns
from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.motion.motion import REFERENCE, other_side
from armrise.store.clinic.motion.powers import FLEXION, PASSIVE, Point, Powers, Series, Shown, counts_from
from armrise.store.record.kinds.head import MEASURED, Entry
from armrise.store.record.kinds.measured import Finding
from armrise.store.record.words import plain, words_date

MATTER = "losing lift or strength"
"""What an entry names that answers it, where neither an operation nor an injury lies before it."""
CUFF = "image cuff"
LOOK = "can lift to 90 degrees"

Cause = tuple[str, str, str]
"""The letter of the ruling, the measure, and its unit."""
_SEEN: Cause = ("b", LOOK, "")
"""Cause (b) by a finding."""
_READ = (
    *("measures", "findings", "visits", "onsets", "events", "steps", "contacts"),
    *("reopenings", "discharges", "referrals", "decisions"),
)
POWER_TURNS = turns(*_READ)
"""When :func:`power_loss` can turn: by entries alone."""


def power_until(view: View) -> date:
    """The first day after the view's date on which :func:`power_loss` may be found otherwise.

    Asked first, it walks through all that the record holds, which serves most of the days before.
    """
    history = view.history
    history.once("lift walked through", lambda: _course(history.on(END)))
    course = _course(view)
    if course.today != END or is_losing(view):
        return POWER_TURNS.following(view)
    looked_ahead_to = ("onsets", "events", "findings", *(("measures",) if _compared(view) else ()))
    return min(next_placed(view, *looked_ahead_to), course.live_after(view.today))


def _compared(view: View) -> bool:
    """Whether the record holds values that judge older ones: passive lift, or that of the other side."""

    def found() -> bool:
        values = (m for m in view.history.ordered("measures")[0] if m.name in (FLEXION, PASSIVE))
        return any(m.name == PASSIVE or m.side not in (None, view.record.side) for m in values)

    return view.history.once("lift is compared", found)


_REFER = {
    "repair": "lift or strength lost after the repair: tell the surgeon",
    "injury": "lift or strength lost after an injury: image the cuff",
    "": "lift or strength lost: examine cuff and nerve",
}
_ANSWERS = {"repair": "", "injury": CUFF, "": MATTER}


class PowerLoss(NamedTuple):
    """Losing lift or strength: severity 2 or 1, in words, and what the verdict says of severity 2."""

    severity: int
    sentence: str
    evidence: tuple[int, ...]
    refer: str
    answer: str
    """The matter that answers it when an entry names it; empty where only telling the surgeon does."""

    @property
    def asked(self) -> str:
        """What to record for it to be answered."""
        return f'a decision or referral about "{self.answer}"' if self.answer else "that the surgeon was told"


@once_a_view
def is_losing(view: View) -> bool:
    """Whether the reason is true, asked for neither words nor entries."""
    return view.span is not None and not view.closed and _course(view).is_live(view.today)


def _days_of_losing(view: View) -> list[date]:
    """The past days on which the values as such turned it, and those on which fewer were known of what judges
    older ones: passive flexion measured soon after them, and the other side."""
    other = every_real(view.history, FLEXION, view.record.other_side).dates
    said = view.history.once("reference said on", lambda: _said_on(view.history))
    first = [view.episode_first_visit] if view.episode_first_visit else []
    return [*_course(view).turned, *other, *said, *first]


def _said_on(history: History) -> list[date]:
    return [finding.on for finding in history.ordered("findings")[0] if finding.name == REFERENCE]


LOSING_TURNS = Turns(("steps", "discharges", "reopenings", "onsets", "events"), _days_of_losing)
"""When :func:`is_losing` turned, looked at from the days that follow."""


@once_a_view
def power_loss(view: View) -> PowerLoss | None:
    """The reason "losing lift or strength" on the view's date, in hand or not; None when it is not true."""
    if view.span is None or view.closed:
        return None
    return _course(view).loss(view.today)


def _course(view: View) -> _Course:
    """The values walked through, once for the days that know the same entries; the longest walk serves every
    earlier day for which nothing that it looks ahead to was another one."""
    history, key = view.history, ("losing lift or strength", _looked_ahead_to(view))
    longest: _Course | None = history.memo.get(key)
    if longest and longest.serves(view):
        return longest
    course = history.once((*key, known(view, *_READ)), lambda: _Course(view))
    if longest is None or view.today > longest.today:
        history.memo[key] = course
    return course


def _looked_ahead_to(view: View) -> Hashable:
    """What judges values older than itself, but for the passive lift measured near them: where they begin to
    count, the pathway, operations and injuries, the newest value of the other side."""
    other = other_side(view, FLEXION)
    pathway = view.pathway.code if view.pathway else None
    onsets = known(view, "onsets", "events")
    return counts_from(view), pathway, _operated(view), onsets, other.id if other else None


class _Held(NamedTuple):
    """A cause that is true: how it was shown last, since when, by which entries, and what value was answered.

    The days and the entries are added to as it is shown again: ``shown`` of the days are of this one, and
    ``rests`` of the entries.
    """

    words: Callable[[], str]
    days: list[date]
    shown: int
    entries: dict[int, Entry]
    rests: int
    answered: bool = False
    at: Decimal | None = None
    """The value answered; None where a finding was."""

    @property
    def last(self) -> date:
        """The day it was shown last."""
        return self.days[self.shown - 1]

    @property
    def evidence(self) -> Iterator[Entry]:
        """The entries it rests on."""
        return islice(self.entries.values(), self.rests)

    def within(self, first: date, last: date) -> bool:
        """Whether it was shown between these days, both included."""
        at = bisect_left(self.days, first, 0, self.shown)
        return at < self.shown and self.days[at] <= last


@once_a_view
def _operated(view: View) -> bool:
    """Whether the episode was in a pathway after surgery."""
    since = view.episode_start or date.min
    stays = [stay.stage for stay in view.history.spans if since <= stay.start <= view.today]
    pathways = [view.pathway, *map(view.history.pathway_of, stays)]
    return any(pathway is not None and pathway.clock == "surgery" for pathway in pathways)


def _by_clinician(point: Point) -> bool:
    return any(m.source == MEASURED for m in point.measures)


_End = tuple[dict[Cause, _Held], dict[Cause, Point]]
"""What is held at the end of a day, and the newest value of each cause while something is."""
_NOTHING: _End = ({}, {})


class _Course:
    """All series of a case walked through day by day, for what is true at the end of each."""

    def __init__(self, view: View) -> None:
        self.view, self.powers = view, Powers(view)
        self.today, self.known = view.today, known(view, *_READ)
        self.days: list[date] = []
        """The days walked through."""
        self.ends: list[_End] = []
        self.operated = _operated(view)
        self.injuries = [o.on for o in view.upto("onsets") if o.what not in ("surgery", "gradual")]
        self.injuries += [e.on for e in view.upto("events")]
        self.held: dict[Cause, _Held] = {}
        self.newest: dict[Cause, Point] = {}
        self._walk()

    def _walk(self) -> None:
        looks: dict[date, list[Finding]] = {}
        for look in self.view.since("findings", self.powers.start):
            if look.name == LOOK:
                looks.setdefault(look.on, []).append(look)
        replies = {kind: self._replies(kind) for kind in _REFER}
        series = self.powers.series()
        suspect = {day for one in series for day in self.powers.suspect(one)}.union(looks)
        if not suspect:
            return
        days = {p.on for one in series for p in one.points}.union(looks, *replies.values())
        for day in sorted(days):
            if not self.held and day not in suspect:
                continue  # nothing can come to be true, and nothing is that could end
            for one in series:
                if point := one.on_day.get(day):
                    self._measured(one, point)
            self._seen(day, looks.get(day, []))
            for reply in replies[self._kind()].get(day, ()):
                self._answer(reply)
            self.days.append(day)
            self.ends.append(({**self.held}, {**self.newest}) if self.held else _NOTHING)

    @Lazy
    def turned(self) -> list[date]:
        """The days on which something came to be true or nothing was any more; and every day on which
        anything was entered shortly before passive flexion was measured, which judges what it showed."""
        found, before = list[date](), False
        for day, (held, _) in zip(self.days, self.ends, strict=True):
            now = any(not one.answered for one in held.values())
            if now is not before:
                found.append(day)
            before = now
        near = timedelta(days=self.view.rules["function.passive_days"])
        for point in self.powers.passive:
            first = point.on - near
            found += [first, point.on, *(day for day in self._entered if first < day < point.on)]
        return found

    @Lazy
    def _entered(self) -> list[date]:
        return sorted({entry.on for name in _READ for entry in self.view.upto(name)})

    def serves(self, view: View) -> bool:
        """Whether it says what a walk of the view's own would: it knows the same entries, or more of later
        days, none of them a passive lift near enough to judge an earlier value."""
        if view.today >= self.today:
            return known(view, *_READ) == self.known
        return not self.powers.passive_soon_after(view.today)

    def _measured(self, series: Series, point: Point) -> None:
        powers = self.powers
        for letter in powers.causes(series):
            cause = (letter, series.name, series.unit)
            self.newest[cause] = point
            shown, held = powers.shown(letter, series, point), self.held.get(cause)
            counts = shown is not None and powers.counts(letter, series, point, shown)
            if letter == "b" and _SEEN in self.held and (counts or shown is None) and _by_clinician(point):
                del self.held[_SEEN]
            if shown and counts:
                if held is None or self._speaks(held, series, point):
                    self._hold(cause, point.on, shown)
            elif held and (shown is None if letter == "b" else powers.back(series, point)):
                del self.held[cause]

    def _speaks(self, held: _Held, series: Series, point: Point) -> bool:
        """Whether ``point`` says something that nobody has answered."""
        return not held.answered or held.at is None or self.powers.further(series, held.at, point)

    def _hold(self, cause: Cause, on: date, shown: Shown) -> None:
        before = self.held.get(cause)
        goes_on = before is not None and not before.answered
        days, entries = (before.days, before.entries) if before and goes_on else ([], {})
        days.append(on)
        entries |= {e.id: e for e in shown.entries}
        self.held[cause] = _Held(shown.words, days, len(days), entries, len(entries))

    # --- the look at lifting ----------------------------------------------------------------------------

    def _seen(self, day: date, looks: list[Finding]) -> None:
        """Cause (b) as it was seen, newer than any value; only a clinician who sees it lifted clears it."""
        if lost := [f for f in looks if f.answer == "no"]:
            partner = self.powers.partner(day)
            stiff = partner is not None and partner.value < self.view.rules["function.other_least"]
            if stiff or not self.powers.lift_is_read(day) or _SEEN in self.held:
                return
            entries = (*lost, *(partner.measures if partner else ()))
            self._hold(_SEEN, day, Shown(None, entries, lambda: self._seen_words(day)))
        elif any(f.answer == "yes" and f.source == MEASURED for f in looks):
            self.held.pop(_SEEN, None)

    def _seen_words(self, day: date) -> str:
        return f"{self.powers.cannot_lift}, seen on {words_date(day)}"

    # --- answers ----------------------------------------------------------------------------------------

    def _replies(self, kind: str) -> dict[date, list[Entry]]:
        """What answers it by day: surgeon told after a repair, cuff after an injury, else the matter."""
        if kind != "repair":
            found = entries_about(self.view, _ANSWERS[kind])
        else:
            found = [e for name in SURGEON_TOLD for e in self.view.upto(name) if e.surgeon_told]
        by_day: dict[date, list[Entry]] = {}
        for reply in found:
            by_day.setdefault(reply.on, []).append(reply)
        return by_day

    def _answer(self, reply: Entry) -> None:
        for cause, held in self._live().items():
            # What is printed beside it and was measured later, passive or of the other side, is no new loss.
            if covers(self.view, reply, (e for e in held.evidence if e.on <= held.last)):
                at = self.newest[cause].value if cause in self.newest else None
                self.held[cause] = held._replace(answered=True, at=at)

    def _kind(self) -> str:
        """After a repair, whatever pathway followed it, after an injury, or neither."""
        if self.operated:
            return "repair"
        return "injury" if any(self._injured_before(h) for h in self._live().values()) else ""

    def _injured_before(self, held: _Held) -> bool:
        """Whether an injury lay shortly before any day it was shown: measured again it is no less urgent."""
        within = timedelta(days=self.view.rules["function.injury_days"])
        return any(held.within(day, day + within) for day in self.injuries)

    # --- what is true at the end ------------------------------------------------------------------------

    def _live(self) -> dict[Cause, _Held]:
        return {cause: held for cause, held in self.held.items() if not held.answered}

    def is_live(self, day: date) -> bool:
        """Whether anything is true, and not answered, on ``day``."""
        at = bisect_right(self.days, day)
        return bool(at) and any(not held.answered for held in self.ends[at - 1][0].values())

    def live_after(self, today: date) -> date:
        """The first day after ``today`` with anything true, and not answered; the end of time without one."""
        at = bisect_right(self.days, today)
        ends = zip(self.days[at:], self.ends[at:], strict=True)
        return next((on for on, (held, _) in ends if any(not h.answered for h in held.values())), date.max)

    def loss(self, day: date) -> PowerLoss | None:
        """What is true, and not answered, on ``day``."""
        at = bisect_right(self.days, day)
        self.held, self.newest = self.ends[at - 1] if at else _NOTHING
        live, kind = self._live(), self._kind()
        if not live:
            return None
        letters = {letter for letter, _, _ in self.held}
        both = "c" in letters and len(letters) > 1
        words = [self._words(cause, held) for cause, held in sorted(live.items())]
        ids = sorted({entry.id for held in live.values() for entry in held.evidence})
        worst, said = 2 if kind or both else 1, "; ".join(words)
        return PowerLoss(worst, said, tuple(ids), _REFER[kind], _ANSWERS[kind])

    def _words(self, cause: Cause, held: _Held) -> str:
        """What showed it last, and the newest value where that is a later one."""
        newest = self.newest.get(cause)
        if newest is None or newest.on == held.last:
            return held.words()
        return f"{held.words()}, now {plain(newest.value)}"
