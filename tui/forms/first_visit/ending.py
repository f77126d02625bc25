"""How a visit ends: the stage, the next review, what is booked, the programme begun. No screen in here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from armrise.store.clinic.programme.ladder import start_of
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Whole, rule_of
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.head import MEASURED
from armrise.store.record.kinds.programme import ISOMETRIC
from armrise.store.record.words import count_days
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.pathway import Pathway
from armrise.tui.forms.first_visit.plan import add_finding
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.measures.given import Given


def decision(given: Given, pathway: Pathway | None, *, minor: bool) -> Plan:
    """The visit itself, the placing, the next date and safety-net advice."""
    plan = Plan(nothing="Nothing decided yet.")
    code = given["stage"].partition(" ")[0]
    stage = pathway.stage(code) if pathway else None
    if pathway is None:
        plan.faults["pathway"] = "pathway: Enter for the one proposed, or choose."
    elif stage is None:
        plan.faults["stage"] = "stage: Enter for the one proposed, or choose."
    interval, usual = given["interval"], given.number("usual-morning")
    if fault := interval_fault(interval):
        plan.faults["interval"] = fault
    following, fault = given.when("next", "next visit", ahead=True)
    if fault:
        plan.faults["next"] = fault
    if stage and pathway and not plan.faults:
        visit: dict[str, Any] = {"interval": int(interval) if interval else None}
        if isinstance(usual, int):
            visit["usual_morning"] = usual
        plan.drafts += [("visit", visit), ("step", _placing(given, code))]
        plan.then.append(f"({code} is {stage.name}, {pathway.name})")
        plan.then += review_words(interval, None, following)
    if following and not fault:
        plan.drafts.append(("appointment", {"booked_for": following, "reason": "review"}))
    add_finding(plan, "safety-net advice given", given["safety-net"], MEASURED)
    if minor:
        plan.then.append("adult thresholds: this patient is a minor, growth plates are not considered")
    return plan


def interval_fault(text: str) -> str:
    """Why the typed days to the next review are none; empty when they are, or nothing is typed."""
    rule: Whole = rule_of(Visit, "interval")
    if not text or (text.isdecimal() and rule.low <= int(text) <= rule.high):
        return ""
    return f'review in: "{text}" is out of range, allowed is {rule.low} to {rule.high} {rule.unit}.'


def review_words(interval: str, usual: int | None, following: date | None) -> list[str]:
    """By when the review is due where the visit does not say it, and that nothing is booked."""
    days = f", {count_days(usual)}" if usual else ""
    told = [] if interval else [f"(review by the stage{days})"]
    return told if following else [*told, "(none booked)"]


def programme(exercises: Sequence[Exercise]) -> list[Draft]:
    """The exercises proposed for the stage, each at its usual starting dose and without a load."""
    return [("programme item", start_of(exercise)) for exercise in exercises]


def template_words(exercises: Sequence[Exercise]) -> str:
    """The exercises with their doses, in one line."""
    return ", ".join(
        f"{e.name} {e.sets} x {e.reps}{' s' if e.load_class in ISOMETRIC else ''}" for e in exercises
    )


def _placing(given: Given, code: str) -> dict[str, Any]:
    return {"stage": code, "direction": "placing", "rules": given.rules.stamp}


def attended(record: CaseRecord, today: date) -> list[Draft]:
    """The slot booked for today as attended, unless something is recorded of it."""
    told = {a.booked_for for a in record.attendances}
    if today in told or not any(slot.booked_for == today for slot in record.appointments):
        return []
    return [("attendance", {"booked_for": today, "outcome": "attended"})]
