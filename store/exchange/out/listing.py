"""Which cases are on the list, and the list as it is printed: as text, and as JSON for other programs."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.judged import Judged, at_once
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.rows import criterion_row, do_row, plain, reason_row
from armrise.store.clinic.standing.triage import on_list
from armrise.store.exchange.out.formats import stamped
from armrise.store.exchange.out.plain_text import as_text, heading_of
from armrise.store.kept.printed import JSON, NAMES, TEXT, keep_printed, printed
from armrise.store.record.fields import Absence

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules

__all__ = ["as_json", "keep_texts", "on_list"]

INDENT = 2
PIECES = 400
"""Pieces of JSON, some more than a case has, between two pauses."""


def keep_texts(
    store: Store, rules: Rules, made: Judged, since: date, pause: Callable[[], None] = at_once
) -> bool:
    """Keep a list as it is printed, where every case of it was judged as things are now.

    False where it is not kept, as an empty one is. ``since`` as in :func:`keep_printed`; ``pause`` is called
    again and again. Raises a store error.
    """
    mark, listed = made.mark, on_list(made.standings)
    if not (store.lasting and made.whole and listed) or mark is None:
        return False
    if all(printed(store, mark.rules, mark.today, name) for name in NAMES):
        return True
    text = as_text(listed, heading_of(store, rules, mark.today), pause=pause)
    return keep_printed(store, mark, {TEXT: text, JSON: as_json_text(listed, pause)}, since)


def as_json_text(standings: Sequence[Standing], pause: Callable[[], None] = at_once) -> str:
    """The list as JSON with its form, as text that reads the same in every encoding."""
    pieces: list[str] = []
    value = stamped("list", {"cases": as_json(standings)})
    for number, piece in enumerate(json.JSONEncoder(indent=INDENT).iterencode(value)):
        if number % PIECES == 0:
            pause()
        pieces.append(piece)
    return "".join(pieces) + "\n"


def as_json(standings: Sequence[Standing]) -> list[dict[str, Any]]:
    """One object a case in list order. Unknown is null, an absence is its word, dates are ISO dates."""
    return [_case(standing) for standing in standings]


def _case(s: Standing) -> dict[str, Any]:
    return {
        "code": s.code,
        "person": s.person,
        "side": s.side,
        "status": s.status,
        "tier": s.tier,
        "pathway": s.pathway,
        "stage": s.stage,
        "stage_name": s.stage_name,
        "days_in_stage": s.days_in_stage,
        "total_days_in_stage": s.total_days_in_stage,
        "days_in_episode": s.days_in_episode,
        "usual_days": s.usual_days,
        "onset": {"what": s.onset_word or None, "day": s.days_since_onset},
        "hold_until": _day(s.hold_until),
        "review": _review(s),
        "pain": _pain(s),
        "reasons": plain([reason_row(r) for r in s.reasons]),
        "do": do_row(s),
        "verdict": s.verdict.word.value,
        "verdict_line": s.verdict.line,
        "criteria": plain([criterion_row(c) for c in (*s.verdict.blocks, *s.verdict.criteria)]),
        "limits": list(s.limits),
        "cautions": [*s.cautions, *(c for c in s.verdict.cautions if c not in s.cautions)],
        "linked": list(s.linked),
        "as_of": _day(s.as_of),
        "rule_version": s.verdict.rule_version,
        "signed_off": s.verdict.signed_off,
    }


def _review(s: Standing) -> dict[str, Any]:
    return {
        "due": _day(s.review.due),
        "original_due": _day(s.review.original_due),
        "interval": s.review.interval,
        "overdue_days": s.review.overdue_days,
        "ratio": round(s.review.ratio, 4),
        "booked": _day(s.review.booked),
        "booked_at": s.review.booked_at,
    }


def _pain(s: Standing) -> dict[str, Any]:
    return {
        "during": _score(s.pain.during),
        "later": _score(s.pain.later),
        "morning": _score(s.pain.morning),
        "date": _day(s.pain.date),
        "baseline": s.pain.baseline,
    }


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _score(score: int | Absence | None) -> int | str | None:
    return score.value if isinstance(score, Absence) else score
