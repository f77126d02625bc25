"""Pain and waking as told at visits, series by series: the highest value of each date (rulings 64 and 94)."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.case.measured import every_real, number
from armrise.store.clinic.case.naming import tissue_onsets
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.masking import mask_days
from armrise.store.clinic.pain.rises import LETTERS, NIGHT, REST, USUAL_MORNING, Figures, Point
from armrise.store.record.kinds.head import Entry
from armrise.store.rules.pathway import Rules


@once_a_view
def series_start(view: View) -> date | None:
    """First day whose values count: first visit, reopening, visit that assessed an injury, tissue settled."""
    settle, events = timedelta(days=view.rules["visit.settle_days"]), view.upto("events")
    assessed = [v for v in view.upto("visits") if v.injury_assessed] if events else []
    starts = [view.episode_first_visit, *(r.on for r in view.upto("reopenings"))]
    starts += [o.on + settle for o in tissue_onsets(view)]
    for event in events:
        starts.append(next((v.on for v in assessed if view.answers(v, event)), None))
    return max((day for day in starts if day), default=None)


def all_points(view: View) -> dict[str, list[Point]]:
    """Each series from its start on, oldest first, of two values of a date the higher; none where no value
    can have made a cause true."""
    told = _told_since(view)
    if not told or not _may_have_risen(told, Figures.of(view.rules), view.rules):
        return {}
    spans = _masked_spans(view)
    return {name: _points(found, spans) for name, found in told.items()}


def _told_since(view: View) -> dict[str, list[Told]]:
    """The values of each series from its start on."""
    start, found = series_start(view), dict[str, list[Told]]()
    if start is None:
        return found
    for name, (told, dates) in view.history.once("told at visits", lambda: _told(view)).items():
        first, last = bisect_left(dates, start), bisect_right(dates, view.today)
        if first < last:
            found[name] = told[first:last]
    return found


def _may_have_risen(told: dict[str, list[Told]], figures: Figures, rules: Rules) -> bool:
    """Whether any value lies far enough above a lower one before it, or rest and night were both as high as
    one day asks: else no cause was ever true."""
    for name, found in told.items():
        least, lowest = figures.least(name), found[0][0]
        for value, _ in found:
            if value < lowest:
                lowest = value
            elif value - lowest >= least:
                return True
    rest, night = (max((value for value, _ in told.get(name, ())), default=None) for name in (REST, NIGHT))
    if rest is None or night is None:
        return False
    return rest >= rules["visit.high_rest"] and night >= rules["visit.high_night"]


Told = tuple[Decimal, Entry]
"""A value and the entry that told it."""


def _told(view: View) -> dict[str, tuple[list[Told], list[date]]]:
    """The values of each series over the whole history, oldest first, with their dates."""
    found: dict[str, tuple[list[Told], list[date]]] = {}
    for name in LETTERS:
        measured = every_real(view.history, name)
        found[name] = [(number(m), m) for m in measured.measures], measured.dates
    told = [v for v in view.history.ordered("visits")[0] if v.usual_morning is not None]
    found[USUAL_MORNING] = [(Decimal(v.usual_morning), v) for v in told], [v.on for v in told]
    return found


def _points(told: list[Told], spans: list[tuple[date, date]]) -> list[Point]:
    """The highest value of each date, with every entry that told it."""
    found: list[Point] = []
    for value, entry in told:
        on, entries = entry.on, (entry,)
        if found and found[-1].on == on:
            last = found[-1]
            if value < last.value:
                continue
            entries = (*last.entries, entry) if value == last.value else entries
            value = last.value if value == last.value else value
            found.pop()
        masked = any(first <= on <= last for first, last in spans) if spans else False
        found.append(Point(on, value, entries, masked))
    return found


def _masked_spans(view: View) -> list[tuple[date, date]]:
    """First and last day of each masking: from the day after the medicine on (ruling 94, here only)."""
    known_days = [(m.on, mask_days(view.rules, m)) for m in view.upto("medicines")]
    return [(on + timedelta(days=1), on + timedelta(days=days)) for on, days in known_days if days]
