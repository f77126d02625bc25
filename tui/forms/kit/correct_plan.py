"""What a correction changes: the record without the entry and with what stands instead, and what follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import gate
from armrise.store.clinic.standing.stand import stand
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.plan import Step
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.effect import STAYS, effect
from armrise.tui.words.entries import day

NEWEST = 2**61
"""The id that an entry not written yet is looked at under: after everything there is."""


def corrected(record: CaseRecord, entry: Entry, instead: Entry | None) -> CaseRecord:
    """The record as it would be read with ``entry`` withdrawn and ``instead`` written."""
    name = FIELD_OF_KIND[entry.KIND]
    kept = [one for one in getattr(record, name) if one.id != entry.id]
    if instead is not None:
        kept.append(replace(instead, id=NEWEST))
    ordered = tuple(sorted(kept, key=lambda one: (one.on, one.id)))
    return replace(record, **{name: ordered})


def changes(before: CaseRecord, after: CaseRecord, rules: Rules, today: date) -> list[str]:
    """What follows differently on the clinic date: stage gates, the stage, the verdict, the reasons."""
    old, new = stand(before, rules, today), stand(after, rules, today)
    moved = [f"{code} {was} -> {now}" for code, was, now in gates_moved(before, after, rules, today)]
    said = [f"then stages open: {'; '.join(moved)}"] if moved else []
    if old.stage != new.stage:
        said.append(f"then stage: {old.stage or 'none'} -> {new.stage or 'none'}")
    if old.status != new.status:
        said.append(f"then the case is {new.status}, was {old.status}")
    found = effect(old, new)
    return said if said and found == [STAYS] else [*said, *found]


def gates_moved(
    before: CaseRecord, after: CaseRecord, rules: Rules, today: date
) -> list[tuple[str, str, str]]:
    """Each stage whose opening date moved: its code, and the dates in words."""
    old, new = gates(before, rules, today), gates(after, rules, today)
    return [(stage, old.get(stage, NO_GATE), new.get(stage, NO_GATE)) for stage in {**old, **new}
            if old.get(stage) != new.get(stage)]  # fmt: skip


NO_GATE = "no date to wait for"


def gate_day(opens: date | None, today: date) -> str:
    """A date on which a stage opens, with the year where it is not this one."""
    return "date missing" if opens is None else day(opens, year=opens.year != today.year)


def gates(record: CaseRecord, rules: Rules, today: date) -> Mapping[str, str]:
    """When each stage of the present pathway opens, in words; stages without a gate are left out."""
    view = View.of(record, rules, today)
    pathway = view.pathway or rules.pathways.get(record.pathway)
    found: dict[str, str] = {}
    for stage in pathway.stages if pathway else ():
        opening = gate(view, stage)
        if opening is not None:
            found[stage.code] = gate_day(opening.opens, today)
    return found


def refused_instead(entry: Entry, instead: Entry) -> str:
    """Why ``instead`` may not stand in place of ``entry``; empty when it may.

    A step's stage and direction are not typed anew: that would pass the criteria and the healing dates by.
    """
    if isinstance(entry, Step) and isinstance(instead, Step):
        if instead.direction == "placing" and entry.direction == "placing":
            return ""
        if (entry.stage, entry.direction) != (instead.stage, instead.direction):
            return (
                "A step's stage is not typed anew: withdraw this step, then step with F or B, "
                "which ask the criteria."
            )
    return ""
