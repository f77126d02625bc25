"""What a first visit writes, block by block, worked out from what was typed; no screen in here.

A field left empty writes nothing: not asked is not "no", not measured is not zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from armrise.store.clinic.pain import irritability
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import MEASURED, REPORTED
from armrise.store.record.kinds.safety import asked_of
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.measures.given import Given
from armrise.tui.forms.measures.plan import function, means, measured, ratings, region_score

SAFETY = {
    3: "POSSIBLE RED FLAG, SAME DAY: act before the patient leaves, by your clinic's same-day route",
    2: "POSSIBLE RED FLAG, URGENT: send the urgent referral today and record it",
    1: "POSSIBLE RED FLAG, SOON: decide today who looks into it, and record the outcome",
}
"""What to do today about a yes, by severity (practice notes 2.2 and 5; local routes are the clinic's own)."""


def add_finding(plan: Plan, name: str, answer: str, source: str = REPORTED) -> None:
    """A finding of the examination or of what was told; no answer, no entry."""
    if answer:
        plan.drafts.append(("finding", {"name": name, "answer": answer, "source": source}))


def consent(given: Given) -> Plan:
    """Consent to hold the record, and the guardian's where one is needed."""
    plan = Plan(nothing="Consent not asked.")
    for key, name in (("consent", "consent to hold record"), ("guardian", "guardian consent")):
        add_finding(plan, name, given[key])
    return plan


def flags(given: Given, age: str | None) -> Plan:
    """The answers of the list; nothing but no is one entry "all"."""
    asked = asked_of(age)
    plan = Plan(nothing="Red-flag screen not asked: it stays owed.")
    drafts = list(given.flags)
    yes = [values for _, values in drafts if values["answer"] == "yes"]
    if len(drafts) == len(asked) and all(values["answer"] == "no" for _, values in drafts):
        drafts = [("screen", {"source": REPORTED, "item": "all", "answer": "no"})]
    elif drafts:
        plan.then.append(f"({len(drafts)} of {len(asked)} asked, {len(yes)} yes)")
    plan.drafts += drafts
    if yes:
        plan.then.append(SAFETY[max(_severity(given.rules, values) for values in yes)])
    return plan


def _severity(rules: Rules, values: Mapping[str, Any]) -> int:
    if "severity" in values:
        return int(values["severity"])
    figure = rules.screen_severity.get(values["item"])
    return figure.whole if figure else max(SAFETY)


def rows(given: Given) -> irritability.Rows:
    """The rows of irritability."""
    worst = given.number("worst")
    return irritability.Rows(
        irritability.intensity(worst if isinstance(worst, int) else None, given.rules),
        irritability.REST_AND_NIGHT.get(given["rest-night"]),
        irritability.END_RANGE.get(given["end-range"]),
        irritability.SETTLING.get(given["settling"]),
    )


def irritable(given: Given) -> Plan:
    """Pain, and the level that was confirmed with the rows it was proposed from."""
    plan = ratings(given)
    level = given["level"]
    if not level:
        return plan
    found, proposed = rows(given), irritability.propose(rows(given))
    values: dict[str, Any] = {
        "level": level,
        "proposed": proposed.level,
        "mixed": proposed.mixed,
        "intensity": found.intensity,
        "rest_and_night": found.rest_and_night,
        "end_range": found.end_range,
        "settling": found.settling,
    }
    plan.drafts.append(("irritability", values))
    cut = irritability.cut_mark(found, given.rules)
    plan.then += [f"(cut-offs of the worst pain: {cut.strip(' ()')})"] if cut else []
    return plan


def ranges(given: Given) -> Plan:
    """Active and passive range, and whether the other side may be compared with."""
    plan = measured(given, ("active", "passive"), means(given))
    add_finding(plan, "other side is a reference", given["reference"], MEASURED)
    return plan


def neck(given: Given) -> Plan:
    """Neck, sensation, deltoid and grip."""
    plan = Plan(nothing="Neck and nerves not examined.")
    add_finding(plan, "neck movement reproduces pain", given["neck"], MEASURED)
    for key, recorded, seen in (
        ("badge", "badge sensation recorded", "badge sensation lost"),
        ("deltoid", "deltoid contraction recorded", "deltoid contracts"),
    ):
        answer = given[key]
        if answer in ("yes", "no"):
            plan.drafts.append(("finding", {"name": recorded, "answer": "yes", "source": MEASURED}))
        add_finding(plan, seen, answer, MEASURED)
    add_finding(plan, "grip weaker than other side", given["grip"], MEASURED)
    if given["badge"] == "yes" or given["deltoid"] == "no":
        plan.then.append('ANSWER "MOTOR OR SENSORY LOSS" ON THE RED-FLAG LIST TOO')
    return plan


def outcome(given: Given) -> Plan:
    """The region score and the patient-specific function, each with its direction."""
    plan = Plan(nothing="No outcome score.")
    region_score(plan, given)
    function(plan, given)
    return plan


def background(given: Given, starts: date) -> Plan:
    """What else bears on it. ``starts`` is when the episode began: an earlier injection is history."""
    plan = Plan(nothing="Context not asked.")
    for key in ("diabetes", "thyroid disease", "anticoagulant"):
        add_finding(plan, key, given[key.replace(" ", "-")])
    add_finding(plan, "radiograph excludes other cause", given["radiograph"])
    injected, fault = given.when("injection", "injection on")
    if fault:
        plan.faults["injection"] = fault
    if injected:
        values = {"what": "injection", "on": injected, "history": injected < starts, "source": REPORTED}
        plan.drafts.append(("medicine", values))
    worry = given.number("worry")
    if worry is not Absence.NOT_ASKED:
        stored = worry if isinstance(worry, Absence) else Decimal(worry)
        draft = {"name": "worry_about_movement", "value": stored, "source": REPORTED}
        plan.drafts.append(("measure", draft))
    said = {name: given[name] or None for name in ("demand", "sleep", "goal")}
    if any(said.values()):
        plan.drafts.append(("background", {"source": REPORTED, **said}))
    return plan
