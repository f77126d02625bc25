"""What to keep in mind beside a verdict: masked pain, contradictions, prompts. Never a block."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.healing import gate
from armrise.store.clinic.healing.minimum import minimum_served
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.contradictions import contradictions
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.scores import outcome, scoring
from armrise.store.clinic.scores.worse import not_read_for_worse
from armrise.store.clinic.verdict.adherence import adherence, seldom_done
from armrise.store.clinic.verdict.criteria import masks, score_against_pain
from armrise.store.clinic.verdict.measured import within
from armrise.store.clinic.verdict.messages import owed_message, unanswered, urgent_message
from armrise.store.clinic.verdict.refer import rule_true
from armrise.store.clinic.verdict.screening import open_flags
from armrise.store.record.case import least_age
from armrise.store.record.kinds.measured import STRENGTHS
from armrise.store.record.kinds.pain import Session
from armrise.store.record.words import words_date
from armrise.store.rules.figure import mark

ADULT_AGE = 18
HISTORY_CAUTIONS = ("anticoagulant", "cancer history", "pregnancy", "osteoporosis")
RECENT_DAYS = 14


def cautions(view: View) -> tuple[str, ...]:
    """What to keep in mind beside the verdict, short, most important first."""
    if view.closed or view.span is None:
        return ()
    mask = masks(view)
    found = [
        f"pain masked: {mask}" if mask else "",
        _feels_good_early(view),
        _near_ceiling(view),
        *contradictions(view).values(),
        score_against_pain(view),
        _check_day(view),
        _rest_above_worst(view),
        *_score_against_answers(view),
        _duplicate(view),
        _message_waiting(view),
        _cannot_judge(view),
        *not_read_for_worse(view),
        _reopened(view),
        _few_sessions(view),
        _seldom_done(view),
        _self_progressed(view),
        *_range_warnings(view),
        _strength_within_error(view),
        _surgical_opinion(view),
        _young_but(view),
        _early_step(view),
        outcome.early_look(view),
        *_history_cautions(view),
        _adult_data(view),
    ]
    return tuple(dict.fromkeys(c for c in found if c))


def _score_against_answers(view: View) -> list[str]:
    """The newest total of each questionnaire, where it does not follow from the answers recorded with it."""
    found: list[str] = []
    for recorded in {score.instrument: score for score in view.upto("scores")}.values():
        spec = view.instruments.get(recorded.instrument)
        differs = scoring.disagreement(spec, recorded) if spec and recorded.items else ""
        if differs:
            found.append(f"check {recorded.instrument} of {words_date(recorded.on)}: {differs}")
    return found


def _feels_good_early(view: View) -> str:
    """Comfort before a healing gate is itself a caution."""
    following = view.next_stage
    opening = gate(view, following) if following else None
    now = pain_now(view)
    if opening and opening.opens and opening.opens > view.today and now is not None and now <= 1:
        return "feeling good early: comfort opens no healing gate"
    return ""


def pain_now(view: View) -> int | None:
    """The largest known number of the last triple, None when nothing is known."""
    judged = newest(Response.of(view).all(view.today))
    scores = (judged.session.during, judged.session.later, judged.morning) if judged else ()
    return max((score for score in scores if isinstance(score, int)), default=None)


def _near_ceiling(view: View) -> str:
    base = Response.of(view).baseline(view.today)
    near = base is not None and base >= view.rules["ceiling.baseline"]
    return "pain near ceiling: scores cannot show worsening" if near else ""


def _check_day(view: View) -> str:
    judged = newest(Response.of(view).all(view.today))
    if judged is None or judged.morning is None or judged.session.later != 0:
        return ""
    high = judged.morning >= view.rules["contradiction.morning_after_zero"]
    return f"check day: later 0, next morning {judged.morning}" if high else ""


def _rest_above_worst(view: View) -> str:
    """Rest pain above the worst pain of its own day: asked about and never refused.

    Of 103 people after arm surgery 9 gave less pain on movement than at rest (Roberman 2011, Reg Anesth Pain
    Med 36:145), so pain during exercise below rest pain is not even asked about.
    """
    rest, worst = newest(motion.values(view, "rest_pain")), newest(motion.values(view, "worst_pain"))
    if rest is None or worst is None or rest.on != worst.on or motion.number(rest) <= motion.number(worst):
        return ""
    return f"check: rest pain {rest.value} above worst pain {worst.value} on {words_date(rest.on)}"


def _duplicate(view: View) -> str:
    """Two identical check-ins recorded within minutes of each other."""
    apart = timedelta(minutes=view.rules["contradiction.duplicate_minutes"])
    for one, two in pairwise(view.since("sessions", view.today - timedelta(days=RECENT_DAYS))):
        same = one.on == two.on and one.ordinal == two.ordinal and _scores(one) == _scores(two)
        if same and abs(two.recorded_at - one.recorded_at) <= apart:
            return f"duplicate? the same check-in of {words_date(one.on)} twice"
    return ""


def _scores(session: Session) -> tuple[object, ...]:
    return session.during, session.later, session.morning, session.times


def _message_waiting(view: View) -> str:
    """A message that nobody has answered, on the days before it is a reason."""
    waiting = unanswered(view)
    if not waiting or urgent_message(view) or owed_message(view):
        return ""
    return f"message of {words_date(waiting[-1].on)} not answered"


def _cannot_judge(view: View) -> str:
    """Past the checkpoint with totals that show neither response nor the lack of it."""
    if outcome.judged_on(view) is None or outcome.responded(view) is not Truth.UNKNOWN:
        return ""
    several = any(outcome.change(view, spec.key) for spec in outcome.judged_instruments(view))
    why = "no figure for a change in this score" if several else "one outcome total only"
    return f"{why}: response cannot be judged"


def _reopened(view: View) -> str:
    """A case reopened in this episode, with the gap it was closed for."""
    reopened = newest(view.since("reopenings", view.episode_start))
    if reopened is None:
        return ""
    closed = [d.on for d in view.upto("discharges") if d.on <= reopened.on]
    gap = f" after {(reopened.on - closed[-1]).days} days closed" if closed else ""
    return f"reopened {words_date(reopened.on)}{gap}: {reopened.reason}"


def _few_sessions(view: View) -> str:
    done = adherence(view)
    few = done is not None and done.percent < view.rules["adherence.few_percent"]
    return f"few sessions: {done.words}" if done and few else ""


def _seldom_done(view: View) -> str:
    """What to offer where hardly anything is done."""
    return "seldom done: offer fewer times, or drop one exercise" if seldom_done(view) else ""


def _self_progressed(view: View) -> str:
    """More done than prescribed in the newest session: counts, but is said."""
    judged = newest(Response.of(view).all(view.today))
    if judged is None:
        return ""
    for item in judged.session.items:
        sets = item.sets_asked is not None and item.sets is not None and item.sets > item.sets_asked
        reps = item.reps_asked is not None and item.reps is not None and item.reps > item.reps_asked
        if sets or reps:
            return f"self-progressed: more {item.exercise} than asked on {words_date(judged.on)}"
    return ""


def _range_warnings(view: View) -> list[str]:
    """Range checks at the exit of the stage: from the minimum days on they warn, and never block."""
    if view.stage is None or not minimum_served(view):
        return []
    found: list[str] = []
    for criterion, text in view.stage.range_warnings:
        last = newest(motion.values(view, criterion.measure or ""))
        if last is None:
            continue
        # The criterion states the concern, so a value that satisfies it is the one to print.
        if within(criterion, motion.number(last)):
            label = view.rules.measures[criterion.measure or ""].label
            value = f"({label} {motion.degrees(last)} on {words_date(last.on)})"
            found.append(f"{text} {value}{mark(criterion.status)}")
    return found


def _strength_within_error(view: View) -> str:
    """A re-test of strength that moved by less than the measurement error of the raters involved."""
    for name in STRENGTHS:
        tests = motion.values(view, name)
        if len(tests) < 2 or tests[-1].value == tests[-2].value:
            continue
        before, now = tests[-2:]
        same = before.rater is not None and before.rater == now.rater
        error = view.rules["strength.error_same" if same else "strength.error_other"]
        moved = abs(motion.number(now) - motion.number(before)) * 100
        if before.value and moved < error * motion.number(before):
            label = view.rules.measures[name].label
            return f"{label}: change since {words_date(before.on)} is within measurement error"
    return ""


def _early_step(view: View) -> str:
    """A step forward past a healing gate or an open red flag that carries no override: said all stage."""
    if view.stage is None or view.span is None or view.span.step.direction != "forward":
        return ""
    step, then = view.span.step, view.at(view.span.start)
    opening = gate(then, view.stage)
    early = opening is not None and (opening.opens is None or opening.opens > view.span.start)
    flagged = any(f.recorded_at <= step.recorded_at for f in open_flags(then))
    if step.override_reason or not (early or flagged):
        return ""
    what = "before its healing gate" if early else "with a possible red flag open"
    return f"entered {view.stage.code} {what}, without a recorded override"


def _young_but(view: View) -> str:
    """A refer rule that only the age keeps from speaking: said, because a tear asks no age."""
    if view.pathway is None or view.closed:
        return ""
    for rule in view.pathway.refer:
        if rule.age_from and not rule_true(view, rule) and rule_true(view, replace(rule, age_from=None)):
            return f"younger than {rule.age_from}, but otherwise: {rule.text}{mark(rule.status)}"
    return ""


def _surgical_opinion(view: View) -> str:
    """The prompt to offer a surgical opinion after a first dislocation, until an answer is recorded."""
    if view.pathway is None or view.pathway.clock != "dislocation":
        return ""
    said = {f.name: f.answer for f in view.upto("findings")}
    young = least_age(view.record.age_band) < view.rules["prompt.surgical_opinion_under_age"]
    sport = said.get("contact or overhead sport") == "yes"
    answered = said.get("surgical opinion offered") in ("yes", "no", "declined") or any(
        e.about == "surgical opinion" for n in ("referrals", "decisions") for e in view.upto(n)
    )
    known = view.record.age_band is not None
    if answered or not (sport or (young and known)):
        return ""
    by_age = view.rules.figures["prompt.surgical_opinion_under_age"].mark if not sport else ""
    return f"offer a surgical opinion early and record the answer{by_age}"


def _history_cautions(view: View) -> list[str]:
    said = {(f.name, f.answer) for f in view.upto("findings")}
    return [f"recorded: {n}" for n in HISTORY_CAUTIONS if (n, "yes") in said and (n, "no") not in said]


def _adult_data(view: View) -> str:
    band = view.record.age_band
    minor = band is not None and least_age(band) < ADULT_AGE
    return "under 18: thresholds are adult data; growth plate; consent of a guardian" if minor else ""
