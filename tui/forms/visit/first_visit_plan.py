"""What a first visit writes, block by block, worked out from what was typed; no screen in here.

A field left empty writes nothing: not asked is not "no", not measured is not zero.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from armrise.store.clinic.motion.motion import PAIRS
from armrise.store.clinic.pain import irritability
from armrise.store.clinic.programme.ladder import start_of
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence, Whole, rule_of
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.plan import Orders
from armrise.store.record.kinds.programme import ISOMETRIC
from armrise.store.record.kinds.safety import SCREEN_ITEMS
from armrise.store.record.words import count_days, plain
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.pathway import Pathway, Rules
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.visit.first_visit_read import read_total, read_when
from armrise.tui.forms.visit.range_line_case import How, measure_drafts
from armrise.tui.forms.visit.range_line_parse import Line as RangeTyped

REPORTED = "patient reported"
MEASURED = "clinician measured"
MINORS = ("under 16", "16-17")
FUNCTION = "PSFS"
OXFORD_FORMULA = "new 0-48"
OXFORD = ("OSS", "OSIS")
FUNCTIONS = ("function-1", "function-2", "function-3")
SAFETY = {
    3: "POSSIBLE RED FLAG, SAME DAY: act before the patient leaves, by your clinic's same-day route",
    2: "POSSIBLE RED FLAG, URGENT: send the urgent referral today and record it",
    1: "POSSIBLE RED FLAG, SOON: decide today who looks into it, and record the outcome",
}
"""What to do today about a yes, by severity (practice notes 2.2 and 5; local routes are the clinic's own)."""


@dataclass(frozen=True, slots=True)
class Given:
    """What stands in the fields, by their ids, and what it is about."""

    text: Mapping[str, str]
    today: date
    rules: Rules
    author: str
    other_side: str = ""
    lines: Mapping[str, RangeTyped] = field(default_factory=dict[str, RangeTyped])
    flags: tuple[Draft, ...] = ()
    """Answers of the red-flag list."""

    def __getitem__(self, key: str) -> str:
        return self.text.get(key, "").strip()

    def number(self, key: str) -> int | Absence:
        """A rating by one key."""
        value = self[key]
        if not value.isdecimal():
            return Absence.DECLINED if value == "d" else Absence.NOT_ASKED
        return int(value)

    def when(self, key: str, label: str, *, ahead: bool = False) -> tuple[date | None, str]:
        """A date that was typed, and what is wrong with it."""
        return read_when(self[key], self.today, ahead=ahead, label=label)


# identity


def next_code(codes: Iterable[str], otherwise: str) -> str:
    """The next free code after the commonest pattern of ``codes``; the number has no meaning inside."""
    parts = [match for code in codes if (match := re.fullmatch(r"(.*?)(\d+)", code))]
    if not parts:
        return otherwise
    prefix = Counter(match[1] for match in parts).most_common(1)[0][0]
    same = [match[2] for match in parts if match[1] == prefix]
    return f"{prefix}{max(int(n) for n in same) + 1:0{max(len(n) for n in same)}}"


def consent(given: Given) -> Plan:
    """Consent to hold the record, and the guardian's where one is needed."""
    plan = Plan(nothing="Consent not asked.")
    for key, name in (("consent", "consent to hold record"), ("guardian", "guardian consent")):
        _finding(plan, name, given[key])
    return plan


def _finding(plan: Plan, name: str, answer: str, source: str = REPORTED) -> None:
    if answer:
        plan.drafts.append(("finding", {"name": name, "answer": answer, "source": source}))


# red flags


def flags(given: Given) -> Plan:
    """The answers of the list; ten times no is one entry "all"."""
    plan = Plan(nothing="Red-flag screen not asked: it stays owed.")
    drafts = list(given.flags)
    yes = [values for _, values in drafts if values["answer"] == "yes"]
    if len(drafts) == len(SCREEN_ITEMS) and all(values["answer"] == "no" for _, values in drafts):
        drafts = [("screen", {"source": REPORTED, "item": "all", "answer": "no"})]
    elif drafts:
        plan.then.append(f"({len(drafts)} of {len(SCREEN_ITEMS)} asked, {len(yes)} yes)")
    plan.drafts += drafts
    if yes:
        plan.then.append(SAFETY[max(_severity(given.rules, values) for values in yes)])
    return plan


def _severity(rules: Rules, values: Mapping[str, Any]) -> int:
    if "severity" in values:
        return int(values["severity"])
    figure = rules.screen_severity.get(values["item"])
    return figure.whole if figure else max(SAFETY)


# mechanism


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
        _finding(plan, "second dislocation", answer)
    if what in ("dislocation", "fracture", "other injury"):
        _finding(plan, "weakness after injury", given["weakness"], MEASURED)
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


# irritability


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


# range and strength

DYNAMOMETER: How = {"method": "hand-held dynamometer"}


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


def ranges(given: Given) -> Plan:
    """Active and passive range, and whether the other side may be compared with."""
    plan = measured(given, ("active", "passive"), means(given))
    _finding(plan, "other side is a reference", given["reference"], MEASURED)
    return plan


def neck(given: Given) -> Plan:
    """Neck, sensation, deltoid and grip."""
    plan = Plan(nothing="Neck and nerves not examined.")
    _finding(plan, "neck movement reproduces pain", given["neck"], MEASURED)
    for key, recorded, seen in (
        ("badge", "badge sensation recorded", "badge sensation lost"),
        ("deltoid", "deltoid contraction recorded", "deltoid contracts"),
    ):
        answer = given[key]
        if answer in ("yes", "no"):
            plan.drafts.append(("finding", {"name": recorded, "answer": "yes", "source": MEASURED}))
        _finding(plan, seen, answer, MEASURED)
    _finding(plan, "grip weaker than other side", given["grip"], MEASURED)
    if given["badge"] == "yes" or given["deltoid"] == "no":
        plan.then.append('ANSWER "MOTOR OR SENSORY LOSS" ON THE RED-FLAG LIST TOO')
    return plan


# outcome


def outcome(given: Given) -> Plan:
    """The region score and the patient-specific function, each with its direction."""
    plan = Plan(nothing="No outcome score.")
    region_score(plan, given)
    function(plan, given)
    return plan


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
    """The mean of one to three activities the patient chose; declined only when nothing else was said."""
    answers = [given.number(key) for key in FUNCTIONS]
    numbers = [value for value in answers if isinstance(value, int)]
    if numbers:
        total, items = mean(numbers), tuple(Decimal(n) for n in numbers)
        draft = {"instrument": FUNCTION, "total": total, "items": items, "source": REPORTED}
        plan.drafts.append(("score", draft))
    elif Absence.DECLINED in answers:
        draft = {"instrument": FUNCTION, "total": Absence.DECLINED, "source": REPORTED}
        plan.drafts.append(("score", draft))


# context


def background(given: Given, starts: date) -> Plan:
    """What else bears on it. ``starts`` is when the episode began: an earlier injection is history."""
    plan = Plan(nothing="Context not asked.")
    for key in ("diabetes", "thyroid disease", "anticoagulant"):
        _finding(plan, key, given[key.replace(" ", "-")])
    _finding(plan, "radiograph excludes other cause", given["radiograph"])
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


# decision


def decision(given: Given, pathway: Pathway | None, *, minor: bool) -> Plan:
    """The visit itself, the placing, the next date and safety-net advice."""
    plan = Plan()
    code = given["stage"].partition(" ")[0]
    stage = pathway.stage(code) if pathway else None
    if pathway is None:
        plan.faults["pathway"] = "pathway: Enter takes the proposed one, or choose."
    elif stage is None:
        plan.faults["stage"] = "stage: Enter takes the proposed one, or choose."
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
    _finding(plan, "safety-net advice given", given["safety-net"], MEASURED)
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
