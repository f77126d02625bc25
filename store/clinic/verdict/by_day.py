"""The word of the verdict on one day after another.

What it rests on is kept, each with the first day on which it may be otherwise; what is due is asked again.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from armrise.store.clinic.case.standing import Truth, Verdict, Word
from armrise.store.clinic.case.turns import PLACED, first_ahead, next_of
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.verdict.blocks import NOT_MET_LINES, unknown_blocks
from armrise.store.clinic.verdict.criteria import evaluate, sessions_state
from armrise.store.clinic.verdict.readiness import (
    days_and_gate,
    injury,
    no_verdict,
    red_flag,
    refer,
    step_back_for_flares,
)
from armrise.store.clinic.verdict.until import (
    criterion_until,
    days_and_gate_until,
    refer_until,
    sessions_until,
)
from armrise.store.rules.criterion import Criterion

Stays = Callable[[View, str], date]
"""The first day after the view's date on which a reason, by its code, may be found otherwise."""

_REFERRED = ("FND", "FUN", "WRS")
_FORBIDDEN = ("LIM", "INJ", "RED", "FND", "FUN", "FLA", "VIS", "STF", "WAT")
"""The reasons whose readings a referral, and the lines that forbid READY, rest on."""
_HELD = (*PLACED, "holds")

Answer = tuple[date, Word | None]
"""The day from which a question is asked again, and the word it decides for; None: the next one decides."""


class WordByDay:
    """The word of one history's verdict on one day after another, the oldest first."""

    def __init__(self, stays: Stays) -> None:
        self.said = Word.NONE
        self.until = date.min
        """The first day on which it may be another."""
        self._stays = stays
        self._questions = (self._flagged, self._unplaced, self._referred, self._stepped_back, self._forbidden)
        """What decides before the criteria do, in the order in which the verdict asks."""
        self._answers: list[Answer] = [(date.min, None)] * len(self._questions)
        self._parts: dict[int, tuple[date, frozenset[Truth], Criterion | None]] = {}
        """By identity: each criterion, and days and gate, with the day from which it is judged again."""
        self._asked: list[Criterion | None] = []
        """The criteria of the stage, and None for its days and the next gate; first what was not met last."""

    def looks_at_reasons(self, today: date) -> bool:
        """Whether the readings of reasons are asked for on this day."""
        return any(today >= again for again, _ in self._answers)

    def on(self, view: View) -> Word:
        """The word on the view's date."""
        if view.today >= self.until:
            self.said, self.until = self._judged(view)
        return self.said

    def _judged(self, view: View) -> tuple[Word, date]:
        until, today = date.max, view.today
        for place, (again, decided) in enumerate(self._answers):
            if today >= again:
                again, decided = self._answers[place] = self._questions[place](view)
            until = min(until, again)
            if decided is not None:
                return decided, until
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
        found = self._parts.get(id(criterion))
        if found is None or view.today >= found[0]:
            found = self._parts[id(criterion)] = (*_judged(view, criterion), criterion)
        return found[0], found[1]

    # --- before the criteria ----------------------------------------------------------------------------

    def _earliest(self, view: View, *codes: str) -> date:
        return min(self._stays(view, code) for code in codes)

    def _flagged(self, view: View) -> Answer:
        return self._earliest(view, "RED", "INJ"), _word(red_flag(view) or injury(view))

    def _unplaced(self, view: View) -> Answer:
        self._asked = [None, *(view.stage.exit if view.stage else ())]
        ends = (hold.until for hold in view.upto("holds"))
        return min(next_of(view, _HELD), first_ahead(view, ends)), _word(no_verdict(view))

    def _referred(self, view: View) -> Answer:
        return min(refer_until(view), self._earliest(view, *_REFERRED)), _word(refer(view))

    def _stepped_back(self, view: View) -> Answer:
        stage, until = view.stage, next_of(view, PLACED)
        if stage is None or view.first_stage:
            return until, None
        for criterion in stage.step_back:
            again, found = self._part(view, criterion)
            until = min(until, again)
            if Truth.MET in found:
                return until, Word.STEP_BACK
        return min(until, self._stays(view, "FLA")), _word(step_back_for_flares(view))

    def _forbidden(self, view: View) -> Answer:
        """Whether a line beside the criteria forbids READY."""
        forbidden = any(True for lines in NOT_MET_LINES for _ in lines(view))
        return self._earliest(view, *_FORBIDDEN), Word.NOT_YET if forbidden else None


def _word(verdict: Verdict | None) -> Word | None:
    return verdict.word if verdict else None


def _judged(view: View, criterion: Criterion | None) -> tuple[date, frozenset[Truth]]:
    if criterion is None:
        both = list(days_and_gate(view))
        return days_and_gate_until(view, both), frozenset(result.state for result in both)
    if criterion.kind == "sessions":
        by_run = sessions_state(view, criterion)
        return sessions_until(view, criterion, by_run), frozenset((by_run[0],))
    judged = evaluate(view, criterion)
    return criterion_until(view, criterion, judged), frozenset((judged.state,))
