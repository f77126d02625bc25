"""Why nothing of a programme may rise today though the sessions were good (ruling 80).

The note's rule of sessions reads sessions alone. Whatever says that something may be wrong keeps every dose
where it is, in hand or not.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import finding_to_act_on
from armrise.store.clinic.healing.breaches import open_breaches
from armrise.store.clinic.healing.fit import fits_stage
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.clinic.verdict.criteria import masks
from armrise.store.clinic.verdict.messages import urgent_message
from armrise.store.clinic.verdict.screening import open_events, open_flags
from armrise.store.record.kinds.programme import CLASS_WORDS


def _flag(view: View) -> str:
    flags = open_flags(view)
    return flags[-1].item if flags else ""


def _injury(view: View) -> str:
    events = open_events(view)
    return events[-1].event if events else ""


def _broken(view: View) -> str:
    broken = open_breaches(view)
    return broken[-1].sentence if broken else ""


class _Says(Protocol):
    @property
    def sentence(self) -> str: ...


def _said(reading: Callable[[View], _Says | None]) -> Callable[[View], str]:
    """What a reading says while it is true."""

    def says(view: View) -> str:
        found = reading(view)
        return found.sentence if found else ""

    return says


WITHHOLD: tuple[tuple[str, Callable[[View], str]], ...] = (
    ("RED", _flag),
    ("INJ", _injury),
    ("LIM", _broken),
    ("MSU", _said(urgent_message)),
    ("FUN", _said(power_loss)),
    ("FND", _said(finding_to_act_on)),
    ("FLA", _said(flare_state)),
    ("VIS", _said(worse_at_visits)),
)
"""(reason, what it says while it is true, else nothing): no sets, repetitions, load or rung rise then."""


def held_back(view: View, load_class: str) -> str:
    """Why nothing may be raised today, naming it; empty when nothing forbids it.

    Beside the reasons: pain that cannot be read while tissue heals, a class that the stage does not hold.
    """
    for code, says in WITHHOLD:
        if sentence := says(view):
            name = view.rules.ranks[code].name
            return f"not raised, {sentence if sentence.startswith(name) else f'{name}: {sentence}'}"
    masked = masks(view)
    if masked and view.pathway and view.pathway.masked_is_unknown:
        return f"not raised while pain may be masked: {masked}"
    if view.stage and not fits_stage(view, load_class):
        return f"not raised: {CLASS_WORDS[load_class]} is not part of {view.stage.code} {view.stage.name}"
    return ""
