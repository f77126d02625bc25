"""The word of the verdict on one day after another: what it rests on is looked at again where that may have changed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from armrise.store.clinic.case.standing import Truth, Word
from armrise.store.clinic.case.turns import first_ahead, next_of
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.verdict.blocks import NOT_MET_LINES, unknown_blocks
from armrise.store.clinic.verdict.criteria import evaluate, sessions_state
from armrise.store.clinic.verdict.readiness import before_criteria, days_and_gate
from armrise.store.clinic.verdict.until import (
    criterion_until,
    days_and_gate_until,
    refer_until,
    sessions_until,
)
from armrise.store.rules.criterion import Criterion

Stays = Callable[[View, str], date]
"""The first day after the view's date on which a reason, by its code, may be found otherwise."""

_FLAGGED = ("RED", "INJ")
_REFERRED = ("FND", "FUN", "WRS")
_NOT_MET = ("LIM", "INJ", "RED", "FND", "FUN", "FLA", "VIS", "STF", "WAT")
"""The reasons whose readings the first questions of the verdict, and the lines that forbid READY, rest on."""
_PLACED_BY = ("steps", "discharges", "reopenings", "holds")


class WordByDay:
    """The word of one history's verdict on one day after another, the oldest first."""

    def __init__(self, stays: Stays) -> None:
        self.said = Word.NONE
        self.until = date.min
        """The first day on which it may be another."""
        self._stays = stays
        self._before: Word | None = None
        """What decides before the criteria do."""
        self._before_until = date.min
        self._forbidden = False
        """Whether a line beside the criteria forbids READY."""
        self._lines_until = date.min
        self._parts: dict[int, tuple[date, frozenset[Truth], Criterion | None]] = {}
        """By identity: each criterion, and days and gate, with the day from which it is judged again."""
        self._asked: list[Criterion | None] = []
        """The criteria of the stage, and None for its days with the gate of the next; first what was not met last."""

    def looks_at_reasons(self, today: date) -> bool:
        """Whether the readings of reasons are asked for on this day."""
        return today >= min(self._before_until, self._lines_until)

    def on(self, view: View) -> Word:
        """The word on the view's date."""
        if view.today >= self.until:
            self.said, self.until = self._judged(view)
        return self.said

    def _judged(self, view: View) -> tuple[Word, date]:
        if view.today >= self._before_until:
            decided = before_criteria(view)
            self._before = decided and decided.word
            self._before_until = self._undecided_until(view)
            self._asked = [None, *(view.stage.exit if view.stage else ())]
        if self._before is not None:
            return self._before, self._before_until
        if view.today >= self._lines_until:
            self._forbidden = any(True for lines in NOT_MET_LINES for _ in lines(view))
            self._lines_until = min(self._stays(view, code) for code in _NOT_MET)
        until = min(self._before_until, self._lines_until)
        if self._forbidden:
            return Word.NOT_YET, until
        return self._by_criteria(view, until)

    def _by_criteria(self, view: View, until: date) -> tuple[Word, date]:
        """The word where nothing else decides, which does so until a day."""
        states, first = set[Truth](), until
        for place, criterion in enumerate(self._asked):
            again, found = self._part(view, criterion)
            if Truth.NOT_MET in found:
                self._asked.insert(0, self._asked.pop(place))
                return Word.NOT_YET, min(first, again)
            states |= found
            until = min(until, again)
        if Truth.UNKNOWN in states:
            return Word.UNKNOWN, until
        return (Word.UNKNOWN if unknown_blocks(view) else Word.READY), view.today + DAY

    def _part(self, view: View, criterion: Criterion | None) -> tuple[date, frozenset[Truth]]:
        """A criterion, or (None) the days in stage with the gate of the next: its states, and until when."""
        again, states, _ = self._parts.get(id(criterion), (date.min, frozenset(), None))
        if view.today >= again:
            again, states = _judged(view, criterion)
            self._parts[id(criterion)] = (again, states, criterion)
        return again, states

    def _undecided_until(self, view: View) -> date:
        """The first day after the view's date on which the questions before the criteria may be answered
        otherwise; those that nobody comes to on a case that is closed, on hold or not placed left out."""
        ends = (hold.until for hold in view.upto("holds"))
        placed = min(next_of(view, _PLACED_BY), first_ahead(view, ends))
        until = min(placed, *(self._stays(view, code) for code in _FLAGGED))
        if self._before in (Word.NONE, Word.ON_HOLD):
            return until
        until = min(until, refer_until(view), *(self._stays(view, code) for code in _REFERRED))
        stage = view.stage
        if stage is None or view.first_stage:
            return until
        stepped = (criterion_until(view, one, evaluate(view, one)) for one in stage.step_back)
        return min([until, self._stays(view, "FLA"), *stepped])


def _judged(view: View, criterion: Criterion | None) -> tuple[date, frozenset[Truth]]:
    if criterion is None:
        both = list(days_and_gate(view))
        return days_and_gate_until(view, both), frozenset(result.state for result in both)
    if criterion.kind == "sessions":
        return sessions_until(view), frozenset((sessions_state(view, criterion),))
    judged = evaluate(view, criterion)
    return criterion_until(view, criterion, judged), frozenset((judged.state,))
