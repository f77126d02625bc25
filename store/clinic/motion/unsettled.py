"""Passive range that is no "losing range" by the rulings, and over which READY must not stand."""

from __future__ import annotations

from itertools import takewhile

from armrise.store.clinic.case.evidence import together
from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.contradictions import contradictions
from armrise.store.clinic.motion.drift import Drift, drift, lost_since_early, watched
from armrise.store.clinic.motion.losses import counted, is_like, loss_at
from armrise.store.clinic.motion.motion import PLANES, degrees, values


def lost_early(view: View) -> Drift | None:
    """Range being lost that is watched only, because its best lies in the days of healing (ruling 86)."""
    return together(lost_since_early(view)) if _is_watched(view) else None


def lost_once(view: View) -> Drift | None:
    """A loss at act level in the newest value alone: an error of measuring, or range being lost."""
    if not _is_watched(view) or lost_since_early(view):
        return None
    return together(watched(view, at_act_level=True))


def _is_watched(view: View) -> bool:
    state = drift(view)
    return state is not None and state.code == "WAT"


def doubted_loss(view: View) -> str:
    """Newer values that contradict others and would show a loss at act level, in words; empty without.

    Drift reads no contradicted value (ruling 49): which of them is right says the next one.
    """
    if view.span is None:
        return ""
    found = (words for plane in PLANES if (words := _doubted(view, plane)))
    return "; ".join(found)


def _doubted(view: View, plane: str) -> str:
    doubts = contradictions(view)
    known = counted(view, plane, early=True) if doubts else []
    newer = list(takewhile(lambda m: m is not known[-1], reversed(values(view, plane)))) if known else []
    for doubtful in sorted((m for m in reversed(newer) if m.id in doubts), key=degrees):
        alike = [m for m in known if is_like(m, doubtful)]
        if alike and loss_at(view, plane, [*alike, doubtful], len(alike)).act:
            path = f"{max(degrees(m) for m in alike)} to {degrees(doubtful)}"
            return f"{view.rules.measures[plane].label} {path} degrees: {doubts[doubtful.id]}"
    return ""
