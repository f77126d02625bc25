"""The entries a criterion was judged by, over time: what somebody looks at who doubts it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from armrise.store.clinic.case.standing import CriterionResult, Standing
from armrise.store.clinic.case.view import View
from armrise.store.record.case import FIELD_OF_KIND
from armrise.store.record.kinds.head import Entry
from armrise.store.rules.criterion import Criterion

MOST = 8
"""Entries of one criterion that are shown, the newest; the history has all."""

READ = {
    "during": ("sessions",),
    "sessions": ("sessions", "summaries"),
    "no flare": ("sessions", "summaries"),
    "adherence": ("sessions", "summaries"),
    "no event": ("events",),
    "screen": ("screens", "flag_outcomes"),
    "order date": ("orders",),
}
"""The entries that a kind of criterion reads whole."""
PICKED = {
    "measure": ("measures", "name", "measure"),
    "plateau": ("measures", "name", "measure"),
    "finding": ("findings", "name", "finding"),
    "score": ("scores", "instrument", "instrument"),
    "clearance": ("clearances", "by", "by"),
}
"""The entries that a kind of criterion picks from: where they lie, their field, and that of the criterion."""


def behind(view: View, standing: Standing) -> dict[CriterionResult, list[Entry]]:
    """The entries behind each row of the verdict, newest first.

    Of a criterion by what it reads, of what stands in the way by the reason that says the same, of days and
    gates the steps, surgery or injury, and orders.
    """
    exits = view.stage.exit if view.stage else ()
    found = {
        result: _newest(_read(view, criterion))
        for criterion, result in zip(exits, standing.verdict.criteria, strict=False)
    }
    for result in standing.verdict.criteria[len(exits) :]:
        found[result] = _newest([*view.upto("steps"), *view.upto("onsets"), *view.upto("orders")])
    named = {reason.sentence: set(reason.evidence) for reason in standing.reasons}
    for result in standing.verdict.blocks:
        ids = named.get(result.observed, set())
        kept = (entry for name in FIELD_OF_KIND.values() for entry in view.upto(name) if ids)
        found[result] = _newest(entry for entry in kept if entry.id in ids)
    return found


def _read(view: View, criterion: Criterion) -> list[Any]:
    """What a criterion reads; one made of parts reads what they read."""
    if criterion.parts:
        return list({entry.id: entry for part in criterion.parts for entry in _read(view, part)}.values())
    if criterion.kind == "improved":
        regional = {spec.key for spec in view.instruments.values() if spec.region}
        return [entry for entry in view.upto("scores") if entry.instrument in regional]
    if criterion.kind not in PICKED:
        return [entry for name in READ[criterion.kind] for entry in view.upto(name)]
    where, field, asked = PICKED[criterion.kind]
    names = {getattr(criterion, asked), criterion.of}
    picked = [entry for entry in view.upto(where) if getattr(entry, field) in names]
    targets = view.upto("targets") if criterion.kind == "measure" else []
    return [*picked, *(target for target in targets if target.measure in names)]


def _newest(entries: Iterable[Entry]) -> list[Entry]:
    return sorted(entries, key=lambda entry: (entry.on, entry.id), reverse=True)[:MOST]
