"""The entries of what was measured: pain as rated, ranges and strength, totals of scores. No screen in here.

A field left empty writes nothing: not asked is not "no", not measured is not zero.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from armrise.store.clinic.motion.motion import PAIRS
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.measured import BETWEEN
from armrise.store.record.words import plain
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.measures.activity import read_activity
from armrise.tui.forms.measures.given import Given
from armrise.tui.forms.measures.range_line_case import How, measure_drafts
from armrise.tui.forms.measures.range_line_parse import Line as RangeTyped
from armrise.tui.forms.paged.read import read_total

FUNCTION = "PSFS"
OXFORD_FORMULA = "new 0-48"
OXFORD = ("OSS", "OSIS")
FUNCTIONS = ("function-1", "function-2", "function-3")
DYNAMOMETER: How = {"method": "hand-held dynamometer"}
RATED = {
    "worst": "worst_pain",
    "rest": "rest_pain",
    "night": "night_pain",
    "waking": "night_waking",
}


def ratings(given: Given, keys: Sequence[str] = tuple(RATED)) -> Plan:
    """Pain and waking as told today."""
    plan = Plan(nothing="Pain not asked.")
    for key in keys:
        value = given.number(key)
        if value is Absence.NOT_ASKED:
            continue
        stored = value if isinstance(value, Absence) else Decimal(value)
        plan.drafts.append(("measure", {"name": RATED[key], "value": stored, "source": REPORTED}))
    return plan


def measured(
    given: Given, keys: Sequence[str], how: How | None = None, before: Mapping[str, How] | None = None
) -> Plan:
    """The lines of ranges or strength, by the means named now or else those of last time."""
    plan = Plan(nothing="Not measured.")
    for key in keys:
        line = given.lines.get(key, RangeTyped())
        if line.faults:
            plan.faults[key] = "\n    ! ".join(line.faults)
        drafts = measure_drafts(line.readings, given.other_side, given.author, how, before)
        plan.drafts += drafts
    plan.then += against_each_other(plan.drafts, given.rules)
    return plan


def against_each_other(drafts: Sequence[Draft], rules: Rules) -> list[str]:
    """Active range above passive of the same movement: said, never refused (practice note 4.12)."""
    own = {v["name"]: v["value"] for _, v in drafts if "side" not in v and not v.get("repeated")}
    told: list[str] = []
    for active, passive in PAIRS:
        one, two = own.get(active), own.get(passive)
        if not isinstance(one, Decimal) or not isinstance(two, Decimal):
            continue
        if one - two > rules["contradiction.active_over_passive"]:
            name = rules.measures[active].label
            told.append(f"LOOK AGAIN: {name} {plain(one)} is above passive {plain(two)}; counts as unknown")
    return told


def means(given: Given) -> How:
    """Device and position as they were named."""
    return {"method": given["method"] or None, "position": given["position"] or None}


def region_score(plan: Plan, given: Given) -> None:
    """The total of the region score that was chosen."""
    instrument = given["instrument"].partition(" ")[0]
    spec = given.rules.instruments.get(instrument)
    if spec is None:
        if given["total"]:
            plan.faults["instrument"] = "outcome score: choose which questionnaire the total is of."
        return
    total, fault = read_total(given["total"], f"total of {instrument}", spec.low, spec.high)
    if fault:
        plan.faults["total"] = fault
    elif total is not Absence.NOT_ASKED:
        values: dict[str, Any] = {"instrument": instrument, "total": total, "source": REPORTED}
        if instrument in OXFORD and isinstance(total, Decimal):
            values["formula"] = OXFORD_FORMULA
        plan.drafts.append(("score", {**values, "filled_by": "patient"}))


def mean(values: Sequence[int]) -> Decimal:
    """The mean of patient-specific activities, to two decimals."""
    return (Decimal(sum(values)) / len(values)).quantize(Decimal("0.01"), ROUND_HALF_UP)


def function(plan: Plan, given: Given) -> None:
    """The mean of one to three activities the patient chose; declined only when nothing else was said.

    A rating keeps its place, so that it is compared with the same activity next time.
    """
    known = [*given.activities, *("",) * len(FUNCTIONS)][: len(FUNCTIONS)]
    told = [
        read_activity(given[key], f"own activity {at}", known[at - 1]) for at, key in enumerate(FUNCTIONS, 1)
    ]
    for key, one in zip(FUNCTIONS, told, strict=True):
        if one.fault or (one.name and one.rating is Absence.NOT_ASKED):
            plan.faults[key] = (
                one.fault or f'own activity: "{one.name}" needs its rating: 0-9, x for 10, or d.'
            )
    numbers = [one.rating for one in told if isinstance(one.rating, int)]
    draft: dict[str, Any] = {"instrument": FUNCTION, "source": REPORTED}
    if any(one.name for one in told):
        names = [one.name or before for one, before in zip(told, known, strict=True)]
        draft["activities"] = BETWEEN.join(names).rstrip(BETWEEN)
    if numbers:
        items = [Decimal(one.rating) if isinstance(one.rating, int) else None for one in told]
        while items[-1] is None:
            items.pop()
        plan.drafts.append(("score", {**draft, "total": mean(numbers), "items": tuple(items)}))
    elif any(one.rating is Absence.DECLINED for one in told):
        plan.drafts.append(("score", {**draft, "total": Absence.DECLINED}))
