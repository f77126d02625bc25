"""The reasons of one case on one date: since when each is true, and which of them are in hand.

Days open come from looking back with what is known now (:mod:`armrise.store.clinic.standing.since`), except
where the rule counts from a due date. An answer in hand covers only the evidence known when it was given.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.as_known import as_known
from armrise.store.clinic.case.standing import Reason, tier_of
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.clinic.standing.rule import Answer, Found
from armrise.store.clinic.standing.since import first_day, grew_on, hidden, spoke_on
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.plan import InHand
from armrise.store.rules.pathway import Rank, Rules
from armrise.store.rules.tiers import TIERS

# --- in hand --------------------------------------------------------------------------------------------


def answer_to(view: View, row: Rank) -> Answer | None:
    """The newest answer to a reason, if it still holds today."""
    most = view.rules.in_hand_days(row)
    found = [_as_answer(i, most) for i in view.upto("in_hands") if i.reason == row.name]
    found += REASONS[row.code].answers(view)
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
    before = REASONS[code].condition(as_known(view, *last, answer.on))
    if before is None:
        return False, None
    newer = [e for e in _entries(view, found.evidence) if view.told_after(e, *last)]
    if newer:
        return False, spoke_on(view, code, newer)
    if REASONS[code].grows and found.severity > before.severity:
        return False, grew_on(view, code, before.severity, answer.on)
    return True, None


def _entries(view: View, ids: tuple[int, ...]) -> list[Entry]:
    memo = view.history.memo
    if "by id" not in memo:
        memo["by id"] = {e.id: e for name in FIELD_OF_KIND.values() for e in view.history.ordered(name)[0]}
    return [memo["by id"][i] for i in ids if i in memo["by id"]]


# --- all of it ------------------------------------------------------------------------------------------


def live_reasons(view: View) -> tuple[Reason, ...]:
    """Every reason true on the view's date by rank, those in hand included."""
    return tuple(r for code in view.rules.ranks if (r := _kept(view, code)) is not None)


def look_far_back(view: View) -> None:
    """Find first what may lie before a window of the sessions: where it does, all else was in vain."""
    for code, rule in REASONS.items():
        if rule.reads_sessions and rule.by_days is None:  # that one asks for the whole verdict
            _kept(view, code)


def _kept(view: View, code: str) -> Reason | None:
    key = ("reason", code)
    if key not in view.kept:
        view.kept[key] = _reason(view, code)
    return view.kept[key]


class Asking(NamedTuple):
    """A live reason without the days it has been open, which cost the most to find."""

    row: Rank
    found: Found
    answer: Answer | None
    fresh: date | None
    """Own open date of evidence that the answer does not cover."""

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


def tier_on(view: View) -> str:
    """The tier of the case on the view's date, or "none"; what cannot change it is not looked for."""
    return view.history.once(("tier", view.today), lambda: _tier(view))


def _tier(view: View) -> str:
    by_tier = _by_tier(view.rules)
    if by_tier is None:
        return tier_of(asking(view))
    for tier, codes in by_tier:
        if any(_places(view, code, tier) for code in codes):
            return tier
    return TIERS[-1]


def _places(view: View, code: str, tier: str) -> bool:
    """Whether a reason puts the case into its tier: one of today though it is in hand, another while open.

    What it rests on is asked for only where a decision or an answer has to be held against it.
    """
    rule, today = REASONS[code], tier == TIERS[0]
    if hidden(view, code) or not rule.true_on(view):
        return False
    if rule.ended_on(view) is None and (today or answer_to(view, view.rules.ranks[code]) is None):
        return True
    live = _asking(view, code)
    return live is not None and (today or not live.in_hand)


_DEAR_LAST = ("SIL", "WRS", "FUN", "FND", "STF", "VIS", "SCR", "RED", "LIM", "LOW", "OVR", "FLA", "RDY")
"""What takes long to look at, the longest last: one open reason of a tier places the case, whichever."""


def _by_tier(rules: Rules) -> list[tuple[str, list[str]]] | None:
    """The codes of each tier, the quickest first; None where a reason ranks above one of a higher tier."""
    tiers = [TIERS.index(row.tier) for row in rules.ranks.values()]
    if tiers != sorted(tiers):
        return None
    quickest = sorted(rules.ranks, key=lambda code: _DEAR_LAST.index(code) if code in _DEAR_LAST else -1)
    return [(tier, [code for code in quickest if rules.ranks[code].tier == tier]) for tier in TIERS]


def _asking(view: View, code: str) -> Asking | None:
    found = None if hidden(view, code) else REASONS[code].condition(view)
    return unended(view, code, found) if found else None


def unended(view: View, code: str, found: Found) -> Asking | None:
    """What was found, unless a decision ended it."""
    ended, row = REASONS[code].ended_on(view), view.rules.ranks[code]
    if ended is not None and ended >= (found.since or first_day(view, code)):
        return None
    return Asking(row, found, *_standing_answer(view, row, found))


def _reason(view: View, code: str) -> Reason | None:
    live = _asking(view, code)
    if live is None:
        return None
    row, found, answer, fresh = live
    since = found.since or first_day(view, code)
    if fresh is not None:
        since = max(since, fresh)
    days, by_days = (view.today - since).days, REASONS[code].by_days
    return Reason(
        code,
        row.name,
        row.rank,
        row.tier,
        days if by_days else found.severity,
        days,
        since,
        by_days(view, found.sentence, days) if by_days else found.sentence,
        in_hand_until=answer.until if answer else None,
        in_hand_action=answer.action if answer else "",
        evidence=found.evidence,
    )


def _standing_answer(view: View, row: Rank, found: Found) -> tuple[Answer | None, date | None]:
    """(the answer that covers the reason today, or None; own open date of evidence it does not cover)."""
    answer = answer_to(view, row)
    if answer is None:
        return None, None
    covers, fresh = _covers(view, row.code, found, answer)
    return (answer, None) if covers else (None, fresh)
