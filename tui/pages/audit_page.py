"""The chart of an audit: how long stays in one stage last, as a page of the charts. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days
from armrise.tui.charts.page import SOLID, Above, Column, Days, Marks, Page, Stroke

if TYPE_CHECKING:
    from armrise.store.clinic.audit.stages import StageTime

UPRIGHT = {"usual": "╎", "long": "┊"}
UNFINISHED = "+"
ROWS = 24
"""Marks that an upright line is made of: more than a chart has rows."""
ROOM, HIGH = 1.12, 1.1
"""Days and share beyond the last, so that no mark lies on the frame."""
TICK_CELLS = 10
STEPS = (1, 2, 5, 7, 10, 14, 20, 30, 50, 100, 200, 365)
TABLE = (
    Column("after"),
    Column("still there before", right=True),
    Column("moved on", right=True),
    Column("share still in the stage"),
)


@dataclass(frozen=True)
class Lengths(Days):
    """An axis of days counted from the first of a stay, not of dates."""

    @classmethod
    def up_to(cls, days: int) -> Lengths:
        """From 0 to ``days``."""
        return cls(date.min, date.min + timedelta(days=max(1, days)))

    def ticks(self, cells: int) -> list[tuple[float, str]]:
        """Round numbers of days, as far apart as their words need."""
        most = max(1, cells // TICK_CELLS)
        last = (self.today - self.first).days
        by = next((step for step in STEPS if last / step <= most), 1000)
        return [(float(n), f"day {n}") for n in range(0, last + 1, by)]


def stage_page(stage: StageTime, place: str, least: int) -> Page:
    """The step curve of a stage; ``place`` says which of how many it is, ``least`` from when a per cent."""
    marked = [(word, p.days) for word, p in (("usual", stage.usual), ("long", stage.stall)) if p]
    days = Lengths.up_to(int(max([stage.longest, *(n for _, n in marked)]) * ROOM))
    curve = stage.curve
    return Page(
        title=f"{stage.stage} {stage.name}: how long stays last ({place})",
        days=days,
        marks=[*(_upright(word, at) for word, at in marked), _unfinished(stage)],
        strokes=[Stroke([x for x, _ in curve], [y for _, y in curve], SOLID, "", "still in the stage")],
        above=[[Above(float(at), f"{word} {at}") for word, at in marked]],
        low=0,
        high=HIGH,
        ticks=(0.0, 0.5, 1.0),
        tick_words={0.0: "none", 0.5: "half", 1.0: "all"},
        notes=_notes(stage, least),
        columns=TABLE,
        rows=[
            [count_days(d.days), str(d.at_risk), str(d.events), f"{float(d.still):.2f}"] for d in stage.drops
        ],
    )


def _upright(word: str, at: int) -> Marks:
    said = word if word == "usual" else "long from here"
    return Marks([float(at)] * ROWS, [n / (ROWS - 1) for n in range(ROWS)], UPRIGHT[word], said, "muted")


def _unfinished(stage: StageTime) -> Marks:
    xs = [float(days) for days in stage.censored]
    return Marks(xs, [stage.level(days) for days in stage.censored], UNFINISHED, "has not moved on")


def _notes(stage: StageTime, least: int) -> list[str]:
    from armrise.store.clinic.audit.sheet import median_words, share_words

    told = f"{stage.moved_on} of {stage.count} stays moved on, {stage.still_there} still there"
    if stage.left_otherwise:
        told += f", {stage.left_otherwise} left otherwise"
    named = (("past usual", stage.usual), ("past long", stage.stall))
    late = [
        f"{word} {share_words(past.past, least)}, {past.not_known} not known yet"
        for word, past in named
        if past
    ]
    return [f"{told}. Median {median_words(stage)}.", *([f"{'; '.join(late).capitalize()}."] if late else [])]
