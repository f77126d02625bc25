"""What a step needs before it may be written: its stage, an override, the case code typed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from armrise.store.clinic.actions.rungs import Stopped, opened_rungs, stopped_by
from armrise.store.clinic.case.standing import Standing, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import gate
from armrise.store.record.case import CaseRecord
from armrise.store.rules.pathway import Pathway, Rules, Stage
from armrise.tui.words.entries import day

FORWARD, BACK, STAY = "forward", "back", "stay"
STAYABLE = (Word.READY, Word.STEP_BACK)
"""Verdicts against which staying is a decision worth a reason (practice note 4.10)."""


@dataclass
class Move:
    """A step looked at before it is taken."""

    direction: str
    target: Stage | None = None
    refused: str = ""
    overrides: list[str] = field(default_factory=list[str])
    """Why a category and a typed reason are needed; empty when they are not."""
    typed_code: list[str] = field(default_factory=list[str])
    """Why the case code has to be typed as well."""
    opens: list[str] = field(default_factory=list[str])
    """The rungs of ladders that a step forward opens."""
    stops: list[Stopped] = field(default_factory=list[Stopped])
    """The exercises that a step back takes out."""


def verdict_words(word: Word) -> str:
    """The verdict as what an override is against."""
    return f"The verdict is {word.value if word is not Word.NONE else 'missing'}."


def look(standing: Standing, record: CaseRecord, rules: Rules, today: date, direction: str) -> Move:
    """Work out what the step in ``direction`` needs on the clinic date ``today``."""
    move = Move(direction)
    if direction == STAY:
        return _stay(move, standing)
    view = View.of(record, rules, today)
    if view.span is None:
        move.refused = f"{standing.code} has not been placed in a stage: the first visit does that."
    elif view.pathway is None or view.stage is None:
        move.refused = f"Stage {view.span.stage} is not in the rule file: no step can be worked out."
    elif direction == BACK:
        _back(move, standing, view.pathway, view.stage)
        move.stops = stopped_by(view, move.target) if move.target else []
    else:
        _forward(move, standing, view)
        move.opens = opened_rungs(view, move.target) if move.target else []
    return move


def _stay(move: Move, standing: Standing) -> Move:
    word = standing.verdict.word
    if word not in STAYABLE:
        said = word.value if word is not Word.NONE else "missing"
        move.refused = f"Staying needs no entry: the verdict is {said}."
    else:
        move.overrides.append(f"Staying is against the verdict {word.value}.")
    return move


def _back(move: Move, standing: Standing, pathway: Pathway, stage: Stage) -> None:
    at = pathway.index(stage.code)
    if standing.status == "closed":
        move.refused = f"{standing.code} is closed: reopen it before a step."
    elif at == 0:
        move.refused = f"{stage.code} is the first stage: there is no step back; reduce the load instead."
    else:
        move.target = pathway.stages[at - 1]


def _forward(move: Move, standing: Standing, view: View) -> None:
    stage, target = view.stage, view.next_stage
    assert stage is not None
    if target is None:
        move.refused = f"{stage.code} is the last stage: after it comes discharge, not a step."
        return
    move.target = target
    verdict = standing.verdict
    if standing.status == "closed":
        move.overrides.append(f"{standing.code} is closed.")
    elif standing.status == "on hold":
        until = f" until {day(standing.hold_until)}" if standing.hold_until else ""
        move.overrides.append(f"{standing.code} is on hold{until}.")
    elif verdict.word is not Word.READY:
        move.overrides.append(verdict_words(verdict.word))
    if any(s.direction == FORWARD and s.on == view.today for s in view.record.steps):
        move.overrides.append("There was a step forward today already.")
    _second_confirmation(move, standing, view, target)


def _second_confirmation(move: Move, standing: Standing, view: View, target: Stage) -> None:
    """A closed healing gate, or a possible red flag, in hand or not, needs the code typed."""
    opening = gate(view, target)
    if opening is not None and opening.opens is None:
        move.typed_code.append(f"{target.code} opens on {opening.words}, and that date is missing.")
    elif opening is not None and opening.opens is not None and opening.opens > view.today:
        move.typed_code.append(f"HEALING: {target.code} opens on {day(opening.opens)} ({opening.words}).")
    if any(reason.code == "RED" for reason in standing.reasons):
        move.typed_code.append("A possible red flag is open.")
    if move.typed_code and not move.overrides:
        move.overrides.extend(move.typed_code)
