"""From when on no session can break a healing limit, whatever was done in it.

A healing limit broken long ago stays a reason until it is answered, so the reader of the store takes the
sessions of a healing shoulder from the first. Once the last stage is reached and every gate, order and date
is past, later sessions can break nothing, and the reader may leave the oldest of those out.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.healing.healing import closed_days, guarded, order_days
from armrise.store.clinic.healing.other_clock import MATTER
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.plan import Orders, pathway_code
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.record.kinds.safety import Onset
from armrise.store.rules.pathway import CLOCKS, Pathway, Rules


def ever_guarded(record: CaseRecord, registered_as: str, rules: Rules) -> bool:
    """Whether a session of this case may ever have broken a healing limit.

    So it may after every onset that some pathway counts from, and in every pathway with a clock that the case
    was in: the one it was registered for, and those of its steps.
    """
    codes = {registered_as, *(pathway_code(step.stage) for step in record.steps)}
    return bool(_onsets(record)) or any(guarded(rules.pathways.get(code)) for code in codes)


def _onsets(record: CaseRecord) -> list[tuple[str, date]]:
    """(kind, day) of what any pathway may count from, dislocations told as events with it."""
    found = [(onset.what, onset.on) for onset in record.onsets if onset.what in CLOCKS]
    return found + [(event.event, event.on) for event in record.events if event.event in CLOCKS]


def harmless_from(record: CaseRecord, rules: Rules) -> date | None:
    """The first day from which no session can break a healing limit; None while one still can.

    Reads no session, so that it can be asked before the sessions are read.
    """
    view = View.of(record, rules, date.max)
    span, stage, pathway = view.span, view.stage, view.pathway
    if span is None or stage is None or pathway is None:
        return None
    entered = view.history.in_pathway_since(date.max)
    if pathway.clock != "surgery" and any(entered and o.on >= entered for o in operations(record)):
        return None
    told = [entry.recorded_on for entry in _bearing(record)]
    told += _healed_elsewhere(record, rules, pathway)
    if not guarded(pathway):
        return max([span.start, *told])
    last = stage is pathway.stages[-1] and not stage.protected and not stage.combined_barred
    if not last or not set(LOAD_CLASSES) <= set(stage.allowed):
        return None
    if any(orders.lifting_limit is not None for orders in record.orders):
        return None
    onsets = [onset for onset in record.onsets if onset.what == pathway.clock]
    if all(onset.history for onset in onsets):
        return None
    healed = max(onset.on for onset in onsets) + timedelta(days=max(_days(pathway), default=0))
    return max([span.start, healed, *told, *(day for orders in record.orders for day in _dates(orders))])


def _healed_elsewhere(record: CaseRecord, rules: Rules, filed: Pathway) -> Iterator[date]:
    """The day from which each onset that another pathway counts from holds nothing back (ruling 69)."""
    for kind, on in _onsets(record):
        counting = next((p for p in rules.pathways.values() if p.clock == kind), None)
        if counting is not None and kind != filed.clock:
            yield on + timedelta(days=max(_days(counting), default=0))


def operations(record: CaseRecord) -> list[Onset]:
    """Surgery of this episode: its limits hold even while the case is in a pathway that knows none."""
    return [onset for onset in record.onsets if onset.what == "surgery" and not onset.history]


def _bearing(record: CaseRecord) -> Iterator[Entry]:
    """What a limit of a date rests on. One that was recorded late changes what was known before."""
    yield from (*record.steps, *record.onsets, *record.orders)
    yield from (clearance for clearance in record.clearances if clearance.by == "union")
    yield from (finding for finding in record.findings if finding.name == "large tear or poor tissue")
    yield from (decision for decision in record.decisions if decision.about == MATTER)
    yield from (event for event in record.events if event.event in CLOCKS)


def _days(pathway: Pathway) -> Iterator[int]:
    """Every day after the onset on which the template still closes something."""
    sling = [pathway.sling_until_day.whole] if pathway.sling_until_day else []
    yield from (days + 1 for days in (*sling, *closed_days(pathway)))


def _dates(orders: Orders) -> Iterator[date]:
    """The day of the orders, and every day that they name."""
    yield orders.on
    yield from (day + DAY for day in order_days(orders))
