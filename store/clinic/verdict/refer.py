"""The refer rules of a pathway: conditions that end in REFER until an entry of the stage names the rule."""

from __future__ import annotations

from datetime import date, timedelta

from armrise.store.clinic.case.staleness import stale
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.motion import motion
from armrise.store.clinic.time.clocks import counted_days, first_here
from armrise.store.record.case import least_age
from armrise.store.rules.pathway import ReferRule


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
    if last is None or last.on <= edge or stale(view, rule.measure, last.on):
        return False
    older = [m for m in found if m.on <= edge]
    if rule.same_rater:
        older = [m for m in older if m.rater is not None and m.rater == last.rater]
    if not older:
        return False
    gained = motion.number(last) - motion.number(older[-1])
    lower = view.rules.measures[rule.measure].lower_is_better
    return (-gained if lower else gained) < rule.change_below
