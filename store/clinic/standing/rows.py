"""Reasons, what to do about them, and criteria as rows of plain data, the same in every listing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, cast

from armrise.store.clinic.case.standing import CriterionResult, Reason, Standing
from armrise.store.clinic.standing.do_words import doing
from armrise.store.clinic.verdict.pace import Projection
from armrise.store.rules.do import Step


def plain(value: Any) -> Any:
    """A value as JSON holds it: dates in ISO form, decimals as numbers."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in cast(Sequence[Any], value)]
    if isinstance(value, dict):
        return {k: plain(v) for k, v in cast(dict[str, Any], value).items()}
    return value


def reason_row(reason: Reason) -> dict[str, Any]:
    """One reason, with the ids of the entries it rests on."""
    return {
        "rank": reason.rank,
        "name": reason.name,
        "tier": reason.tier,
        "severity": reason.severity,
        "days_open": reason.days_open,
        "since": reason.since,
        "in_hand_until": reason.in_hand_until,
        "in_hand_action": reason.in_hand_action or None,
        "sentence": reason.sentence,
        "evidence": list(reason.evidence),
    }


def do_row(standing: Standing) -> dict[str, Any] | None:
    """What to do about the reason that places the case; None where nothing is asked of it."""
    found = doing(standing)
    if found is None:
        return None
    return {
        "words": found.words(),
        "steps": [_step_row(step) for step in found.steps],
        "no_answer": _step_row(found.no_answer) if found.no_answer else None,
    }


def _step_row(step: Step) -> dict[str, str]:
    return {"say": step.say, "act": step.act}


def criterion_row(
    result: CriterionResult, paces: Mapping[CriterionResult, Projection] | None = None
) -> dict[str, Any]:
    """One criterion; ``parts`` only where it is made of several, ``pace`` only where one was worked out."""
    row: dict[str, Any] = {
        "text": result.text,
        "needed": result.needed,
        "observed": result.observed,
        "observed_on": result.observed_on,
        "state": result.state.value,
        "source": result.source,
        "status": result.status,
        "ask": result.ask or None,
        "opens_on": result.opens_on,
    }
    if result.parts:
        row["parts"] = [criterion_row(p, paces) for p in result.parts]
    pace = paces.get(result) if paces else None
    if pace is not None:
        row["pace"] = _pace_row(pace)
    return row


def _pace_row(pace: Projection) -> dict[str, Any]:
    return {
        "line": pace.line,
        "weeks": pace.weeks,
        "soonest": pace.soonest,
        "latest": pace.latest,
        "values": pace.count,
        "from": pace.since,
    }
