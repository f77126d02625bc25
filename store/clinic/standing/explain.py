"""Everything worked out for one case, as plain data: the answer to "why does it say that?"."""

from __future__ import annotations

from datetime import date
from typing import Any

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.programme import programme_rows
from armrise.store.clinic.healing.breaches import breaches, open_breaches
from armrise.store.clinic.healing.healing import allowed_on, gate, order_bars
from armrise.store.clinic.healing.limits import precautions
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.contradictions import contradictions
from armrise.store.clinic.motion.drift import drift
from armrise.store.clinic.motion.losses import loss_at, series
from armrise.store.clinic.motion.motion import PLANES, ROTATION
from armrise.store.clinic.pain.creep import creep, first_baseline, later_creep
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.periods import period_of
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.runs import completeness
from armrise.store.clinic.pain.told import DURING, LATER
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.scale import direction
from armrise.store.clinic.standing.rows import criterion_row, do_row, plain, reason_row
from armrise.store.clinic.standing.stand import stand_view
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.clocks import interval, original_due, silence_threshold, silent_days
from armrise.store.clinic.verdict.adherence import adherence
from armrise.store.clinic.verdict.pace import paces
from armrise.store.clinic.verdict.screening import (
    open_events,
    open_flags,
    safety_gap,
    screen_unanswered,
    severity_of,
)
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.store.record.phrase import phrase
from armrise.store.record.words import PROMPT
from armrise.store.rules.pathway import Rules


def explain(record: CaseRecord, rules: Rules, today: date, own_past_cases: str = "") -> dict[str, Any]:
    """Sessions with class and baseline, drift, criteria, clocks, limits and reasons with their evidence.

    ``own_past_cases`` is read from the records of the others; empty: nothing to say.
    """
    view = View.of(record, rules, today)
    standing = stand_view(view)
    return plain(
        {
            "code": record.code,
            "person": record.person,
            "side": record.side,
            "linked": list(record.linked),
            "as_of": today,
            "status": standing.status,
            "pathway": standing.pathway,
            "pathway_name": standing.pathway_name,
            "stage": standing.stage,
            "stage_name": standing.stage_name,
            "rules": {"version": rules.version, "signed_off": rules.sign_off},
            "clocks": {**_clocks(view, standing), "own_past_cases": own_past_cases or None},
            "limits": list(standing.limits),
            "healing": _healing(view),
            "sessions": [_session(view, s) for s in view.upto("sessions")],
            "mornings": _mornings(view),
            "summaries": [_period(view, told) for told in view.upto("summaries")],
            "adherence": _adherence(view),
            "programme": programme_rows(view),
            "flare": _flare(view),
            "drift": _drift(view),
            "scores": _scores(view),
            "safety": _safety(view),
            "reasons": [reason_row(r) for r in standing.reasons],
            "do": do_row(standing),
            "verdict": _verdict(view, standing),
            "overrides": _overrides(view),
            "cautions": list(standing.cautions),
            "precautions": list(precautions(view)),
        }
    )


def _overrides(view: View) -> list[dict[str, Any]]:
    """What was decided against a verdict, oldest first, with the rules that verdict was given under."""
    steps = [
        (
            s.on,
            s.id,
            f"step {s.direction} to {s.stage}",
            s.verdict,
            s.override_category,
            s.override_reason,
            s.rules,
        )
        for s in view.upto("steps")
        if s.override_reason
    ]
    stays = [(o.on, o.id, "stay", o.against, o.category, o.reason, o.rules) for o in view.upto("overrides")]
    names = ("on", "entry", "what", "verdict", "category", "reason", "rules")
    return [dict(zip(names, row, strict=True)) for row in sorted([*steps, *stays])]


def _clocks(view: View, standing: Standing) -> dict[str, Any]:
    review = standing.review
    return {
        "stage_entered": view.stage_start,
        "days_in_stage": standing.days_in_stage,
        "total_days_in_stage": standing.total_days_in_stage,
        "counted_days_in_stage": clocks.counted_days(view),
        "days_in_episode": standing.days_in_episode,
        "usual_days": standing.usual_days,
        "onset": standing.onset_word,
        "days_since_onset": standing.days_since_onset,
        "first_visit": view.first_visit,
        "last_visit": view.last_visit.on if view.last_visit else None,
        "review": {
            "due": review.due,
            "original_due": original_due(view),
            "interval": interval(view),
            "overdue_days": review.overdue_days,
            "ratio": round(review.ratio, 4),
            "booked": review.booked,
            "booked_at": review.booked_at,
            "note": review.note,
        },
        "last_data": standing.last_data,
        "silent_days": silent_days(view),
        "silence_threshold": silence_threshold(view),
        "hold_until": standing.hold_until,
        "holds": [{"from": p.start, "until": p.end, "reason": p.hold.reason} for p in clocks.pauses(view)],
        "stays": [
            {
                "stage": s.stage,
                "from": s.start,
                "until": s.end,
                "direction": s.step.direction,
                "verdict": s.step.verdict,
                "rules": s.step.rules,
            }
            for s in view.history.spans
            if s.start <= view.today
        ],
    }


def _healing(view: View) -> dict[str, Any]:
    gates: list[dict[str, Any]] = []
    if view.pathway and view.span:
        for stage in view.pathway.stages:
            opening = gate(view, stage)
            if opening:
                gates.append({"stage": opening.stage, "opens": opening.opens, "because": opening.words})
    still_open = open_breaches(view)
    allowed = allowed_on(view, view.today) if view.span else None
    return {
        "gates": gates,
        "allowed_classes": list(allowed) if allowed is not None else None,
        "ordered_bars": [{"classes": list(c), "until": d} for c, d in order_bars(view, view.today)],
        "breaches": [
            {
                "on": b.on,
                "severity": b.severity,
                "sentence": b.sentence,
                "entry": b.entry_id,
                "open": b in still_open,
            }
            for b in breaches(view)
        ],
    }


def _session(view: View, session: Any) -> dict[str, Any]:
    judged = Response.of(view).classes(session, view.today)
    return {
        "on": session.on,
        "entry": session.id,
        "during": session.during,
        "later": session.later,
        "morning": judged.morning if judged and judged.morning is not None else session.morning,
        "baseline": judged.baseline if judged else None,
        "rise": judged.rise if judged else None,
        "class": judged.klass if judged else None,
        "cause": judged.cause if judged else "",
        "missing": list(judged.missing) if judged else [],
        "dose_percent": completeness(view, session),
        "recorded_days_later": session.days_late,
        "items": [
            {
                "exercise": i.exercise,
                "load_class": i.load_class,
                "sets": i.sets,
                "sets_asked": i.sets_asked,
                "reps": i.reps,
                "load": i.load,
                "band": i.band,
            }
            for i in session.items
        ],
    }


def _mornings(view: View) -> list[dict[str, Any]]:
    response = Response.of(view)
    days = sorted(d for d in response.wakes if d <= view.today)
    return [
        {"on": d, "pain": response.worst_value(d), "baseline_that_day": response.baseline(d)} for d in days
    ]


def _period(view: View, told: PeriodSummary) -> dict[str, Any]:
    period = period_of(view, told)
    return {
        "on": told.on,
        "since": told.since,
        "entry": told.id,
        "words": phrase(told),
        "class": period.klass,
        "cause": period.cause,
        "missing": list(period.missing),
    }


def _adherence(view: View) -> dict[str, Any]:
    done = adherence(view)
    return {
        "percent": done.percent if done else None,
        "on": done.on if done else None,
        "as_told": done.told if done else None,
        "words": done.words if done else "",
        "diary_kept": clocks.diary_kept(view),
    }


def _flare(view: View) -> dict[str, Any]:
    state, crept, crept_later = flare_state(view), creep(view), later_creep(view)
    response = Response.of(view)
    stage_first = first_baseline(view, view.stage_start)
    episode_first = first_baseline(view, view.segment_start)
    return {
        "live": state is not None,
        "causes": list(state.causes) if state else [],
        "baseline_now": response.baseline(view.today),
        "baseline_first_of_stage": stage_first[0] if stage_first else None,
        "baseline_first_of_episode": episode_first[0] if episode_first else None,
        "creep_points": crept[0] if crept else 0,
        "usual_during_now": response.usual(DURING, view.today),
        "usual_later_now": response.usual(LATER, view.today),
        "creep_points_later": crept_later[0] if crept_later else 0,
    }


def _drift(view: View) -> dict[str, Any]:
    state = drift(view)
    planes: dict[str, Any] = {}
    for plane in PLANES:
        found = series(view, plane, early=True)
        losses = [loss_at(view, plane, found, i) for i in range(len(found))]
        planes[plane] = [
            {
                "on": lo.at.on,
                "value": lo.at.value,
                "rater": lo.at.rater,
                "limited_by": lo.at.limited_by,
                "loss_same_rater": lo.same,
                "loss_any_rater": lo.anyone,
                "watch": lo.watch,
                "act": lo.act,
            }
            for lo in losses
        ]
    other = motion.other_side(view, ROTATION)
    return {
        "live": state.code if state else None,
        "rule": state.rule if state else "",
        "severity": state.severity if state else None,
        "other_side_external_rotation": other.value if other else None,
        "other_side_is_reference": motion.other_is_reference(view),
        "planes": planes,
        "contradictions": list(contradictions(view).values()),
    }


def _scores(view: View) -> dict[str, Any]:
    changes: list[dict[str, Any]] = []
    for spec in outcome.judged_instruments(view):
        moved = outcome.change(view, spec.key)
        if moved:
            changes.append(
                {
                    "instrument": spec.key,
                    "direction": direction(spec),
                    "first": moved.first,
                    "first_on": moved.first_on,
                    "latest": moved.latest,
                    "latest_on": moved.latest_on,
                    "toward_better": moved.toward_better,
                    "worse_than_best_by": moved.below_best,
                    "response_threshold": spec.response.value if spec.response else None,
                    "response_status": spec.response.status if spec.response else None,
                    "detectable_change": spec.detectable.value if spec.detectable else None,
                    "detectable_status": spec.detectable.status if spec.detectable else None,
                    "responded": outcome.score_response(view, spec).value,
                }
            )
    owed = outcome.score_owed(view)
    return {
        "changes": changes,
        "checkpoint": outcome.checkpoint_day(view),
        "judged_on": outcome.judged_on(view),
        "responded": outcome.responded(view).value,
        "owed_since": owed.due if owed else None,
    }


def _safety(view: View) -> dict[str, Any]:
    gap = safety_gap(view)
    return {
        "note": PROMPT,
        "open": [{"item": f.item, "on": f.on, "severity": severity_of(view, f)} for f in open_flags(view)],
        "not_asked": screen_unanswered(view),
        "missing_since": gap.since if gap else None,
        "injuries_not_assessed": [{"event": e.event, "on": e.on} for e in open_events(view)],
    }


def _verdict(view: View, standing: Standing) -> dict[str, Any]:
    decided, projected = standing.verdict, paces(view)
    return {
        "word": decided.word.value,
        "line": decided.line,
        "rule": decided.rule,
        "also_missing": list(decided.also_missing),
        "blocks": [criterion_row(r) for r in decided.blocks],
        "criteria": [criterion_row(r, projected) for r in decided.criteria],
        "not_considered": decided.not_considered,
    }
