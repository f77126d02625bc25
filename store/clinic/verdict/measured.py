"""Criteria on measured values: fresh or stale, alone or against the other side, once or several times."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from armrise.store.clinic.case.staleness import stale
from armrise.store.clinic.case.standing import CriterionResult
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.motion import motion
from armrise.store.clinic.motion.contradictions import contradictions
from armrise.store.clinic.motion.reference import implausible, no_reference
from armrise.store.clinic.verdict.results import MEASUREMENT, QUESTION, decided, key_words, unknown
from armrise.store.clinic.verdict.spans import by_good_sessions
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Measure, Target
from armrise.store.record.words import days_ago, plain, words_date
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.measure import MeasureSpec

PER_CENT = "percent of other side"
"""The unit of a strength told by the other side: its value is the share itself."""
OF_TEN = "of 10"


def measured(view: View, criterion: Criterion) -> CriterionResult:
    """The result of a criterion on a measure: of its newest value while that is fresh."""
    spec = view.rules.measures[criterion.measure or ""]
    return _measured(view, criterion, spec)._replace(what=spec.label)


def _measured(view: View, criterion: Criterion, spec: MeasureSpec) -> CriterionResult:
    found = motion.values(view, spec.key)
    if not found or stale(view, spec.key, found[-1].on):
        return _nothing_fresh(view, criterion, spec, newest(found))
    judged = _by_value(view, criterion, spec, found)
    target = _target_in_force(view, criterion, found[-1])
    if target:
        wanted = f"target {plain(target.value)} (typed {words_date(target.on)}: {target.reason})"
        return judged._replace(needed=wanted)
    return judged


def _effort(spec: MeasureSpec) -> int:
    return QUESTION if spec.question else MEASUREMENT


def _by_value(view: View, criterion: Criterion, spec: MeasureSpec, found: list[Measure]) -> CriterionResult:
    last = found[-1]
    passes, shown = _judge(view, criterion, last)
    if passes is None:
        return _without_reference(view, criterion, spec, last, shown)
    if not passes:
        return decided(criterion, False, shown, last.on)
    doubtful = contradictions(view).get(last.id)
    if doubtful:
        return unknown(criterion, f"{shown}, {doubtful}", last.on, f"confirm {spec.label}", _effort(spec))
    return _enough(view, criterion, spec, found, shown)


def _without_reference(
    view: View, criterion: Criterion, spec: MeasureSpec, last: Measure, shown: str
) -> CriterionResult:
    """Unknown for want of something to compare with; a question where the other side is to be judged."""
    compared = criterion.of == "other side" and motion.other_is_reference(view)
    if compared and (doubt := implausible(view)):
        return unknown(criterion, shown, last.on, doubt, QUESTION)
    return unknown(criterion, shown, last.on, f"{spec.label}: {shown}", _effort(spec))


def _nothing_fresh(
    view: View, criterion: Criterion, spec: MeasureSpec, last: Measure | None
) -> CriterionResult:
    label, effort = spec.label, _effort(spec)
    entry = newest(motion.all_named(view, spec.key))
    absent = entry.value if entry and isinstance(entry.value, Absence) else None
    prohibited = view.yes_or_no("testing prohibited")
    if absent is Absence.PROHIBITED or (prohibited and prohibited.answer == "yes"):
        if criterion.only_if_allowed:
            return decided(criterion, True, "not tested: prohibited, asked only if testing is allowed")
        return unknown(criterion, "not tested: prohibited", None, f"{label}: not tested, prohibited", 9)
    if last is not None:
        shown = f"{plain(motion.number(last))}, {days_ago((view.today - last.on).days)}: too old"
        return unknown(criterion, shown, last.on, f"{label}, last {words_date(last.on)}", effort)
    if entry is not None and entry.repeated:
        return unknown(criterion, "repeated, not measured", entry.on, label, effort)
    why = str(absent) if absent else "never recorded"
    return unknown(criterion, why, entry.on if entry else None, label, effort)


def _judge(view: View, criterion: Criterion, measure: Measure) -> tuple[bool | None, str]:
    """(passes, what is shown); None when the reference is missing."""
    value = measure.value
    assert not isinstance(value, Absence)
    unit = _unit(view, measure)
    if criterion.of is None:
        return within(criterion, value), f"{plain(value)}{unit}"
    if measure.unit == PER_CENT:
        return within(criterion, value), f"{plain(value)} %"
    if criterion.of == "other side":
        target = _target(view, criterion.measure or "")
        if why := no_reference(view):
            if target is None:
                return None, f"{plain(value)}{unit}; {why}"
            return value >= target.value, f"{plain(value)} of target {plain(target.value)}{unit}"
        reference = motion.other_side(view, criterion.measure or "")
        name = "the other side"
    else:
        reference = newest(motion.values(view, criterion.of))
        name = key_words(criterion.of)
    if reference is None or isinstance(reference.value, Absence) or reference.value <= 0:
        return None, f"{plain(value)}{unit}; {name} never measured"
    share = value * 100 / reference.value
    shown = f"{int(share)} % ({plain(value)} of {plain(reference.value)}{unit})"
    return within(criterion, value * 100, reference.value), shown


def _unit(view: View, measure: Measure) -> str:
    """The unit after a blank; nothing for a score of ten, which is told without."""
    unit = measure.unit or view.rules.measures[measure.name].unit
    return "" if unit == OF_TEN else f" {unit}"


def _target_in_force(view: View, criterion: Criterion, measure: Measure) -> Target | None:
    """The typed target, where the other side would be asked for and is no reference."""
    if criterion.of != "other side" or measure.unit == PER_CENT:
        return None
    return _target(view, criterion.measure or "") if no_reference(view) else None


def _target(view: View, name: str) -> Target | None:
    return newest([t for t in view.upto("targets") if t.measure == name])


def within(criterion: Criterion, value: Decimal, one: Decimal = Decimal(1)) -> bool:
    """Whether ``value`` lies within the bounds of a criterion, each in units of ``one``."""
    low = criterion.at_least is None or value >= criterion.at_least * one
    return low and (criterion.at_most is None or value <= criterion.at_most * one)


def _enough(
    view: View, criterion: Criterion, spec: MeasureSpec, found: list[Measure], shown: str
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
        return decided(criterion, True, shown, last.on)
    spanned = by_good_sessions(view, criterion)
    if spanned:
        return decided(criterion, True, f"{shown}, {spanned}", last.on)
    ask = f"{spec.label}: one more needed"
    if criterion.apart_days:
        opens = run[-1].on + timedelta(days=criterion.apart_days)
        ask += f" on or after {words_date(opens)}"
    return unknown(criterion, f"{shown}, one more needed", last.on, ask, _effort(spec))


def plateau(view: View, criterion: Criterion) -> CriterionResult:
    """The result of a criterion on how little a measure changed over a number of days."""
    spec = view.rules.measures[criterion.measure or ""]
    return _steady(view, criterion, spec)._replace(what=f"change of {spec.label}")


def _steady(view: View, criterion: Criterion, spec: MeasureSpec) -> CriterionResult:
    name, days = spec.key, criterion.days or 0
    found = motion.values(view, name)
    last = newest(found)
    if last is None or stale(view, name, last.on):
        on = last.on if last else None
        return unknown(criterion, "no fresh value", on, spec.label, MEASUREMENT)
    earlier = [m for m in found if (last.on - m.on).days >= days]
    if not earlier:
        shown = f"{plain(motion.number(last))}; followed for less than {days} days"
        return unknown(criterion, shown, last.on, f"{spec.label} over {days} days", MEASUREMENT)
    moved = abs(motion.number(last) - motion.number(earlier[-1]))
    steady = criterion.change is not None and moved < criterion.change
    return decided(criterion, steady, f"{plain(moved)} in {days} days", last.on)
