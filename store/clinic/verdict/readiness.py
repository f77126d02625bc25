"""The readiness verdict: REFER, STEP BACK ADVISED, NOT YET, UNKNOWN or READY, with everything it rests on.

The tool never takes a step. The order of the questions is fixed; the first that matches decides.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from armrise.store.clinic.case.standing import CriterionResult, Truth, Verdict, Word
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import open_breaches
from armrise.store.clinic.healing.healing import gate, onset_word, operated_on
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.drift import drift, stiff_after_surgery
from armrise.store.clinic.motion.lift import MATTER as LOSING_POWER
from armrise.store.clinic.motion.lift import power_loss
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.visits import MATTER as WORSE_AT_VISITS
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.time.clocks import counted_days, first_here, hold_now, minimum_served
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.clinic.verdict.freshness import IN_FULL, full_screens, question_due, screen_again
from armrise.store.clinic.verdict.messages import urgent_message
from armrise.store.clinic.verdict.screening import (
    event_severity,
    open_events,
    open_flags,
    orders_missing,
    screen_declined,
    screen_unanswered,
    severity_mark,
    severity_of,
)
from armrise.store.record.case import least_age
from armrise.store.record.words import full_date, words_date
from armrise.store.rules.figure import mark
from armrise.store.rules.pathway import ReferRule, Stage

ANSWER_FIRST = "answer the message first"
URGENCY = {3: "same day", 2: "urgent", 1: "query"}


def verdict(view: View) -> Verdict:
    """The verdict on the view's date, made once for a history and a date."""
    return view.history.once(("verdict", view.today), lambda: _decide(view))


def _decide(view: View) -> Verdict:
    questions = (_red_flag, _injury, _no_verdict, _refer, _step_back)
    answer = next((answer for question in questions if (answer := question(view))), None)
    decided = answer or _by_criteria(view)
    return replace(decided, rule_version=view.rules.version, signed_off=view.rules.sign_off)


# --- before the criteria --------------------------------------------------------------------------------


def _red_flag(view: View) -> Verdict | None:
    flags = [f for f in open_flags(view) if severity_of(view, f) >= 2]
    if not flags:
        return None
    worst = max(flags, key=lambda f: severity_of(view, f))
    words = f"{URGENCY[severity_of(view, worst)]}{severity_mark(view, flags)}"
    line = f"{words}: possible red flag, {worst.item}"
    return _with_criteria(view, Verdict(Word.REFER, line, rule="possible red flag"))


def _injury(view: View) -> Verdict | None:
    events = open_events(view)
    if not events:
        return None
    serious = any(event_severity(e) == 2 for e in events)
    what = f"{events[-1].event} on {words_date(events[-1].on)}"
    if serious and view.pathway and view.pathway.clock == "dislocation":
        return _with_criteria(view, Verdict(Word.REFER, f"second event: {what}", rule="second event"))
    return _with_criteria(view, Verdict(Word.NOT_YET, f"new injury not assessed: {what}"))


def _no_verdict(view: View) -> Verdict | None:
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


def _refer(view: View) -> Verdict | None:
    rule = refer_rule(view)
    if rule:
        unknown = rule.age_from is not None and view.record.age_band is None
        line = f"{rule.text}{' (age not recorded)' if unknown else ''}{mark(rule.status)}"
        return _with_criteria(view, Verdict(Word.REFER, line, rule=rule.rule))
    weaker = power_loss(view)
    if weaker and weaker.severity == 2:
        return _with_criteria(view, Verdict(Word.REFER, weaker.refer, rule=LOSING_POWER))
    lost = outcome.worse(view)
    if lost and lost.severity == 2:
        return _with_criteria(view, Verdict(Word.REFER, lost.sentence, rule="worse, or not responding"))
    return None


def _step_back(view: View) -> Verdict | None:
    stage = view.stage
    if stage is None or view.first_stage:
        return None
    for judged in (evaluate(view, criterion) for criterion in stage.step_back):
        if judged.state is Truth.MET:
            line = f"{judged.text}{mark(judged.status)}: {judged.observed}"
            return _with_criteria(view, Verdict(Word.STEP_BACK, line))
    flare = flare_state(view)
    if flare and flare.session_causes:
        return _with_criteria(view, Verdict(Word.STEP_BACK, f"flare not settling: {flare.sentence}"))
    return None


def _with_criteria(view: View, decided: Verdict) -> Verdict:
    """The same verdict with the stage's criteria opened up for reading."""
    if view.stage is None or view.closed:
        return decided
    blocks = tuple(_not_met_blocks(view) + _unknown_blocks(view))
    return replace(decided, criteria=tuple(exit_results(view)), blocks=blocks)


# --- refer rules ----------------------------------------------------------------------------------------


def refer_rule(view: View) -> ReferRule | None:
    """The first refer rule of the pathway that is true and that no referral or decision has answered."""
    if view.pathway is None or view.stage is None:
        return None
    rules = (rule for rule in view.pathway.refer if rule_true(view, rule) and not _answered(view, rule))
    return next(rules, None)


def _answered(view: View, rule: ReferRule) -> bool:
    """True when an entry of this stage names the rule, dated on or after the rule came true."""
    since = first_here(view) if rule.past_stall else view.stage_start
    entries = [*view.since("referrals", since), *view.since("decisions", since)]
    named = [e.on for e in entries if e.about == rule.rule]
    named += [e.on for e in view.since("visits", since) if e.decision and e.answers == rule.rule]
    return any(rule_true(view.at(on), rule) for on in named)


def rule_true(view: View, rule: ReferRule) -> bool:
    """Whether a refer rule's condition holds on the view's date."""
    if rule.stages and (view.stage is None or view.stage.code not in rule.stages):
        return False
    if rule.measure:
        return _plateau(view, rule)
    onset = view.onset()
    if rule.from_day is not None and (onset is None or (view.today - onset.on).days < rule.from_day):
        return False
    band = view.record.age_band
    # An age nobody recorded is not young: the rule speaks until somebody says how old.
    if rule.age_from is not None and band is not None and least_age(band) < rule.age_from:
        return False
    start = onset.on if onset else view.segment_start
    answers = ((view.yes_or_no(name, start), answer) for name, answer in rule.findings)
    found = any(finding and finding.answer == answer for finding, answer in answers)
    return found or _cannot_lift(view, rule, start)


def _cannot_lift(view: View, rule: ReferRule, start: date | None) -> bool:
    """Lift below the figure at the newest measurement since the injury, unless a newer finding says it lifts.

    An older measurement still counts: not having looked again is no sign that the arm lifts.
    """
    if rule.lift_below is None:
        return False
    lifts = [m for n in ("active_flexion", "active_abduction") for m in motion.values(view, n)]
    lifts = [m for m in lifts if start is None or m.on >= start]
    if not lifts:
        return False
    last = max(m.on for m in lifts)
    best = max(motion.degrees(m) for m in lifts if m.on == last)
    findings = view.since("findings", last)
    can_lift = any(f.name == "can lift to 90 degrees" and f.answer == "yes" for f in findings)
    return best < rule.lift_below and not can_lift


def _plateau(view: View, rule: ReferRule) -> bool:
    """Past the stall days, and less gained over the window than the figure (a loss is less than a gain).

    Days are those of "long in stage": holds out, earlier stays in. A stale value says nothing (ruling 92).
    """
    stage = view.stage
    if stage is None or rule.over_days is None or rule.change_below is None or rule.measure is None:
        return False
    if rule.past_stall and (counted_days(view) or 0) <= stage.stall.whole:
        return False
    found = motion.values(view, rule.measure)
    last = newest(found)
    edge = view.today - timedelta(days=rule.over_days)
    stale = view.rules.measures[rule.measure].stale_days.whole
    if last is None or last.on <= edge or (view.today - last.on).days > stale:
        return False
    older = [m for m in found if m.on <= edge]
    if rule.same_rater:
        older = [m for m in older if m.rater is not None and m.rater == last.rater]
    if not older:
        return False
    gained = motion.number(last) - motion.number(older[-1])
    lower = view.rules.measures[rule.measure].lower_is_better
    return (-gained if lower else gained) < rule.change_below


# --- blocks, minimum days, gates ------------------------------------------------------------------------


def _block(text: str, observed: str, state: Truth = Truth.NOT_MET, effort: int = 1) -> CriterionResult:
    ask = text.removesuffix(" missing").removesuffix(" incomplete") if state is Truth.UNKNOWN else ""
    needed = "recorded" if state is Truth.UNKNOWN else "none open"
    return CriterionResult(text, needed, observed, None, state, "safety rule", "design", ask, effort)


def _not_met_blocks(view: View) -> list[CriterionResult]:
    """What forbids READY outright, in the printed order."""
    found: list[CriterionResult] = []
    if broken := open_breaches(view):
        found.append(_block("limit breach open: stop the forbidden load", broken[-1].sentence))
    if events := open_events(view):
        found.append(_block("new injury not assessed", events[-1].event))
    if flags := open_flags(view):
        found.append(_block("red-flag query open", flags[-1].item))
    if weaker := power_loss(view):
        found.append(_block(LOSING_POWER, weaker.sentence))
    if flare := flare_state(view):
        first = view.first_stage and flare.session_causes
        text = "reduce load (no earlier stage)" if first else "pain not settling"
        found.append(_block(text, flare.sentence))
    if risen := worse_at_visits(view):
        found.append(_block(WORSE_AT_VISITS, risen.sentence))
    lost, stiff = drift(view), stiff_after_surgery(view)
    if lost and lost.code == "STF" and lost != stiff:
        found.append(_block("range being lost", lost.sentence))
    if stiff:
        found.append(_block("surgeon not told of post-operative stiffness", stiff.sentence))
    return found


def _unknown_blocks(view: View) -> list[CriterionResult]:
    """What withholds READY until it is recorded."""
    found: list[CriterionResult] = []
    if message := urgent_message(view):
        found.append(_block(ANSWER_FIRST, message.sentence, Truth.UNKNOWN, 0))
    if left := screen_unanswered(view):
        found.append(_block("red-flag screen incomplete", f"{len(left)} items not asked", Truth.UNKNOWN))
    elif not full_screens(view):
        found.append(_block(IN_FULL, "never asked in full", Truth.UNKNOWN))
    if again := screen_again(view):
        found.append(_block("red-flag screen again", again.sentence, Truth.UNKNOWN))
    if due := question_due(view):
        found.append(_block(due.missing, due.observed, Truth.UNKNOWN))
    if declined := screen_declined(view):
        found.append(_block("red-flag screen declined", f"{len(declined)} items declined", Truth.UNKNOWN))
    if orders_missing(view):
        found.append(_block("surgeon's orders missing", "not recorded", Truth.UNKNOWN, 2))
    if operated := operated_on(view, view.today):
        when = words_date(operated.on)
        found.append(_block("placing after surgery", f"surgery on {when} recorded", Truth.UNKNOWN))
    if view.pathway and view.pathway.clock and view.onset() is None:
        word = onset_word(view.pathway)
        found.append(_block(f"{word} date missing", "not recorded", Truth.UNKNOWN))
    return found


def minimum_result(view: View, stage: Stage) -> CriterionResult | None:
    """Minimum days in the stage as a criterion; None where the stage asks for none."""
    least = stage.minimum.whole
    if least == 0 or view.stage_start is None:
        return None
    days = view.days_since(view.stage_start) or 0
    opens = view.stage_start + timedelta(days=least)
    served = minimum_served(view)
    shown = f"day {days}" if served else f"day {days}, opens on day {least} ({full_date(opens)})"
    return CriterionResult(
        text=f"at least {least} days in stage",
        needed=f"{least} days",
        observed=shown,
        observed_on=view.today,
        state=Truth.of(served),
        source=stage.minimum.source,
        status=stage.minimum.status,
        opens_on=None if served else opens,
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
    )
    if opening.opens is None:
        return replace(missing, effort=1)
    is_open, onset = opening.opens <= view.today, view.onset()
    day = f"day {(view.today - onset.on).days}, " if onset else ""
    shown = f"{day}{'open since' if is_open else 'opens on'} {full_date(opening.opens)}"
    shut_until = None if is_open else opening.opens
    state = Truth.of(is_open)
    return replace(missing, observed=shown, observed_on=view.today, state=state, opens_on=shut_until)


def exit_results(view: View) -> list[CriterionResult]:
    """The stage's criteria in file order, then minimum days, then the next stage's gate."""
    if view.stage is None:
        return []
    least = minimum_result(view, view.stage)
    following = gate_result(view, view.next_stage) if view.next_stage else None
    return [*(evaluate(view, c) for c in view.stage.exit), *(r for r in (least, following) if r)]


# --- by the criteria ------------------------------------------------------------------------------------


def _by_criteria(view: View) -> Verdict:
    blocks = _not_met_blocks(view) + _unknown_blocks(view)
    criteria = exit_results(view)
    everything = [*blocks, *criteria]
    failing = [r for r in everything if r.state is Truth.NOT_MET]
    unknown = [r for r in everything if r.state is Truth.UNKNOWN and (r.ask or r in blocks)]
    missing = tuple(dict.fromkeys(r.ask for r in sorted(unknown, key=lambda r: r.effort) if r.ask))
    if failing:
        return Verdict(Word.NOT_YET, _not_yet_line(failing, missing), tuple(criteria), tuple(blocks), missing)
    if any(r.state is Truth.UNKNOWN for r in everything):
        line = "to record: " + "; ".join(missing) if missing else "not enough recorded"
        return Verdict(Word.UNKNOWN, line, tuple(criteria), tuple(blocks), missing)
    following = view.next_stage
    line = f"ready to step forward to {following.code}" if following else "ready to discharge"
    return Verdict(Word.READY, line, tuple(criteria), tuple(blocks))


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
