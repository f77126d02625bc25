"""What a first visit writes of how it began: onset, operation and the surgeon's limits. No screen in here."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from armrise.store.record.fields import Whole, rule_of
from armrise.store.record.kinds.head import MEASURED, REPORTED
from armrise.store.record.kinds.plan import Orders
from armrise.tui.forms.first_visit.plan import add_finding
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.measures.given import Given


def mechanism(given: Given) -> Plan:
    """How it began: the onset, the operation and the surgeon's limits, what followed an injury."""
    plan = Plan(nothing="Mechanism not asked.")
    what = given["onset"]
    if not what:
        return plan
    on, fault = given.when("onset-day", "when")
    if fault:
        plan.faults["onset-day"] = fault
    operation = given["operation"] if what == "surgery" else ""
    if on:
        values: dict[str, Any] = {"what": what, "on": on, "operation": operation or None}
        if what == "fracture":
            values["low_energy"] = given["low-energy"] == "yes"
        plan.drafts.append(("onset", {"source": REPORTED, **values}))
    else:
        dated = what in ("surgery", "dislocation", "fracture")
        opens = "NO STAGE OPENS" if dated else "no onset is written"
        plan.then.append(f"{what}, date not known: {opens}")
    if what == "surgery":
        _orders(plan, given)
    if what == "dislocation":
        first = given["first-time"]
        answer = {"yes": "no", "no": "yes"}.get(first, first)
        add_finding(plan, "second dislocation", answer)
    if what in ("dislocation", "fracture", "other injury"):
        add_finding(plan, "weakness after injury", given["weakness"], MEASURED)
    return plan


ORDER_DAYS = {
    "sling-until": ("sling_until", "sling until"),
    "no-active": ("no_active_until", "no active work until"),
    "no-resisted": ("no_resisted_until", "no resisted work until"),
}
ORDER_DEGREES = {
    "rotation-limit": ("external_rotation_limit", "external rotation to"),
    "elevation-limit": ("elevation_limit", "elevation to"),
}


def _orders(plan: Plan, given: Given) -> None:
    """The surgeon's written limits, in force from the date of the document."""
    values: dict[str, Any] = {}
    for key, (name, words) in ORDER_DAYS.items():
        until, fault = _any_day(given, key, words)
        if fault:
            plan.faults[key] = fault
        elif until:
            values[name] = until
    for key, (name, words) in ORDER_DEGREES.items():
        degrees = _degrees(plan, key, given[key], name, words)
        values |= {name: degrees} if degrees is not None else {}
    if given["tear"]:
        values["tear_size"] = given["tear"]
    dated, fault = given.when("orders-day", "orders dated")
    if fault:
        plan.faults["orders-day"] = fault
    if not values and not dated:
        plan.then.append("no surgeon's orders recorded: the template holds")
        return
    if dated is None and not fault:
        plan.faults["orders-day"] = "orders dated: the date of the document is needed, orders hold from it."
        return
    draft = {"on": dated, "operation": given["operation"] or None, "source": "surgeon", **values}
    plan.drafts.append(("orders", draft))


def _degrees(plan: Plan, key: str, text: str, name: str, words: str) -> int | None:
    """A limit in degrees within the range of the record, else a fault."""
    if not text:
        return None
    rule: Whole = rule_of(Orders, name)
    if re.fullmatch(r"-?\d{1,3}", text) and rule.low <= int(text) <= rule.high:
        return int(text)
    plan.faults[key] = f'{words}: "{text}" is out of range, allowed is {rule.low} to {rule.high} {rule.unit}.'
    return None


def _any_day(given: Given, key: str, label: str) -> tuple[date | None, str]:
    """A date that may lie ahead or behind."""
    when, fault = given.when(key, label, ahead=True)
    if when is None and fault:
        behind, _ = given.when(key, label)
        return (behind, "") if behind else (None, fault)
    return when, fault
