"""What entries that are about to be written would change: the verdict, and reasons that come or go."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.actions.suppose import added, difference
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.stand import stand
from armrise.store.clinic.standing.words import verdict_told
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.rules.pathway import Rules
from armrise.tui.words.standing import named

STAYS = "then: the verdict and the reasons stay as they are"
IN_FULL = 2
"""Reasons that come are told with their evidence up to this many, further ones by name."""


def standing_with(record: CaseRecord, rules: Rules, before: Standing, entries: Sequence[Entry]) -> Standing:
    """The standing of the same day with ``entries`` written."""
    return stand(added(record, entries), rules, before.as_of)


def effect(before: Standing, after: Standing) -> list[str]:
    """What differs, in lines that begin with "then"; one line when nothing does."""
    found = difference(before, after)
    lines: list[str] = []
    if found.verdict_changed:
        lines.append(f"then {verdict_words(after)}")
    if found.gained:
        told = [named(r) for r in found.gained[:IN_FULL]] + [r.name for r in found.gained[IN_FULL:]]
        lines.append(f"then new: {'; '.join(told)}")
    if found.lost:
        lines.append(f"then gone: {'; '.join(r.name for r in found.lost)}")
    return lines or [STAYS]


def verdict_words(standing: Standing) -> str:
    """The verdict with its first line."""
    verdict = standing.verdict
    return verdict_told(verdict)
