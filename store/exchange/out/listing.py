"""Which cases are on the list, and the list as JSON for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.rows import criterion_row, do_row, plain, reason_row
from armrise.store.clinic.standing.triage import on_list
from armrise.store.record.fields import Absence

__all__ = ["as_json", "on_list"]


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
