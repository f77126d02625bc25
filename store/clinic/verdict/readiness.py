"""The readiness verdict: REFER, STEP BACK ADVISED, NOT YET, UNKNOWN or READY, with everything it rests on.

The tool never takes a step. The order of the questions is fixed; the first that matches decides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import partial

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.standing import CriterionResult, Truth, Verdict, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.triggers import to_act
from armrise.store.clinic.healing.healing import gate
from armrise.store.clinic.healing.minimum import minimum, minimum_served
from armrise.store.clinic.motion.lift import MATTER as LOSING_POWER
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.scores.worse import worse
from armrise.store.clinic.time.clocks import hold_now
from armrise.store.clinic.verdict.blocks import NOT_MET_LINES, not_met_blocks, unknown_blocks
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.clinic.verdict.flare import step_back_for_flare
from armrise.store.clinic.verdict.refer import refer_rule
from armrise.store.clinic.verdict.screening import (
    event_severity,
    open_events,
    open_flags,
    severity_mark,
    severity_of,
)
from armrise.store.record.words import full_date, words_date
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.figure import mark
from armrise.store.rules.pathway import Stage

URGENCY = {3: "same day", 2: "urgent", 1: "query"}


@once_a_view
def verdict(view: View) -> Verdict:
    """The verdict on the view's date."""
    decided = _decide(view)
    view.kept[word] = decided.word
    return decided


def word(view: View) -> Word:
    """The word of the verdict alone: nothing is opened up, nor looked for beside what decides."""
    if word not in view.kept:
        view.kept[word] = _word(view)
    return view.kept[word]


def _word(view: View) -> Word:
    before = _before_criteria(view)
    if before is not None:
        return before.word
    states = set[Truth]()
    for question in _questions(view):
        states |= {result.state for result in question(view)}
        if Truth.NOT_MET in states:
            view.history.memo[_questions] = view.stage, question
            return Word.NOT_YET
    return Word.UNKNOWN if Truth.UNKNOWN in states or unknown_blocks(view) else Word.READY


def _questions(view: View) -> Iterator[Callable[[View], Iterable[CriterionResult]]]:
    """What can be not met, the cheapest first; before them what was not met on the day looked at last."""
    stage, last = view.history.memo.get(_questions, (None, None))
    if last is not None and stage is view.stage:
        yield last
    yield days_and_gate
    yield from NOT_MET_LINES
    for criterion in view.stage.exit if view.stage else ():
        yield partial(_one, criterion)


def _one(criterion: Criterion, view: View) -> tuple[CriterionResult, ...]:
    return (evaluate(view, criterion),)


def _decide(view: View) -> Verdict:
    before = _before_criteria(view)
    decided = _by_criteria(view) if before is None else _opened(view, before)
    return decided._replace(rule_version=view.rules.version, signed_off=view.rules.sign_off)


def _before_criteria(view: View) -> Verdict | None:
    """What decides before the criteria do, without them; None where they decide."""
    questions = (red_flag, injury, no_verdict, refer, _step_back)
    return next((answer for question in questions if (answer := question(view))), None)


# --- before the criteria --------------------------------------------------------------------------------


def red_flag(view: View) -> Verdict | None:
    """REFER where a possible red flag is open that is more than a query."""
    flags = [f for f in open_flags(view) if severity_of(view, f) >= 2]
    if not flags:
        return None
    worst = max(flags, key=lambda f: severity_of(view, f))
    words = f"{URGENCY[severity_of(view, worst)]}{severity_mark(view, flags)}"
    line = f"{words}: possible red flag, {worst.item}"
    return Verdict(Word.REFER, line, rule="possible red flag")


def injury(view: View) -> Verdict | None:
    """What a new injury that no visit has assessed decides."""
    events = open_events(view)
    if not events:
        return None
    serious = any(event_severity(e) == 2 for e in events)
    what = f"{events[-1].event} on {words_date(events[-1].on)}"
    if serious and view.pathway and view.pathway.clock == "dislocation":
        return Verdict(Word.REFER, f"second event: {what}", rule="second event")
    return Verdict(Word.NOT_YET, f"new injury not assessed: {what}")


def no_verdict(view: View) -> Verdict | None:
    """No word on a case that is closed, on hold, not placed, or in a stage that the rule file lacks."""
    if view.closed:
        return Verdict(Word.NONE, f"closed on {words_date(view.closed.on)}: {view.closed.outcome}")
    held = hold_now(view)
    if held:
        return Verdict(Word.ON_HOLD, f"on hold until {words_date(held.end)}: {held.hold.reason}")
    if view.span is None:
        return Verdict(Word.NONE, "waiting for the first visit")
    if view.stage is None:
        return Verdict(Word.NONE, f"stage not in rule file: {view.span.stage}")
    return None


def refer(view: View) -> Verdict | None:
    """The first of: findings that refer, lift or strength lost, worse by score, the rules of the pathway."""
    found = next((one for one in to_act(view) if one.trigger.refer), None)
    if found:
        line = f"{found.sentence}{mark(found.trigger.status)}"
        return Verdict(Word.REFER, line, rule=found.trigger.refer or "")
    weaker = power_loss(view)
    if weaker and weaker.severity == 2:
        return Verdict(Word.REFER, weaker.refer, rule=weaker.answer or LOSING_POWER)
    lost = worse(view)
    if lost and lost.severity == 2:
        return Verdict(Word.REFER, lost.sentence, rule="worse, or not responding")
    rule = refer_rule(view)
    if rule:
        unknown = rule.age_from is not None and view.record.age_band is None
        line = f"{rule.text}{' (age not recorded)' if unknown else ''}{mark(rule.status)}"
        return Verdict(Word.REFER, line, rule=rule.rule)
    return None


def _step_back(view: View) -> Verdict | None:
    stage = view.stage
    if stage is None or view.first_stage:
        return None
    for judged in (evaluate(view, criterion) for criterion in stage.step_back):
        if judged.state is Truth.MET:
            line = f"{judged.text}{mark(judged.status)}: {judged.observed}"
            return Verdict(Word.STEP_BACK, line)
    return step_back_for_flares(view)


def step_back_for_flares(view: View) -> Verdict | None:
    """STEP BACK where a flare that does not settle advises it."""
    flare = flare_state(view)
    if flare and (why := step_back_for_flare(view)):
        return Verdict(Word.STEP_BACK, f"{why}: {flare.sentence}")
    return None


def _opened(view: View, decided: Verdict) -> Verdict:
    """The same verdict with the stage's criteria opened up for reading; none while closed or on hold."""
    if view.stage is None or view.closed or decided.word is Word.ON_HOLD:
        return decided
    blocks = tuple(not_met_blocks(view) + unknown_blocks(view))
    return decided._replace(criteria=tuple(exit_results(view)), blocks=blocks)


# --- minimum days, gates --------------------------------------------------------------------------------


def minimum_result(view: View, stage: Stage) -> CriterionResult | None:
    """Minimum days in the stage as a criterion; None where the stage asks for none."""
    found = minimum(view)
    if found is None or found.least == 0:
        return None
    opens, served = found.served_on, minimum_served(view)
    shown = now = f"day {found.stage_days}"
    needed, what, text = f"{found.least} days", "days in stage", f"{found.least} days in stage"
    if found.healing_days > found.stage_days and found.least > found.least_in_stage:
        shown += f", day {found.healing_days} by healing time"
        now = f"day {found.healing_days}, {found.stage_days} in stage"
        needed, what = f"{found.least}, {found.least_in_stage} in stage", "days by healing time"
        text = f"{found.least} days by healing time, {found.least_in_stage} in stage"
    if not served:
        shown += f", opens on day {(opens - found.start).days} ({full_date(opens)})"
    return CriterionResult(
        text=f"at least {text}",
        needed=needed,
        observed=shown,
        observed_on=view.today,
        state=Truth.of(served),
        source=stage.minimum.source,
        status=stage.minimum.status,
        opens_on=None if served else opens,
        what=what,
        now=now,
    )


def gate_result(view: View, stage: Stage) -> CriterionResult | None:
    """The healing gate of the next stage as a criterion; None where it has none."""
    opening = gate(view, stage)
    if opening is None:
        return None
    figure = stage.opens_day
    missing = CriterionResult(
        text=f"{stage.code} opens {opening.words if opening.day is not None else 'by order'}",
        needed=opening.words,
        observed="date missing",
        observed_on=None,
        state=Truth.UNKNOWN,
        source=figure.source if figure else "surgeon's order",
        status=figure.status if figure else "published",
        what=f"{stage.code} opens",
    )
    if opening.opens is None:
        return missing._replace(effort=1)
    is_open, onset = opening.opens <= view.today, view.onset()
    now = f"day {(view.today - onset.on).days}" if onset else ""
    shown = f"{f'{now}, ' if now else ''}{'open since' if is_open else 'opens on'} {full_date(opening.opens)}"
    shut_until = None if is_open else opening.opens
    state = Truth.of(is_open)
    return missing._replace(observed=shown, observed_on=view.today, state=state, opens_on=shut_until, now=now)


def exit_results(view: View) -> list[CriterionResult]:
    """The stage's criteria in file order, then minimum days, then the next stage's gate."""
    return [*_own_criteria(view), *days_and_gate(view)]


def _own_criteria(view: View) -> Iterator[CriterionResult]:
    return (evaluate(view, criterion) for criterion in view.stage.exit) if view.stage else iter(())


def days_and_gate(view: View) -> Iterator[CriterionResult]:
    """Minimum days in the stage, then the gate of the next, where there are any."""
    least = minimum_result(view, view.stage) if view.stage else None
    following = gate_result(view, view.next_stage) if view.stage and view.next_stage else None
    yield from (result for result in (least, following) if result)


# --- by the criteria ------------------------------------------------------------------------------------


def _by_criteria(view: View) -> Verdict:
    blocks = not_met_blocks(view) + unknown_blocks(view)
    criteria = exit_results(view)
    everything = [*blocks, *criteria]
    failing = [r for r in everything if r.state is Truth.NOT_MET]
    open_questions, to_record = _lacking(blocks, criteria)
    missing = (*open_questions, *to_record)
    if failing:
        return Verdict(Word.NOT_YET, _not_yet_line(failing, missing), tuple(criteria), tuple(blocks), missing)
    if any(r.state is Truth.UNKNOWN for r in everything):
        recorded = [f"to record: {'; '.join(to_record)}"] if to_record else []
        line = "; ".join([*open_questions, *recorded]) or "not enough recorded"
        return Verdict(Word.UNKNOWN, line, tuple(criteria), tuple(blocks), missing)
    following = view.next_stage
    line = f"ready to step forward to {following.code}" if following else "ready to discharge"
    return Verdict(Word.READY, line, tuple(criteria), tuple(blocks))


def _lacking(blocks: list[CriterionResult], criteria: list[CriterionResult]) -> tuple[list[str], list[str]]:
    """(what has to be seen or decided, what has to be recorded), each once: blocks in the order of ruling 68,
    then what criteria lack, a question before a measurement."""
    withheld = [r for r in blocks if r.state is Truth.UNKNOWN]
    unknown = [r for r in criteria if r.state is Truth.UNKNOWN and r.ask]
    asked = [*(r for r in withheld if r.ask), *sorted(unknown, key=lambda r: r.effort)]
    questions = dict.fromkeys(r.text for r in withheld if not r.ask)
    return list(questions), list(dict.fromkeys(r.ask for r in asked if r.ask not in questions))


def _not_yet_line(failing: list[CriterionResult], missing: tuple[str, ...]) -> str:
    first = failing[0]
    line = f"{first.text}{mark(first.status)}: {first.observed}"
    if first.opens_on is not None:
        # On a tie the gate is named: healing is the reason that cannot be argued with.
        last = max(reversed([r for r in failing if r.opens_on]), key=lambda r: r.opens_on or date.min)
        line = f"{last.text}{mark(last.status)}: {last.observed}"
    elif first.source == "safety rule":
        line = first.text if first.text.startswith("limit breach") else f"{first.text}: {first.observed}"
    return f"{line}; also missing: {', '.join(missing)}" if missing else line
