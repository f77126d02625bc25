"""The home programme with the proposal for each item, as plain data."""

from __future__ import annotations

from typing import Any

from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.programme.parts import Dose
from armrise.store.clinic.programme.proposal import Proposal
from armrise.store.record.kinds.programme import CLASS_WORDS, ProgrammeItem, way


def programme_rows(view: View) -> list[dict[str, Any]]:
    """Each item in force: its dose, who set it and when, and what is proposed for it with the reason."""
    return [_row(found) for found in proposals(view)]


def _row(found: Proposal) -> dict[str, Any]:
    item = found.item
    return {
        "exercise": item.exercise,
        "load_class": item.load_class,
        "class_name": CLASS_WORDS[item.load_class],
        "entry": item.id,
        "set_on": item.on,
        "set_by": item.author,
        "dose": _dose(item, Dose.of(item)),
        "reps_low": item.reps_low,
        "reps_high": item.reps_high,
        "way": way(item),
        "tempo": item.tempo,
        "per_week": item.per_week,
        "last_load_increase": found.last_load_increase,
        "proposal": {
            "word": found.word,
            "dose": {**_dose(item, found.dose), "words": found.dose_words} if found.dose else None,
            "instead": found.instead.exercise if found.instead else None,
            "reason": found.reason,
            "not_before": found.not_before,
            "condition": found.condition,
            "missing": found.missing,
            "evidence": list(found.evidence),
        },
    }


def _dose(item: ProgrammeItem, dose: Dose) -> dict[str, Any]:
    return {
        "words": dose.words(item),
        "sets": dose.sets,
        "reps": dose.reps,
        "hold": dose.hold,
        "load": dose.load,
        "band": dose.band,
        "arc_from": dose.arc_from,
        "arc_to": dose.arc_to,
    }
