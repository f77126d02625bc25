"""The pages about pain: during, later and next morning against the limits; and the morning baseline."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from armrise.tui.charts.page import DASHES, DOTS, SOLID, Above, Column, Days, Marks, Page, Stroke, steps
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.view import View
    from armrise.store.clinic.series.series import Band, BaselineSeries, PainDay

DURING, LATER, MORNING, FLARE, CREPT = "○", "+", "●", "F", "C"
AT = {DURING: 0.05, LATER: 0.38, MORNING: 0.71}
"""Where each score lies in the room of its exercise day: side by side, so that none hides another."""
SCORES = {
    DURING: ("during", "during"),
    LATER: ("later", "later that day"),
    MORNING: ("morning", "next morning"),
}
"""The score that each character draws, and what the legend calls it."""
NONE_SHOWN = "No check-in in these days: a shows all days. Record a check-in (c in the case)."
NONE_RECORDED = "No check-in recorded: record one (c in the case) with pain during, later and next morning."
NO_MORNING = "No morning recorded in these days: ask for pain on waking, three mornings at least."
PAIN_TICKS = steps(0, 10, 2)
TABLE = (
    Column("exercise day"),
    Column("during", right=True),
    Column("later", right=True),
    Column("next morning", right=True),
    Column("usual", right=True),
    Column("answer to the load"),
)
BASELINE_TABLE = (
    Column("day"),
    Column("morning", right=True),
    Column("usual", right=True),
    Column("remark"),
)


def window(view: View, most: int | None) -> Days:
    """The last ``most`` days, fewer where less is on record; None: everything."""
    told = [e.on for e in (*view.upto("sessions"), *view.upto("mornings"))]
    first = min(told, default=view.today) - timedelta(days=1)
    if most is not None:
        first = max(first, view.today - timedelta(days=most - 1))
    return Days(min(first, view.today - timedelta(days=13)), view.today)


def pain_page(view: View, days: Days) -> Page:
    """Pain of every exercise day in the window, 0 to 10."""
    from armrise.store.clinic.series.series import bands, pain_days

    every = pain_days(view)
    shown = [d for d in every if d.on >= days.first]
    stays = [b for b in bands(view) if b.end is None or b.end > days.first]
    return Page(
        title=f"Pain, 0 none to 10 worst, {_span(days)}",
        days=days,
        marks=[_points(shown, char, days) for char in AT],
        strokes=_limits(stays, days),
        above=[_stages(stays, days), [Above(days.at(d.on, AT[DURING]), FLARE) for d in shown if d.flare]],
        ticks=PAIN_TICKS,
        notes=_notes(shown, stays, len(every) - len(shown), view.today),
        columns=TABLE,
        rows=[_row(d, view.today) for d in reversed(shown)],
        empty="" if shown else NONE_SHOWN if every else NONE_RECORDED,
    )


def _span(days: Days) -> str:
    return f"{words.day(days.first, days.today)} to {words.day(days.today, days.today)}"


def _points(shown: Sequence[PainDay], char: str, days: Days) -> Marks:
    name, said = SCORES[char]
    kept = [(days.at(d.on, AT[char]), getattr(d, name)) for d in shown]
    kept = [(x, float(y)) for x, y in kept if isinstance(y, int)]
    return Marks([x for x, _ in kept], [y for _, y in kept], char, said)


def _limits(stays: Sequence[Band], days: Days) -> list[Stroke]:
    """The limits during exercise and, where it differs, later, each as long as its stage."""
    found: list[Stroke] = []
    for band in stays:
        start = max(0.0, days.at(band.start))
        end = days.at(band.end) if band.end else days.end
        now = band.end is None
        split = band.later != band.during
        told = ("limit during" if split else "limit during and later") if now else ""
        found.append(Stroke([start, end], [band.during] * 2, SOLID, "L" if now else "", told, "loud"))
        if split:
            low, told = [float(band.later)] * 2, "limit later" if now else ""
            found.append(Stroke([start, end], low, DOTS, "l" if now else "", told, "loud"))
    return found


def _stages(stays: Sequence[Band], days: Days) -> list[Above]:
    return [Above(max(0.0, days.at(b.start)), f"│{b.stage} {b.name}") for b in stays]


def _notes(shown: Sequence[PainDay], stays: Sequence[Band], before: int, today: date) -> list[str]:
    notes: list[str] = []
    if stays:
        now = stays[-1]
        notes.append(
            f"Limits in {now.stage} {now.name}: during {now.during}, later {now.later},"
            f" next morning at most {now.rise} above usual."
        )
    flares = [d for d in shown if d.flare]
    if flares:
        last = flares[-1]
        count = words.plural(len(flares), "flare day")
        notes.append(f"{FLARE} {count}, the newest {words.day(last.on, today)}: {last.cause}.")
    if before:
        notes.append(f"{words.plural(before, 'earlier day')} not shown: a shows all.")
    return notes


def _row(d: PainDay, today: date) -> list[str]:
    answer = "no session" if d.klass is None else f"{d.klass}: {d.cause}" if d.cause else d.klass
    if d.days_late > 0:
        answer += f"; recorded {words.plural(d.days_late, 'day')} late"
    scores = [_said(d.during, d), _said(d.later, d), _said(d.morning, d)]
    return [words.day(d.on, today), *scores, _known(d.baseline), answer]


def _said(score: object, d: PainDay) -> str:
    if score is None:
        return "-" if d.klass is None else "not told yet"
    return str(score)


def _known(value: int | None) -> str:
    return "unknown" if value is None else str(value)


# the morning baseline


def baseline_page(view: View, days: Days) -> Page:
    """Pain on waking and its baseline, with the line from which the baseline itself has crept up."""
    from armrise.store.clinic.series.series import bands, baseline_series

    told = baseline_series(view, days.first)
    stays = [b for b in bands(view) if b.end is None or b.end > days.first]
    mornings = [(days.at(d.on, 0.5), float(d.morning)) for d in told.days if d.morning is not None]
    crept = [Above(days.at(d.on, 0.5), CREPT) for d in told.days if d.crept]
    return Page(
        title=f"Usual next-morning pain (baseline), {_span(days)}",
        days=days,
        marks=[Marks([x for x, _ in mornings], [y for _, y in mornings], MORNING, "pain on waking")],
        strokes=[*_baseline(told, days), *_creep_lines(told, days)],
        above=[_stages(stays, days), crept],
        ticks=PAIN_TICKS,
        notes=_creep_notes(told, view.today),
        columns=BASELINE_TABLE,
        rows=[
            [words.day(d.on, view.today), "-" if d.morning is None else str(d.morning), _known(d.baseline),
             "crept up" if d.crept else ""]
            for d in reversed(told.days) if d.morning is not None or d.baseline is not None
        ],
        empty="" if mornings else NO_MORNING,
    )  # fmt: skip


def _baseline(told: BaselineSeries, days: Days) -> list[Stroke]:
    """The baseline in unbroken pieces: a day without one leaves a gap."""
    pieces: list[list[tuple[float, float]]] = [[]]
    for d in told.days:
        if d.baseline is None:
            pieces.append([])
        else:
            pieces[-1] += [(days.at(d.on), float(d.baseline)), (days.at(d.on, 1.0), float(d.baseline))]
    return [
        Stroke([x for x, _ in piece], [y for _, y in piece], edge="U", words="usual")
        for piece in pieces
        if piece
    ]


def _creep_lines(told: BaselineSeries, days: Days) -> list[Stroke]:
    if told.first is None:
        return []
    value, on = told.first
    start = max(0.0, days.at(on))
    level = value + told.creep_points
    return [
        Stroke([start, days.end], [value] * 2, DASHES, "1", f"first of the stage: {value}"),
        Stroke([start, days.end], [level] * 2, DOTS, "C", f"crept from {level}", "loud"),
    ]


def _creep_notes(told: BaselineSeries, today: date) -> list[str]:
    if told.crept:
        _, low, high, since = told.crept
        return [f"{CREPT} Morning pain has crept from {low} to {high} since {words.day(since, today)}."]
    if told.first is None:
        return ["No baseline yet in this stage: three mornings make one."]
    return [f"Not crept: it counts from {told.creep_points} points above the first."]
