"""The readiness verdict: REFER, STEP BACK ADVISED, NOT YET, UNKNOWN or READY, with everything it rests on.

The tool never takes a step. The order of the questions is fixed; the first that matches decides.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from armrise.store.clinic.case.standing import CriterionResult, Truth, Verdict, Word
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import open_breaches
from armrise.store.clinic.healing.healing import Gate, gate, onset_word, operated_on
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.drift import drift, stiff_after_surgery
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.time.clocks import hold_now, minimum_served
from armrise.store.clinic.verdict.criteria import evaluate
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
from armrise.store.record.case import AGE_BANDS
from armrise.store.record.words import full_date, words_date
from armrise.store.rules.figure import mark
from armrise.store.rules.pathway import ReferRule, Stage

URGENCY = {3: "same day", 2: "urgent", 1: "query"}


def verdict(view: View) -> Verdict:
    """The verdict on the view's date, made once for a history and a date."""
    key = ("verdict", view.today)
    memo = view.history.memo
    if key not in memo:
        decided = _decide(view)
        memo[key] = replace(decided, rule_version=view.rules.version, signed_off=view.rules.sign_off)
    return memo[key]


def _decide(view: View) -> Verdict:
    for question in (_red_flag, _injury, _no_verdict, _refer, _step_back):
        answer = question(view)
        if answer:
            return answer
    return _by_criteria(view)


# --- before the criteria --------------------------------------------------------------------------------


def _red_flag(view: View) -> Verdict | None:
    flags = [f for f in open_flags(view) if severity_of(view, f) >= 2]
    if not flags:
        return None
    worst = max(flags, key=lambda f: severity_of(view, f))
    words = f"{URGENCY[severity_of(view, worst)]}{severity_mark(view, flags)}"
    return _with_criteria(
        view, Verdict(Word.REFER, f"{words}: possible red flag, {worst.item}", rule="possible red flag")
    )


def _injury(view: View) -> Verdict | None:
    events = open_events(view)
    if not events:
        return None
    serious = any(event_severity(e) == 2 for e in events)
    if serious and view.pathway and view.pathway.clock == "dislocation":
        line = f"second event: {events[-1].event} on {words_date(events[-1].on)}"
        return _with_criteria(view, Verdict(Word.REFER, line, rule="second event"))
    line = f"new injury not assessed: {events[-1].event} on {words_date(events[-1].on)}"
    return _with_criteria(view, Verdict(Word.NOT_YET, line))


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
    lost = outcome.worse(view)
    if lost and lost.severity == 2:
        return _with_criteria(view, Verdict(Word.REFER, lost.sentence, rule="worse, or not responding"))
    return None


def _step_back(view: View) -> Verdict | None:
    stage = view.stage
    if stage is None or view.first_stage:
        return None
    for criterion in stage.step_back:
        found = evaluate(view, criterion)
        if found.state is Truth.MET:
            return _with_criteria(
                view, Verdict(Word.STEP_BACK, f"{found.text}{mark(found.status)}: {found.observed}")
            )
    flare = flare_state(view)
    if flare and flare.session_causes:
        return _with_criteria(view, Verdict(Word.STEP_BACK, f"flare not settling: {flare.sentence}"))
    return None


def _with_criteria(view: View, decided: Verdict) -> Verdict:
    """The same verdict with the stage's criteria opened up for reading."""
    if view.stage is None or view.closed:
        return decided
    return replace(
        decided,
        criteria=tuple(exit_results(view)),
        blocks=decided.blocks or tuple(_not_met_blocks(view) + _unknown_blocks(view)),
    )


# --- refer rules ----------------------------------------------------------------------------------------


def refer_rule(view: View) -> ReferRule | None:
    """The first refer rule of the pathway that is true and that no referral or decision has answered."""
    if view.pathway is None or view.stage is None:
        return None
    for rule in view.pathway.refer:
        if rule_true(view, rule) and not _answered(view, rule):
            return rule
    return None


def _answered(view: View, rule: ReferRule) -> bool:
    """True when an entry of this stage names the rule, dated on or after the rule came true."""
    named = [e.on for e in view.since("referrals", view.stage_start) if e.about == rule.rule]
    named += [e.on for e in view.since("decisions", view.stage_start) if e.about == rule.rule]
    named += [e.on for e in view.since("visits", view.stage_start) if e.decision and e.answers == rule.rule]
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
    return _any_finding(view, rule, start) or _cannot_lift(view, rule, start)


def least_age(band: str | None) -> int:
    """The youngest age of a band in years; 0 when unknown or under 16."""
    if band is None or band not in AGE_BANDS:
        return 0
    digits = "".join(c for c in band if c.isdigit() or c == "-").split("-")[0]
    return 0 if band.startswith("under") else int(digits)


def _any_finding(view: View, rule: ReferRule, start: date | None) -> bool:
    for name, answer in rule.findings:
        said = [f for f in view.since("findings", start) if f.name == name and f.answer in ("yes", "no")]
        if said and said[-1].answer == answer:
            return True
    return False


def _cannot_lift(view: View, rule: ReferRule, start: date | None) -> bool:
    """Lift below the figure at the newest measurement since the injury, unless a newer finding says it lifts.

    An older measurement still counts: not having looked again is no sign that the arm lifts.
    """
    if rule.lift_below is None:
        return False
    lifted = [m for n in ("active_flexion", "active_abduction") for m in motion.values(view, n)]
    lifted = [m for m in lifted if start is None or m.on >= start]
    if not lifted:
        return False
    last = max(m.on for m in lifted)
    said = [
        f for f in view.since("findings", last) if f.name == "can lift to 90 degrees" and f.answer == "yes"
    ]
    best = max(motion.degrees(m) for m in lifted if m.on == last)
    return best < rule.lift_below and not said


def _plateau(view: View, rule: ReferRule) -> bool:
    """Past the stall days, and less gained over the window than the figure (a loss is less than a gain)."""
    stage = view.stage
    if stage is None or rule.over_days is None or rule.change_below is None or rule.measure is None:
        return False
    if rule.past_stall and (view.days_since(view.stage_start) or 0) <= stage.stall.whole:
        return False
    found = motion.values(view, rule.measure)
    last = newest(found)
    edge = view.today - timedelta(days=rule.over_days)
    if last is None or last.on < edge:
        return False
    older = [m for m in found if m.on <= edge]
    if rule.same_rater:
        older = [m for m in older if m.rater is not None and m.rater == last.rater]
    if not older:
        return False
    lower = view.rules.measures[rule.measure].lower_is_better
    before, now = motion.number(older[-1]), motion.number(last)
    gained = before - now if lower else now - before
    return gained < rule.change_below


# --- blocks, minimum days, gates ------------------------------------------------------------------------


def _block(text: str, observed: str, state: Truth = Truth.NOT_MET, effort: int = 1) -> CriterionResult:
    ask = text.removesuffix(" missing").removesuffix(" incomplete") if state is Truth.UNKNOWN else ""
    needed = "recorded" if state is Truth.UNKNOWN else "none open"
    return CriterionResult(text, needed, observed, None, state, "safety rule", "design", ask, effort)


def _not_met_blocks(view: View) -> list[CriterionResult]:
    """What forbids READY outright, in the printed order."""
    found: list[CriterionResult] = []
    broken = open_breaches(view)
    if broken:
        found.append(_block("limit breach open: stop the forbidden load", broken[-1].sentence))
    if open_events(view):
        found.append(_block("new injury not assessed", open_events(view)[-1].event))
    if open_flags(view):
        found.append(_block("red-flag query open", open_flags(view)[-1].item))
    flare = flare_state(view)
    if flare:
        first = view.first_stage and flare.session_causes
        found.append(
            _block("reduce load (no earlier stage)" if first else "pain not settling", flare.sentence)
        )
    lost = drift(view)
    stiff = stiff_after_surgery(view)
    if lost and lost.code == "STF" and lost != stiff:
        found.append(_block("range being lost", lost.sentence))
    if stiff:
        found.append(_block("surgeon not told of post-operative stiffness", stiff.sentence))
    return found


def _unknown_blocks(view: View) -> list[CriterionResult]:
    """What withholds READY until it is recorded."""
    found: list[CriterionResult] = []
    left = screen_unanswered(view)
    if left:
        found.append(_block("red-flag screen incomplete", f"{len(left)} items not asked", Truth.UNKNOWN))
    declined = screen_declined(view)
    if declined:
        found.append(_block("red-flag screen declined", f"{len(declined)} items declined", Truth.UNKNOWN))
    if orders_missing(view):
        found.append(_block("surgeon's orders missing", "not recorded", Truth.UNKNOWN, 2))
    operated = operated_on(view, view.today)
    if operated:
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
    observed = f"day {days}" if served else f"day {days}, opens on day {least} ({full_date(opens)})"
    return CriterionResult(
        f"at least {least} days in stage",
        f"{least} days",
        observed,
        view.today,
        Truth.MET if served else Truth.NOT_MET,
        stage.minimum.source,
        stage.minimum.status,
        opens_on=None if served else opens,
    )


def gate_result(view: View, stage: Stage) -> CriterionResult | None:
    """The healing gate of the next stage as a criterion; None where it has none."""
    opening: Gate | None = gate(view, stage)
    if opening is None:
        return None
    figure = stage.opens_day
    source = figure.source if figure else "surgeon's order"
    status = figure.status if figure else "published"
    text = (
        f"{stage.code} opens {opening.words}" if opening.day is not None else f"{stage.code} opens by order"
    )
    if opening.opens is None:
        return CriterionResult(
            text, opening.words, "date missing", None, Truth.UNKNOWN, source, status, "", 1
        )
    open_now = opening.opens <= view.today
    onset = view.onset()
    day = f"day {(view.today - onset.on).days}, " if onset else ""
    observed = f"{day}{'open since' if open_now else 'opens on'} {full_date(opening.opens)}"
    return CriterionResult(
        text,
        opening.words,
        observed,
        view.today,
        Truth.MET if open_now else Truth.NOT_MET,
        source,
        status,
        opens_on=None if open_now else opening.opens,
    )


def exit_results(view: View) -> list[CriterionResult]:
    """The stage's criteria in file order, then minimum days, then the next stage's gate."""
    stage = view.stage
    if stage is None:
        return []
    found = [evaluate(view, c) for c in stage.exit]
    least = minimum_result(view, stage)
    following = gate_result(view, view.next_stage) if view.next_stage else None
    return [*found, *(r for r in (least, following) if r)]


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
