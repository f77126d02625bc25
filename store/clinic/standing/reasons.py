"""The reasons of one case on one date: since when each is true, and which of them are in hand.

Days open come from looking at one earlier date after another with what is known now, except where the rule
counts from a due date. An answer in hand covers only the evidence known when it was given.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.standing import Reason, Word
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.standing.conditions import (
    CONDITIONS,
    DAYS_ARE_SEVERITY,
    HIDDEN_BY_HOLD,
    LOOK_BACK,
    OF_CLOSED,
    OF_WAITING,
    READS_SESSIONS,
    SEVERITY_IS_EVIDENCE,
    Found,
)
from armrise.store.clinic.time import clocks
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.plan import InHand
from armrise.store.rules.pathway import TIERS, Rank


def _hidden(view: View, code: str) -> bool:
    """True for codes this case cannot carry on the view's date: on hold, closed, waiting."""
    if view.closed:
        return code not in OF_CLOSED or view.closed.outcome == "died"
    if view.waiting:
        return code not in OF_WAITING
    return code in HIDDEN_BY_HOLD and clocks.hold_now(view) is not None


def first_day(view: View, code: str) -> date:
    """First day of the unbroken stretch ending today on which the condition has been true."""
    earliest = _earliest(view)
    day = view.today
    while day > earliest:
        before = day - DAY
        if code in READS_SESSIONS:
            view.sure(before - LOOK_BACK)
        looking = view.at(before)
        if _hidden(looking, code) or CONDITIONS[code](looking) is None:
            break
        day = before
    return day


def _earliest(view: View) -> date:
    memo = view.history.memo
    if "earliest" not in memo:
        dates = [
            view.history.ordered(name)[1][0]
            for name in FIELD_OF_KIND.values()
            if view.history.ordered(name)[1]
        ]
        memo["earliest"] = min([*dates, view.record.registered_on])
    return memo["earliest"]


# --- in hand --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Answer:
    """A reason answered: the action, when it was given and until when it holds."""

    on: date
    until: date
    action: str
    instant: datetime
    entry_id: int


def _answer(view: View, code: str, name: str, tier: str) -> Answer | None:
    """The newest answer to a reason, if it still holds today; a contact with load cut answers a flare."""
    rules = view.rules
    most = rules["in_hand.most_days_today" if tier == TIERS[0] else "in_hand.most_days"]
    found = [_as_answer(i, most) for i in view.upto("in_hands") if i.reason == name]
    if code == "FLA":
        days = timedelta(days=rules["in_hand.load_cut_days"])
        cuts = [c for c in view.upto("contacts") if c.spoken and c.load_cut]
        cuts += [v for v in view.upto("visits") if v.load_cut]
        found += [Answer(c.on, c.on + days, "load cut", c.recorded_at, c.id) for c in cuts]
    last = max(found, key=lambda a: (a.instant, a.entry_id), default=None)
    return last if last and view.today < last.until else None


def _as_answer(entry: InHand, most: int) -> Answer:
    until = min(entry.until, entry.on + timedelta(days=most))
    return Answer(entry.on, until, entry.action, entry.recorded_at, entry.id)


def _covers(view: View, code: str, found: Found, answer: Answer) -> tuple[bool, date | None]:
    """(whether the answer covers the reason as it is today, own open date of evidence it does not cover).

    Recorded instants decide what was known: an entry made later is new even when it tells of an earlier day.
    """
    last = (answer.instant, answer.entry_id)
    before = CONDITIONS[code](view.known_at(*last, answer.on))
    if before is None:
        return False, None
    newer = [e for e in _entries(view, found.evidence) if (e.recorded_at, e.id) > last]
    if newer:
        return False, _spoke_on(view, code, newer)
    if code in SEVERITY_IS_EVIDENCE and code not in ("LOST", "DNA") and found.severity > before.severity:
        return False, _grew_on(view, code, before.severity, answer)
    return True, None


def _spoke_on(view: View, code: str, newer: list[Entry]) -> date:
    """The first day on which one of the newer entries was part of the reason."""
    ids = {e.id for e in newer}
    day = min(e.on for e in newer)
    while day < view.today:
        found = CONDITIONS[code](view.at(day))
        if found and ids & set(found.evidence):
            return day
        day += DAY
    return view.today


def _grew_on(view: View, code: str, severity: int, answer: Answer) -> date:
    """The first day since the answer on which the reason was larger than it was then."""
    day = answer.on
    while day < view.today:
        found = CONDITIONS[code](view.at(day))
        if found and found.severity > severity:
            return day
        day += DAY
    return view.today


def _entries(view: View, ids: tuple[int, ...]) -> list[Entry]:
    memo = view.history.memo
    if "by id" not in memo:
        memo["by id"] = {e.id: e for name in FIELD_OF_KIND.values() for e in view.history.ordered(name)[0]}
    return [memo["by id"][i] for i in ids if i in memo["by id"]]


# --- all of it ------------------------------------------------------------------------------------------


def live_reasons(view: View) -> tuple[Reason, ...]:
    """Every reason true on the view's date by rank, those in hand included."""
    return tuple(r for code in view.rules.ranks if (r := _reason(view, code)) is not None)


class Asking(NamedTuple):
    """A live reason without the days it has been open, which cost the most to find."""

    row: Rank
    found: Found
    answer: Answer | None
    fresh: date | None
    """Own open date of evidence that the answer does not cover."""

    @property
    def name(self) -> str:
        """The reason in words."""
        return self.row.name

    @property
    def tier(self) -> str:
        """Its tier."""
        return self.row.tier

    @property
    def in_hand(self) -> bool:
        """True when a clinician has answered it until a date still ahead."""
        return self.answer is not None


def asking(view: View) -> tuple[Asking, ...]:
    """The same reasons as :func:`live_reasons`, without since when."""
    return tuple(live for code in view.rules.ranks if (live := _asking(view, code)) is not None)


def _asking(view: View, code: str) -> Asking | None:
    if _hidden(view, code):
        return None
    found = CONDITIONS[code](view)
    if found is None or (code == "RDY" and _stayed(view, found)):
        return None
    row = view.rules.ranks[code]
    return Asking(row, found, *_standing_answer(view, code, row.name, row.tier, found))


def _reason(view: View, code: str) -> Reason | None:
    live = _asking(view, code)
    if live is None:
        return None
    row, found, answer, fresh = live
    since = found.since or first_day(view, code)
    if fresh is not None:
        since = max(since, fresh)
    days = (view.today - since).days
    reason = Reason(
        code,
        row.name,
        row.rank,
        row.tier,
        found.severity,
        days,
        since,
        found.sentence,
        evidence=found.evidence,
    )
    if code in DAYS_ARE_SEVERITY:
        reason = replace(reason, severity=days, sentence=_ready_words(view, found.sentence, days))
    if answer:
        reason = replace(reason, in_hand_until=answer.until, in_hand_action=answer.action)
    return reason


def _standing_answer(
    view: View, code: str, name: str, tier: str, found: Found
) -> tuple[Answer | None, date | None]:
    """(the answer that covers the reason today, or None; own open date of evidence it does not cover)."""
    answer = _answer(view, code, name, tier)
    if answer is None:
        return None, None
    covers, fresh = _covers(view, code, found, answer)
    return (answer, None) if covers else (None, fresh)


def _stayed(view: View, found: Found) -> bool:
    """True when the clinician recorded staying in the stage although it was ready."""
    stays = [o.on for o in view.upto("overrides") if o.against == Word.READY.value]
    return bool(stays) and stays[-1] >= (found.since or first_day(view, "RDY"))


def _ready_words(view: View, line: str, days: int) -> str:
    if days > view.rules["ready.waiting_days"]:
        return f"{line}, waiting {view.rules['ready.waiting_days']}+ days"
    return f"{line}, for {days} days" if days > 1 else line
