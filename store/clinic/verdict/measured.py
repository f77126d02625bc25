"""Criteria on measured values: fresh or stale, alone or against the other side, once or several times."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.contradictions import contradictions
from armrise.store.clinic.verdict.results import MEASUREMENT, QUESTION, key_words, result
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Measure, Target
from armrise.store.record.words import days_ago, plain, words_date
from armrise.store.rules.pathway import Criterion


def measured(view: View, criterion: Criterion) -> CriterionResult:
    name = criterion.measure or ""
    spec = view.rules.measures[name]
    found = motion.values(view, name)
    effort = QUESTION if spec.question else MEASUREMENT
    last = newest(found)
    fresh = last is not None and (view.today - last.on).days <= spec.stale_days.whole
    if last is None or not fresh:
        return _nothing_fresh(view, criterion, spec.label, last, effort)
    passes, shown = _judge(view, criterion, last)
    target = _target_in_force(view, criterion, last)
    if target:
        wanted = f"target {plain(target.value)} (typed {words_date(target.on)}: {target.reason})"
        return replace(_by_value(view, criterion, found, passes, shown), needed=wanted)
    return _by_value(view, criterion, found, passes, shown)


def _by_value(
    view: View, criterion: Criterion, found: list[Measure], passes: bool | None, shown: str
) -> CriterionResult:
    spec, last = view.rules.measures[criterion.measure or ""], found[-1]
    effort = QUESTION if spec.question else MEASUREMENT
    if passes is None:
        return result(criterion, Truth.UNKNOWN, shown, last.on, f"{spec.label}: {shown}", effort)
    if not passes:
        return result(criterion, Truth.NOT_MET, shown, last.on)
    doubtful = contradictions(view).get(last.id)
    if doubtful:
        return result(
            criterion, Truth.UNKNOWN, f"{shown}, {doubtful}", last.on, f"confirm {spec.label}", effort
        )
    return _enough(view, criterion, found, shown, spec.label, effort)


def _nothing_fresh(
    view: View, criterion: Criterion, label: str, last: Measure | None, effort: int
) -> CriterionResult:
    entries = motion.all_named(view, criterion.measure or "")
    newest_entry = newest(entries)
    absent = newest_entry.value if newest_entry and isinstance(newest_entry.value, Absence) else None
    barred = absent is Absence.PROHIBITED or _testing_prohibited(view)
    if barred and criterion.only_if_allowed:
        return result(criterion, Truth.MET, "not tested: prohibited, asked only if testing is allowed")
    if barred:
        return result(
            criterion, Truth.UNKNOWN, "not tested: prohibited", None, f"{label}: not tested, prohibited", 9
        )
    if last is not None:
        shown = f"{plain(motion.number(last))}, {days_ago((view.today - last.on).days)}: too old"
        return result(
            criterion, Truth.UNKNOWN, shown, last.on, f"{label}, last {words_date(last.on)}", effort
        )
    if newest_entry is not None and newest_entry.repeated:
        return result(criterion, Truth.UNKNOWN, "repeated, not measured", newest_entry.on, label, effort)
    why = str(absent) if absent else "never recorded"
    return result(criterion, Truth.UNKNOWN, why, newest_entry.on if newest_entry else None, label, effort)


def _testing_prohibited(view: View) -> bool:
    said = [f for f in view.upto("findings") if f.name == "testing prohibited" and f.answer in ("yes", "no")]
    return bool(said) and said[-1].answer == "yes"


def _judge(view: View, criterion: Criterion, measure: Measure) -> tuple[bool | None, str]:
    """(passes, what is shown); None when the reference is missing."""
    value = measure.value
    assert not isinstance(value, Absence)
    if criterion.of is None:
        return within(criterion, value), plain(value)
    if measure.unit == "percent of other side":
        return within(criterion, value), f"{plain(value)} per cent of other side"
    if criterion.of == "other side":
        target = _target(view, criterion.measure or "")
        if not motion.other_is_reference(view):
            if target is None:
                return None, f"{plain(value)}; other side is no reference, no target typed"
            return value >= target.value, f"{plain(value)} of target {plain(target.value)}"
        reference = motion.other_side(view, criterion.measure or "")
        name = "other side"
    else:
        reference = newest(motion.values(view, criterion.of))
        name = key_words(criterion.of)
    if reference is None or isinstance(reference.value, Absence) or reference.value <= 0:
        return None, f"{plain(value)}; {name} never measured"
    share = value * 100 / reference.value
    passes = _ratio_within(criterion, value, reference.value)
    return passes, f"{plain(value)}, {int(share)} per cent of {name} {plain(reference.value)}"


def _target_in_force(view: View, criterion: Criterion, measure: Measure) -> Target | None:
    """The typed target, where the other side would be asked for and is no reference."""
    if criterion.of != "other side" or measure.unit == "percent of other side":
        return None
    return None if motion.other_is_reference(view) else _target(view, criterion.measure or "")


def _target(view: View, name: str) -> Target | None:
    return newest([t for t in view.upto("targets") if t.measure == name])


def within(criterion: Criterion, value: Decimal) -> bool:
    low = criterion.at_least is None or value >= criterion.at_least
    return low and (criterion.at_most is None or value <= criterion.at_most)


def _ratio_within(criterion: Criterion, value: Decimal, reference: Decimal) -> bool:
    low = criterion.at_least is None or value * 100 >= criterion.at_least * reference
    return low and (criterion.at_most is None or value * 100 <= criterion.at_most * reference)


def _enough(
    view: View, criterion: Criterion, found: list[Measure], shown: str, label: str, effort: int
) -> CriterionResult:
    """The unbroken run of passing observations that ends with the newest: long enough, far enough apart?"""
    run: list[Measure] = []
    for measure in reversed(found):
        if not _judge(view, criterion, measure)[0]:
            break
        run.append(measure)
    last = found[-1]
    if len(run) > 1:
        shown = f"{shown} ({words_date(last.on)}) and {plain(motion.number(run[1]))} before"
    apart = (run[0].on - run[-1].on).days
    if len(run) >= criterion.observations and apart >= criterion.apart_days:
        return result(criterion, Truth.MET, shown, last.on)
    ask = f"{label}: one more needed"
    if criterion.apart_days:
        opens = run[-1].on + timedelta(days=criterion.apart_days)
        ask += f" on or after {words_date(opens)}"
    return result(criterion, Truth.UNKNOWN, f"{shown}, one more needed", last.on, ask, effort)
