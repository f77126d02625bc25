"""What a review writes beside a check-in, and what follows if it is written; no screen in here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from armrise.store.clinic.case.standing import Standing, Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.motion.motion import other_side
from armrise.store.clinic.scores.outcome import score_owed
from armrise.store.clinic.standing.words import verdict_told
from armrise.store.clinic.time.clocks import stage_interval
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.light import dataclass
from armrise.store.record.words import days_ago
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.first_visit.ending import attended, interval_fault, review_words
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.measures import plan as plans
from armrise.tui.forms.measures.given import Given
from armrise.tui.forms.measures.range_line_case import REVIEW, How, how_before

WEEK = 7
MOST = 2
"""Open criteria that stand under the verdict; the step screen has them all."""
STAYS, FORWARD, BACK, AGAINST = (
    "no step today",
    "step forward",
    "step back",
    "stay against the verdict, with reason",
)
WHAT_NOW = (STAYS, FORWARD, BACK, AGAINST)
DIRECTIONS = {FORWARD: "forward", BACK: "back", AGAINST: "stay"}
"""What opens the step screen after the review is written, and in which direction."""

CHANGES = {"n": "no change", "a": "new analgesic", "s": "stronger analgesic", "j": "injection today"}
MEDICINES = {
    "new analgesic": {"what": "analgesic", "change": "new"},
    "stronger analgesic": {"what": "analgesic", "change": "stronger"},
    "injection today": {"what": "injection", "change": "new"},
}


@dataclass(frozen=True, slots=True)
class About:
    """What a review asks of this case today."""

    findings: tuple[str, ...] = ()
    """Findings an exit criterion of the stage still asks for."""
    asked_days: int = WEEK
    """Days of a week on which exercises are asked for."""
    score: str = ""
    """The outcome score that is owed, empty when none is."""
    score_words: str = ""
    """Since when it is owed."""
    injury: bool = False
    breach: bool = False
    flare: bool = False
    worse: bool = False
    other_known: bool = False
    """The other side was measured before; it need not be again."""
    how: dict[str, How] | None = None
    interval: int | None = None


def about(record: CaseRecord, standing: Standing, rules: Rules, today: date) -> About:
    """Work out what to ask: only what is missing or matters today."""
    view = View.of(record, rules, today)
    live = {reason.code for reason in standing.reasons}
    owed = score_owed(view)
    return About(
        findings=tuple(dict.fromkeys(_open_findings(view))),
        asked_days=min(WEEK, max((item.per_week or WEEK for item in in_force(view)), default=WEEK)),
        score=view.pathway.score if owed and view.pathway else "",
        score_words=f"due {days_ago((today - owed.due).days)}" if owed else "",
        injury="INJ" in live,
        breach="LIM" in live,
        flare="FLA" in live,
        worse="WRS" in live,
        other_known=all(other_side(view, name) for name in REVIEW),
        how=how_before(record, REVIEW),
        interval=stage_interval(view, today),
    )


def _open_findings(view: View) -> Iterator[str]:
    for criterion in view.stage.exit if view.stage else ():
        yield from _unknown(view, criterion)


def _unknown(view: View, criterion: Criterion) -> Iterator[str]:
    wanted = criterion.finding if criterion.kind == "finding" else None
    if wanted and evaluate(view, criterion).state is Truth.UNKNOWN:
        yield wanted
    for part in criterion.parts:
        yield from _unknown(view, part)


def as_before(about: About, name: str) -> str:
    """By which means (``name`` is method or position) the range was taken last."""
    told = {before for how in (about.how or {}).values() if (before := how.get(name))}
    if not told:
        return "not said"
    return f"{told.pop()}, as before" if len(told) == 1 else "each as before"


def found(given: Given, about: About) -> Plan:
    """Pain, range, adherence, findings, medicine and the score, as far as they were asked."""
    plan = plans.ratings(given, ("worst", "rest", "night"))
    plan.nothing = "Nothing asked or measured yet."
    lines = plans.measured(given, ("range",), plans.means(given), about.how)
    for part in (lines, adherence(given, about), medicine(given), answers(given, about)):
        plan.drafts += part.drafts
        plan.then += part.then
        plan.faults |= part.faults
    if about.score:
        plans.region_score(plan, given)
        plans.function(plan, given)
    return plan


def adherence(given: Given, about: About) -> Plan:
    """Days exercised of the days asked for in the last seven, in per cent."""
    plan, days = Plan(), given.number("adherence")
    if days is Absence.NOT_ASKED:
        return plan
    value: Decimal | Absence = Absence.DECLINED
    if isinstance(days, int):
        share = Decimal(days * 100) / about.asked_days
        value = share.quantize(Decimal(1), ROUND_HALF_UP)
        plan.then.append(f"(exercised on {days} of the last {WEEK} days, {about.asked_days} asked)")
    draft = {"name": "adherence", "value": value, "source": REPORTED}
    plan.drafts.append(("measure", draft))
    return plan


def medicine(given: Given) -> Plan:
    """What can mask pain from today on; "no change" writes nothing."""
    plan, change = Plan(), given["medicine"]
    values = MEDICINES.get(change)
    if values:
        plan.drafts.append(("medicine", {**values, "source": REPORTED}))
    return plan


def answers(given: Given, about: About) -> Plan:
    """The findings that were asked for."""
    plan = Plan()
    for number, name in enumerate(about.findings):
        answer = given[f"find-{number}"]
        if answer:
            plan.drafts.append(("finding", {"name": name, "answer": answer}))
    return plan


def decided(given: Given, about: About, record: CaseRecord) -> Plan:
    """The visit, what it answers, the next slot, and today's slot as attended."""
    plan = Plan()
    if not given["now"]:
        plan.faults["now"] = f"what now: choose 1 to {len(WHAT_NOW)}; it ends the review."
    interval = given["interval"]
    if fault := interval_fault(interval):
        plan.faults["interval"] = fault
    following, fault = given.when("next", "next visit", ahead=True)
    if fault:
        plan.faults["next"] = fault
    if {"interval", "next"} & set(plan.faults):
        return plan
    visit: dict[str, Any] = {"interval": int(interval) if interval else None}
    visit["anything_new"] = {"y": "yes", "n": "no"}.get(given["new"], "not asked")
    visit |= {name: True for key, name in FLAGS.items() if given[key] == "yes"}
    plan.drafts.append(("visit", visit))
    plan.drafts += attended(record, given.today)
    if following:
        plan.drafts.append(("appointment", {"booked_for": following, "reason": "review"}))
    plan.then += review_words(interval, about.interval, following)
    return plan


FLAGS = {
    "assessed": "injury_assessed",
    "corrected": "plan_corrected",
    "cut": "load_cut",
    "decision": "decision",
}
"""The questions of the decision, by the field of the visit that a yes sets."""


def verdict_words(standing: Standing) -> Sequence[str]:
    """The verdict that would follow, its first line, and what is still open."""
    verdict = standing.verdict
    first = verdict_told(verdict)
    open_still = [
        f"  {result.state.value}: {result.text}"
        for result in (*verdict.blocks, *verdict.criteria)
        if result.state is not Truth.MET and result.text not in verdict.line
    ]
    more = [f"  and {len(open_still) - MOST} more"] if len(open_still) > MOST else []
    return [f"If this is written: {first}", *open_still[:MOST], *more]
