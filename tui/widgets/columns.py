"""Where the columns of the list stand at a given width. Pure: cells and words, no screen.

They depend on the width and on the whole caseload, never on what a filter shows. As the window grows, columns
come in by the order of :data:`STEPS`; the reason has what they leave, never less than in a narrower window.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from rich.cells import cell_len

from armrise.store.record.light import NamedTuple, dataclass
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

GUTTER = 3
"""The cursor, the mark of one's own, and whether something was done or came in."""
HOUR, SIDE, VERDICT = 5, 5, 9
NAME_LEAST, NAME_WHOLE = 10, 26
REASON_FULL = 40
"""Cells in which most reasons below HARM IF LEFT are said whole; other columns have the room beyond first."""


class Step(NamedTuple):
    """The columns beyond the least ones, as one arrangement has them, and the least room of the reason."""

    usual: bool = False
    trend: int = 0
    booked: bool = False
    name: int = 0
    review: bool = False
    reason: int = 0


STEPS = (
    Step(),
    Step(usual=True, reason=22),
    Step(usual=True, trend=7, reason=REASON_FULL),
    Step(usual=True, trend=7, booked=True, reason=REASON_FULL),
    Step(usual=True, trend=7, booked=True, name=NAME_LEAST, reason=REASON_FULL),
    Step(usual=True, trend=7, booked=True, name=NAME_WHOLE, review=True, reason=REASON_FULL),
    Step(usual=True, trend=14, booked=True, name=NAME_WHOLE, review=True, reason=REASON_FULL),
)


@dataclass(frozen=True)
class Plan:
    """The width of each column; 0 is a column that is not there."""

    width: int
    code: int
    stage: int
    name: int
    day: int
    trend: int
    triple: int
    age: int
    gap: int
    """Blank cells between two columns; stage and name, pain and its age have one."""
    space: int
    """Blank cells more between what was measured and what follows from it."""
    reason: int
    review: int
    booked: int
    usual: bool
    """The days in the stage with the usual ones: "24 of 35"."""
    hour: int = 0
    """When the patient comes in today, before everything else and in place of the next visit."""
    ascii_only: bool = False

    @cached_property
    def body(self) -> int:
        """Cells beside the gutter: what a line of reason may take below the first."""
        return self.width - GUTTER

    @cached_property
    def columns(self) -> list[tuple[int, int]]:
        """The columns before the reason, each with the blanks behind it."""
        one, gap = 1, self.gap
        return [
            (self.hour, gap),
            (self.code, gap),
            (SIDE, gap),
            (self.stage, one if self.name else gap),
            (self.name, gap),
            (self.day, gap),
            (self.trend, gap),
            (self.triple, one),
            (self.age, gap + self.space),
            (VERDICT, gap),
        ]

    @cached_property
    def reason_at(self) -> int:
        """Where the reason begins on the first line, counted from the gutter's end."""
        return sum(column + gap for column, gap in self.columns if column)

    @cached_property
    def ends(self) -> int:
        """Where the first line's reason ends: at the columns beyond it, or at the edge."""
        return self.body - sum(column + self.gap for column in (self.review, self.booked) if column)


class Widest(NamedTuple):
    """The cells of the longest text of each column: of none of them may a letter be cut."""

    code: int
    stage: int
    name: int
    day: int
    day_of_usual: int
    triple: int
    age: int
    review: int
    booked: int


LEAST = Widest(6, 3, NAME_LEAST, 3, 8, 5, 5, 11, 11)
"""What each of them has, whatever stands in it."""


def planned(widest: Widest, width: int, *, by_hour: bool = False, ascii_only: bool = False) -> Plan:
    """The columns in ``width`` cells by the longest texts of the caseload; ``by_hour`` led by the hour."""
    hour = HOUR if by_hour else 0
    chosen = _arranged(STEPS[0], widest, hour, width, STEPS[1].reason)
    for step, beyond in zip(STEPS[1:], (*STEPS[2:], Step(reason=width)), strict=True):
        arranged = _arranged(step, widest, hour, width, beyond.reason)
        if arranged.reason < step.reason:
            break
        chosen = arranged
    return replace(chosen, ascii_only=ascii_only)


def widest(cases: Iterable[Widest]) -> Widest:
    """The most of every column over the :func:`widths` of all cases, and what each has at least."""
    most = Widest(*map(max, zip(LEAST, *cases, strict=True)))
    return most._replace(name=min(NAME_WHOLE, most.name))


def widths(case: Standing) -> Widest:
    """The cells of each column's text for one case."""
    return Widest(
        code=_cells(case.code),
        stage=_cells(case.stage or case.pathway),
        name=_cells(case.stage_name),
        day=_cells(words.days_alone(case)),
        day_of_usual=_cells(words.days_shortly(case)),
        triple=_cells(words.triple(case.pain)),
        age=_cells(words.age_shortly(case.pain.days_ago)),
        review=_cells(words.review_shortly(case)),
        booked=_cells(words.booked_shortly(case)),
    )


def _cells(text: str) -> int:
    return len(text) if text.isascii() and text.isprintable() else cell_len(text)


def _arranged(step: Step, widest: Widest, hour: int, width: int, most: int) -> Plan:
    """One arrangement: the reason has up to ``most`` cells, then come the name, wider gaps, blanks."""
    narrow = Plan(
        width=width,
        hour=hour,
        code=widest.code,
        stage=widest.stage,
        name=min(step.name, widest.name),
        day=widest.day_of_usual if step.usual else widest.day,
        trend=step.trend,
        triple=widest.triple,
        age=widest.age,
        gap=1,
        space=0,
        reason=0,
        review=widest.review if step.review else 0,
        booked=widest.booked if step.booked and not hour else 0,
        usual=step.usual,
    )
    room = max(0, narrow.ends - narrow.reason_at)
    spare = max(0, room - most)
    name = narrow.name + min(spare, widest.name - narrow.name) if step.name else 0
    named = replace(narrow, name=name, reason=min(room, most))
    wider = replace(named, gap=2)
    chosen = wider if wider.ends - wider.reason_at >= named.reason else named
    return replace(chosen, space=max(0, chosen.ends - chosen.reason_at - chosen.reason))
