"""Passive range, plane by plane: the values that may be compared, and what each lost against the best before.

Both are carried along over the whole history: a day looks up how far it had come by then.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import date, timedelta
from heapq import heappop, heappush
from typing import NamedTuple

from armrise.store.clinic.case.measured import every_real
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.contradictions import ever_contradicted
from armrise.store.clinic.motion.motion import degrees
from armrise.store.record.kinds.measured import Measure
from armrise.store.rules.pathway import Rules


class Loss(NamedTuple):
    """Loss of one plane at one measurement, in degrees, against the two bests."""

    plane: str
    at: Measure
    same: int | None
    anyone: int | None
    watch: bool
    act: bool
    large: bool

    @property
    def most(self) -> int:
        """The larger of the two losses."""
        return max(self.same or 0, self.anyone or 0)


# --- values that may be compared ------------------------------------------------------------------------


def best_counts_from(view: View, *, early: bool = False) -> date | None:
    """First date whose values count as best: first visit, surgery or injury, fracture date plus healing.

    ``early``: the days of healing count too.
    """
    starts, onset, pathway = [view.first_visit, view.pathway_start], view.onset(), view.pathway
    if onset and pathway:
        extra = pathway.best_from_day.whole if pathway.best_from_day and not early else 0
        starts.append(onset.on + timedelta(days=extra))
    return max([day for day in starts if day], default=None)


def is_like(one: Measure, two: Measure) -> bool:
    """Like method and position; one left unstated is taken as like, so that no loss hides behind a blank."""
    method = one.method is None or two.method is None or one.method == two.method
    position = one.position is None or two.position is None or one.position == two.position
    return method and position


class _Counted(NamedTuple):
    """The values of one plane that count, of the whole history, oldest first, with their dates."""

    values: list[Measure]
    dates: list[date]
    alike: int
    """So many of the first ones are all like each other."""


def _every_counted(view: View, plane: str, start: date | None) -> _Counted:
    (every, dates), doubtful = every_real(view.history, plane), ever_contradicted(view)
    first = bisect_left(dates, start) if start else 0
    if first or doubtful:
        every = [m for m in every[first:] if m.id not in doubtful]
        dates = [m.on for m in every]
    if len({m.method for m in every} | {None}) <= 2 and len({m.position for m in every} | {None}) <= 2:
        return _Counted(every, dates, len(every))
    methods, positions, alike = set[str | None]({None}), set[str | None]({None}), 0
    for measure in every:
        methods.add(measure.method)
        positions.add(measure.position)
        if len(methods) > 2 or len(positions) > 2:
            break
        alike += 1
    return _Counted(every, dates, alike)


def _counted(view: View, plane: str, early: bool) -> tuple[list[Measure], bool]:
    """(the values that count up to the view's date, whether they are all alike)."""
    start = best_counts_from(view, early=early)
    every = view.history.once(("counted", plane, start), lambda: _every_counted(view, plane, start))
    found = every.values[: bisect_right(every.dates, view.today)]
    return found, len(found) <= every.alike


def counted(view: View, plane: str, *, early: bool = False) -> list[Measure]:
    """Uncontradicted values of one plane that count for drift, whatever the device, oldest first."""
    return _counted(view, plane, early)[0]


def series(view: View, plane: str, *, early: bool = False) -> list[Measure]:
    """The values comparable with the newest: like method and position."""
    found, alike = _counted(view, plane, early)
    return found if alike else [m for m in found if is_like(m, found[-1])]


def older_series(view: View, plane: str, *, early: bool = False) -> list[list[Measure]]:
    """Series by another device or position that ended before the newest value and still count.

    Measuring once in another way does not show that the range has come back: an older series goes on speaking
    until a value by any device is within the watch allowance of its best.
    """
    found, alike = _counted(view, plane, early)
    rest = [] if alike else [m for m in found if not is_like(m, found[-1])]
    older: list[list[Measure]] = []
    while rest:
        one = [m for m in rest if is_like(m, rest[-1])]
        rest = [m for m in rest if m not in one]
        best = max(degrees(m) for m in one)
        if best - degrees(found[-1]) >= view.rules["drift.same_watch"]:
            older.append(one)
    return older


# --- what each lost -------------------------------------------------------------------------------------


class Lost(NamedTuple):
    """What a series had come to at one of its values."""

    loss: Loss
    first: Loss | None
    """The first loss at act level that no value since, this one included, has recovered from."""
    top: int
    """Where in the series the largest value lies, of equals the newest."""
    raters: Sequence[str | None]
    """Who measured, in the order of their first value."""


def every_counted(view: View, plane: str) -> list[Measure] | None:
    """The values of one plane that count, those of later days too; None where they are not all alike."""
    start = best_counts_from(view)
    every = view.history.once(("counted", plane, start), lambda: _every_counted(view, plane, start))
    return every.values if every.alike == len(every.values) else None


def each_lost(view: View, plane: str, found: Sequence[Measure]) -> list[Lost]:
    """What a series had come to at each of its values."""
    allowed = _Allowed.of(view.rules)
    return [
        Lost(_loss(allowed, plane, at, own, most), first, top, raters)
        for at, (own, most, first, top, raters) in zip(found, _carried(view, plane, found), strict=True)
    ]


def lost_by(view: View, plane: str, found: Sequence[Measure]) -> Lost:
    """What a series has come to at its newest value.

    Kept with the longest series looked at: an earlier day has less of it.
    """
    key = ("losses", plane, found[0].id)
    known: tuple[Sequence[Measure], list[_Carried]] = view.history.memo.get(key, ([], []))
    if known[0][: len(found)] != found:
        known = view.history.memo[key] = (found, _carried(view, plane, found))
    own, most, first, top, raters = known[1][len(found) - 1]
    return Lost(_loss(_Allowed.of(view.rules), plane, found[-1], own, most), first, top, raters)


_Carried = tuple[int | None, int, Loss | None, int, list[str | None]]
"""The best of the rater of one value, that of anyone, and the rest of :class:`Lost`."""


def _carried(view: View, plane: str, found: Sequence[Measure]) -> list[_Carried]:
    """The same at each value, the bests carried along."""
    bests: dict[str, int] = {}
    top, most, raters = 0, degrees(found[0]), list[str | None]()
    standing, allowed = _Standing(view.rules["drift.confirm_within"]), _Allowed.of(view.rules)
    of_same, of_anyone = allowed.act
    carried: list[_Carried] = []
    for place, at in enumerate(found):
        value, rater, own = degrees(at), at.rater, None
        if rater not in raters:
            raters = [*raters, rater]
        if value >= most:
            top, most = place, value
        if rater is not None:
            own = bests[rater] = max(bests.get(rater, value), value)
        carried.append((own, most, standing.up_to(value), top, raters))
        if most - value >= of_anyone or (own is not None and own - value >= of_same):
            standing.add(_loss(allowed, plane, at, own, most), value)
    return carried


class _Standing:
    """The losses at act level that no later value has recovered from, as one value comes after another."""

    def __init__(self, within: int) -> None:
        self._within = within
        self._acts: list[Loss] = []
        self._first = 0
        self._by_ceiling: list[tuple[int, int]] = []
        """(the largest value that is no recovery, place in ``_acts``), the lowest first."""
        self._over = set[int]()

    def up_to(self, value: int) -> Loss | None:
        """The oldest of them, once a later value is known."""
        while self._by_ceiling and self._by_ceiling[0][0] < value:
            self._over.add(heappop(self._by_ceiling)[1])
        while self._first in self._over:
            self._first += 1
        return self._acts[self._first] if self._first < len(self._acts) else None

    def add(self, loss: Loss, value: int) -> None:
        """One more, at a value that is known already."""
        heappush(self._by_ceiling, (value + self._within, len(self._acts)))
        self._acts.append(loss)


def loss_at(view: View, plane: str, found: Sequence[Measure], at: int) -> Loss:
    """The loss at ``found[at]`` against the bests up to it."""
    now, before = found[at], found[: at + 1]
    own = [degrees(m) for m in before if now.rater is not None and m.rater == now.rater]
    allowed = _Allowed.of(view.rules)
    return _loss(allowed, plane, now, max(own, default=None), max(degrees(m) for m in before))


class _Allowed(NamedTuple):
    """The losses from which a plane is watched, acted on, and lost by far: by the same rater, by anyone."""

    watch: tuple[int, int]
    act: tuple[int, int]
    large: tuple[int, int]

    @classmethod
    def of(cls, rules: Rules) -> _Allowed:
        same, anyone = rules["drift.same_act"], rules["drift.other_act"]
        times = rules["drift.large_multiple"]
        watch = rules["drift.same_watch"], rules["drift.other_watch"]
        return cls(watch, (same, anyone), (times * same, times * anyone))


def _loss(allowed: _Allowed, plane: str, now: Measure, own: int | None, most: int) -> Loss:
    """The loss at ``now`` against the best of its rater (None: not known who it was) and of anyone."""
    value = degrees(now)
    anyone = most - value
    same = None if own is None else own - value
    watch, act, large = (
        anyone >= of_anyone or (same is not None and same >= of_same) for of_same, of_anyone in allowed
    )
    return Loss(plane, now, same, anyone, watch, act, large)
