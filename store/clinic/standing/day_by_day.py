"""What one history says on one day after another: the reasons, and the word of the verdict.

Both are carried along. A reason is looked for again on the next day on which it can be otherwise, the word on
the next on which something that it rests on can; between two such days nothing is looked at. Neither since
when a reason is true nor its words are worked out.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any, NamedTuple

from armrise.store.clinic.case.once import known_already
from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.turns import first_ahead, next_of
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.standing.reasons import answer_to, unended
from armrise.store.clinic.standing.since import shown
from armrise.store.clinic.standing.stand import status_of
from armrise.store.clinic.verdict.by_day import WordByDay
from armrise.store.clinic.verdict.readiness import word
from armrise.store.rules.pathway import Rank

_ANSWERED_BY = ("in_hands", "overrides")
"""The fields of what puts any reason in hand, or ends it though it is true."""
_SHOWN_BY = ("steps", "discharges", "reopenings", "holds")
"""The fields that say which reasons a case can carry, beside its first visit."""


class Live(NamedTuple):
    """A reason that is true on a day, and whether a clinician has answered it until a date still ahead."""

    row: Rank
    in_hand: bool

    @property
    def name(self) -> str:
        """The reason in words."""
        return self.row.name

    @property
    def tier(self) -> str:
        """Its tier."""
        return self.row.tier


class Carried(NamedTuple):
    """What a history says from one day until the day before another: its reasons by rank, and the word."""

    status: str
    live: tuple[Live, ...]
    word: Word


class DayByDay:
    """The reasons and the word of one history on one day after another, the oldest first."""

    def __init__(self) -> None:
        self.until = date.min
        """The first day on which something else may be said than on the day looked at last."""
        self._said = Carried("", (), Word.NONE)
        self._found: dict[str, tuple[date, Live | None]] = {}
        """By code: the day from which it has to be looked for again, and what was found."""
        self._look_on = date.min
        """The first day on which one that does not rest on the word has to be."""
        self._word_on = date.min
        """The same of those that do, as long as the word is the same."""
        self._shown: list[str] = []
        """The codes that the case can carry until then, by rank."""
        self._changed = False
        """Whether another reason was found than before."""
        self._word = WordByDay(self._stays)

    def on(self, view: View) -> Carried:
        """What it says on the view's date: the same object as before where it says the same."""
        if view.today < self.until:
            return self._said
        looks, before = view.today >= self._look_on, self._word.said
        if looks or self._word.looks_at_reasons(view.today):
            self._leave_out_what_is_absent(view)
        if looks:
            self._look(view)
        said = self._word.on(view)
        if looks or said is not before or view.today >= self._word_on:
            self._look_by_word(view, anew=said is not before)
            status = status_of(view) if looks else self._said.status
            if self._changed or said is not before or status != self._said.status:
                self._say(status)
        self.until = min(self._look_on, self._word.until, self._word_on)
        return self._said

    def _say(self, status: str) -> None:
        found = (self._found[code][1] for code in self._shown)
        self._said = Carried(status, tuple(one for one in found if one), self._word.said)
        self._changed = False

    # --- reasons ----------------------------------------------------------------------------------------

    def _look(self, view: View) -> None:
        """Look for every reason whose day has come, but for those that rest on the word."""
        now, today, found = shown(view), view.today, self._found
        if now != self._shown:
            self._shown, self._changed = now, True
        until = _shown_until(view)
        for code in now:
            if code in _BY_WORD:
                continue
            known = found.get(code)
            again = known[0] if known and today < known[0] else self._looked_for(view, code)
            if again < until:
                until = again
        self._look_on = until

    def _look_by_word(self, view: View, *, anew: bool) -> None:
        """Look for those that do, all of them where it is another word."""
        view.kept.setdefault(word, self._word.said)
        for code in _BY_WORD if anew else ():
            if code in self._found:
                self._found[code] = (date.min, self._found[code][1])
        again = (self._looked_for(view, code) for code in _BY_WORD if code in self._shown)
        self._word_on = min(again, default=date.max)

    def _looked_for(self, view: View, code: str) -> date:
        """The day from which a reason has to be looked for again, once it was where its day has come."""
        found = self._found.get(code)
        if found is None or view.today >= found[0]:
            before, found = found, _look_for(view, code)
            self._found[code] = found
            self._changed = self._changed or (before[1] if before else None) != found[1]
        return found[0]

    def _leave_out_what_is_absent(self, view: View) -> None:
        """Let the view know what the readings say that reasons share of which none is true."""
        absent = {code for code in _SHARING if self._is_absent(view, code)}
        for (reading, nothing), codes in absences().items():
            if absent.issuperset(codes):
                known_already(view, reading, list(nothing) if nothing is not None else None)

    def _is_absent(self, view: View, code: str) -> bool:
        """Whether it is known not to be true, without looking for it."""
        found = self._found.get(code)
        return found is not None and found[1] is None and view.today < found[0]

    def _stays(self, view: View, code: str) -> date:
        """The first day after the view's date on which a reason may be found otherwise."""
        return self._found[code][0] if code in self._shown else view.today + DAY


_SHARING = tuple(code for code, rule in REASONS.items() if rule.absent)
_BY_WORD = tuple(code for code, rule in REASONS.items() if rule.of_word)


def _shown_until(view: View) -> date:
    """The first day after the view's date on which the case may carry other reasons."""
    fields = (*_SHOWN_BY, "visits") if view.waiting else _SHOWN_BY
    ends = (hold.until for hold in view.upto("holds"))
    return min(next_of(view, fields), first_ahead(view, ends))


def _look_for(view: View, code: str) -> tuple[date, Live | None]:
    """The day from which a reason has to be looked for again, and what it is until then."""
    rule, row = REASONS[code], view.rules.ranks[code]
    until = rule.until_by_itself(view)
    if not rule.true_on(view):
        return until, None
    until = min(until, next_of(view, (*_ANSWERED_BY, *rule.answered_by)))
    answer = answer_to(view, row)
    if rule.ended_on(view) is None:
        if answer is None:
            return until, Live(row, False)
        until = min(until, answer.until)
    else:
        until = view.today + DAY  # whether it was ended rests on since when it is true
    found = rule.condition(view)
    one = unended(view, code, found) if found else None
    return until, Live(row, one.in_hand) if one else None


@cache
def absences() -> dict[tuple[Callable[[View], Any], Any], list[str]]:
    """What the readings say that reasons share while none of these is true, with their codes."""
    found: dict[tuple[Callable[[View], Any], Any], list[str]] = {}
    for code, rule in REASONS.items():
        for one in rule.absent:
            found.setdefault(one, []).append(code)
    return found
