"""The columns of the list for some cases, as the list works them out for all of a caseload."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.case.standing import Standing
from armrise.tui.widgets.columns import Plan, planned, widest, widths


def plan(cases: Sequence[Standing], width: int, *, by_hour: bool = False, ascii_only: bool = False) -> Plan:
    """The columns for these cases, all of the caseload, in ``width`` cells; ``by_hour`` led by the hour."""
    return planned(widest(map(widths, cases)), width, by_hour=by_hour, ascii_only=ascii_only)
