"""Exit criteria in three values: met, not met, unknown, each with what was needed and what was observed.

Absence is never zero. A value that is missing, stale, prohibited, contradictory or masked is unknown; a value
that fails stays not met, whatever else is doubtful about it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from store.clinic import motion, outcome
from store.clinic.clocks import days_ago, last_contact
from store.clinic.fields import Absence
from store.clinic.limits import ordered_date
from store.clinic.pathway import Criterion
from store.clinic.record import Measure, Target
from store.clinic.response import Response, words_date
from store.clinic.runs import Run, count_run
from store.clinic.screening import screen_open, screen_unanswered
from store.clinic.standing import CriterionResult, Truth
from store.clinic.view import View, newest

QUESTION, LOOK, MEASUREMENT = 1, 2, 3
"""Effort of finding out: a question, a look or a paper, a measurement."""

PAIN = ("worst_pain", "rest_pain", "night_pain")


def result(
    criterion: Criterion,
    state: Truth,
    observed: str,
    on: date | None = None,
    ask: str = "",
    effort: int = MEASUREMENT,
) -> CriterionResult:
    """A criterion's result with its words, source and status filled in."""
    return CriterionResult(
        criterion.text,
        needed(criterion),
        observed,
        on,
        state,
        criterion.source,
        criterion.status,
        ask if state is Truth.UNKNOWN else "",
        effort,
    )


def needed(criterion: Criterion) -> str:
    """What the criterion asks for, in words."""
    if criterion.kind in ("any", "all"):
        joint = " or " if criterion.kind == "any" else " and "
        return joint.join(needed(p) for p in criterion.parts)
    if criterion.kind == "finding":
        return f"{criterion.finding}: {criterion.answer}"
    if criterion.kind == "sessions":
        what = f" of {' or '.join(criterion.load_class)}" if criterion.load_class else ""
        dose = f" at {criterion.sets} x {criterion.reps} or more" if criterion.sets and criterion.reps else ""
        return f"{criterion.good} good sessions in a row{what}{dose}"
    bound = f"{outcome.plain(criterion.at_least)} or more" if criterion.at_least is not None else ""
    if criterion.at_most is not None:
        bound = f"{outcome.plain(criterion.at_most)} or less"
    if not bound:
        return criterion.text
    unit = f" per cent of {words(criterion.of)}" if criterion.of else ""
    twice = f", {criterion.observations} times" if criterion.observations > 1 else ""
    apart = f" over {criterion.apart_days} days" if criterion.apart_days else ""
    return f"{bound}{unit}{twice}{apart}"


def words(key: str | None) -> str:
    """A data key as words."""
    return (key or "").replace("_", " ")


def evaluate(view: View, criterion: Criterion) -> CriterionResult:
    """The result of one criterion on the view's date."""
    judged = _KINDS[criterion.kind](view, criterion)
    return _masked(view, criterion, judged)


# --- masking --------------------------------------------------------------------------------------------


def masks(view: View) -> str:
    """What masks pain today, in words: an injection, or an analgesic new or stronger; else empty."""
    rules = view.rules
    injections = [m for m in view.upto("medicines") if m.what == "injection" and m.change != "stopped"]
    analgesics = [
        m for m in view.upto("medicines") if m.what == "analgesic" and m.change in ("new", "stronger")
    ]
    for found, key, name in (
        (injections, "mask.injection_days", "injection"),
        (analgesics, "mask.analgesic_days", "analgesic"),
    ):
        if found and (view.today - found[-1].on).days <= rules[key]:
            return f"{name} on {words_date(found[-1].on)}"
    return ""


def is_pain(criterion: Criterion) -> bool:
    """True for criteria that rest on pain: worst, rest and night pain, pain during, good sessions."""
    return criterion.kind in ("sessions", "during") or criterion.measure in PAIN


def _masked(view: View, criterion: Criterion, judged: CriterionResult) -> CriterionResult:
    if judged.state is not Truth.MET or not is_pain(criterion):
        return judged
    if view.pathway is None or not view.pathway.masked_is_unknown:
        return judged
    mask = masks(view)
    if not mask:
        return judged
    return replace(
        judged,
        state=Truth.UNKNOWN,
        observed=f"{judged.observed}, masked by {mask}",
        ask=f"{judged.text}: pain masked by {mask}",
        effort=QUESTION,
    )


# --- measurements ---------------------------------------------------------------------------------------


def _measure(view: View, criterion: Criterion) -> CriterionResult:
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
        wanted = f"target {outcome.plain(target.value)} (typed {words_date(target.on)}: {target.reason})"
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
    doubtful = motion.contradictions(view).get(last.id)
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
        shown = f"{outcome.plain(Decimal(str(last.value)))}, {days_ago((view.today - last.on).days)}: too old"
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
        return _within(criterion, value), outcome.plain(value)
    if measure.unit == "percent of other side":
        return _within(criterion, value), f"{outcome.plain(value)} per cent of other side"
    if criterion.of == "other side":
        target = _target(view, criterion.measure or "")
        if not motion.other_is_reference(view):
            if target is None:
                return None, f"{outcome.plain(value)}; other side is no reference, no target typed"
            return value >= target.value, f"{outcome.plain(value)} of target {outcome.plain(target.value)}"
        reference = motion.other_side(view, criterion.measure or "")
        name = "other side"
    else:
        reference = newest(motion.values(view, criterion.of))
        name = words(criterion.of)
    if reference is None or isinstance(reference.value, Absence) or reference.value <= 0:
        return None, f"{outcome.plain(value)}; {name} never measured"
    share = value * 100 / reference.value
    passes = _ratio_within(criterion, value, reference.value)
    return passes, f"{outcome.plain(value)}, {int(share)} per cent of {name} {outcome.plain(reference.value)}"


def _target_in_force(view: View, criterion: Criterion, measure: Measure) -> Target | None:
    """The typed target, where the other side would be asked for and is no reference."""
    if criterion.of != "other side" or measure.unit == "percent of other side":
        return None
    return None if motion.other_is_reference(view) else _target(view, criterion.measure or "")


def _target(view: View, name: str) -> Target | None:
    return newest([t for t in view.upto("targets") if t.measure == name])


def _within(criterion: Criterion, value: Decimal) -> bool:
    low = criterion.at_least is None or value >= criterion.at_least
    return low and (criterion.at_most is None or value <= criterion.at_most)


def _ratio_within(criterion: Criterion, value: Decimal, reference: Decimal) -> bool:
    low = criterion.at_least is None or value * 100 >= criterion.at_least * reference
    return low and (criterion.at_most is None or value * 100 <= criterion.at_most * reference)


def _enough(
    view: View, criterion: Criterion, found: list[Measure], shown: str, label: str, effort: int
) -> CriterionResult:
    """The unbroken run of passing observations that ends with the newest: long enough, and far enough apart?"""
    run: list[Measure] = []
    for measure in reversed(found):
        if not _judge(view, criterion, measure)[0]:
            break
        run.append(measure)
    last = found[-1]
    if len(run) > 1:
        shown = f"{shown} ({words_date(last.on)}) and {outcome.plain(Decimal(str(run[1].value)))} before"
    apart = (run[0].on - run[-1].on).days
    if len(run) >= criterion.observations and apart >= criterion.apart_days:
        return result(criterion, Truth.MET, shown, last.on)
    ask = f"{label}: one more needed"
    if criterion.apart_days:
        opens = run[-1].on + timedelta(days=criterion.apart_days)
        ask += f" on or after {words_date(opens)}"
    return result(criterion, Truth.UNKNOWN, f"{shown}, one more needed", last.on, ask, effort)


# --- sessions -------------------------------------------------------------------------------------------


def _during(view: View, criterion: Criterion) -> CriterionResult:
    stale = view.rules["response.run_window_days"]
    judged = [
        j
        for j in Response.of(view).all(view.today)
        if isinstance(j.session.during, int) and (view.today - j.on).days <= stale
    ]
    if not judged:
        return result(
            criterion, Truth.UNKNOWN, "no session scored", None, "pain during the last session", QUESTION
        )
    last = judged[-1]
    pain = Decimal(int(str(last.session.during)))
    state = Truth.MET if _within(criterion, pain) else Truth.NOT_MET
    return result(criterion, state, f"{pain} during", last.on)


def _sessions(view: View, criterion: Criterion) -> CriterionResult:
    run = count_run(view, criterion)
    if run.count < criterion.good and criterion.reached_once and _reached_before(view, criterion):
        return result(criterion, Truth.MET, f"{criterion.good} in a row earlier in this stage")
    if run.count >= criterion.good:
        return result(criterion, Truth.MET, f"{run.count} good in a row", run.newest)
    state = Truth.NOT_MET if run.broken else Truth.UNKNOWN
    return result(criterion, state, _run_words(run), run.newest, _run_ask(criterion, run), QUESTION)


def _reached_before(view: View, criterion: Criterion) -> bool:
    """True when the run was complete on some earlier date of the present stay."""
    if view.stage_start is None:
        return False
    dates = [j.on for j in Response.of(view).all(view.today) if j.on >= view.stage_start]
    # A run completes on the morning after its last session, when its next-morning score is known.
    days = (on + timedelta(days=1) for on in reversed(dates) if on < view.today)
    return any(count_run(view.at(day), criterion).count >= criterion.good for day in days)


def _run_words(run: Run) -> str:
    return f"{run.count} good in a row{'; ' + run.ended if run.ended else ''}"


def _run_ask(criterion: Criterion, run: Run) -> str:
    if run.missing:
        return run.missing
    more = criterion.good - run.count
    return f"{more} more good session{'s' if more > 1 else ''}"


def _no_flare(view: View, criterion: Criterion) -> CriterionResult:
    days = criterion.days or 0
    known = [j for j in Response.of(view).all(view.today) if j.known and (view.today - j.on).days <= days]
    flares = [j for j in known if j.klass == "flare"]
    if flares:
        shown = f"flare on {words_date(flares[-1].on)}"
        return result(criterion, Truth.NOT_MET, shown, flares[-1].on)
    if not known:
        return result(
            criterion, Truth.UNKNOWN, "no scored session", None, "pain after the last sessions", QUESTION
        )
    return result(criterion, Truth.MET, f"none in {days} days, {len(known)} sessions", known[-1].on)


def _no_event(view: View, criterion: Criterion) -> CriterionResult:
    """No injury or instability event in the last days; not met by an event, unknown when nobody was in touch."""
    days = criterion.days or 0
    first = view.today - timedelta(days=days)
    events = view.since("events", first)
    if events:
        shown = f"{events[-1].event} on {words_date(events[-1].on)}"
        return result(criterion, Truth.NOT_MET, shown, events[-1].on)
    seen = last_contact(view)
    if seen is None or seen < first:
        return result(criterion, Truth.UNKNOWN, f"not asked in {days} days", seen, "any new event?", QUESTION)
    return result(criterion, Truth.MET, f"none in {days} days", seen)


def adherence(view: View) -> tuple[Decimal, date] | None:
    """Sessions done of sessions asked in the last two weeks, per cent, as told or as counted."""
    window = view.rules["adherence.window_days"]
    told = [m for m in motion.values(view, "adherence") if (view.today - m.on).days <= window]
    if told and not isinstance(told[-1].value, Absence):
        return told[-1].value, told[-1].on
    asked = max((i.per_week or 0 for i in view.upto("programme") if i.stopped is None), default=0)
    if not asked:
        return None
    done = [d for d in Response.of(view).dates if 0 <= (view.today - d).days < window]
    if not done:
        return None
    share = Decimal(len(done) * 100 * 7) / Decimal(asked * window)
    return min(share, Decimal(100)), max(done)


def _adherence(view: View, criterion: Criterion) -> CriterionResult:
    found = adherence(view)
    if found is None:
        return result(
            criterion, Truth.UNKNOWN, "not asked", None, "sessions done of the last 14 days", QUESTION
        )
    state = Truth.MET if _within(criterion, found[0]) else Truth.NOT_MET
    return result(criterion, state, f"{int(found[0])} per cent", found[1])


# --- findings, permissions, scores ----------------------------------------------------------------------


def _finding(view: View, criterion: Criterion) -> CriterionResult:
    name = criterion.finding or ""
    said = [f for f in view.upto("findings") if f.name == name]
    answered = [f for f in said if f.answer in ("yes", "no")]
    last = newest(answered)
    if last is None:
        why = newest(said)
        return result(criterion, Truth.UNKNOWN, why.answer if why else "not asked", None, f"{name}?", LOOK)
    stale = view.rules.finding_stale_days.get(name)
    if stale and (view.today - last.on).days > stale.whole:
        shown = f"{last.answer} on {words_date(last.on)}: too old"
        return result(criterion, Truth.UNKNOWN, shown, last.on, f"{name}?", LOOK)
    state = Truth.MET if last.answer == criterion.answer else Truth.NOT_MET
    return result(criterion, state, last.answer, last.on)


def _clearance(view: View, criterion: Criterion) -> CriterionResult:
    scopes = ("movement", "resisted") if criterion.scope == "movement" else (criterion.scope,)
    said = [c for c in view.upto("clearances") if c.by == criterion.by]
    exact = [c for c in said if c.scope == criterion.scope]
    wider = [c for c in said if c.scope in scopes and c.answer == "yes"]
    last = newest(exact) or newest(wider)
    what = " for resisted work" if criterion.scope == "resisted" else ""
    ask = (
        f"{criterion.by}'s clearance{what}"
        if criterion.by == "surgeon"
        else f"clearance: {criterion.by}{what}"
    )
    if last is None or last.answer == "not known":
        return result(criterion, Truth.UNKNOWN, "not recorded", last.on if last else None, ask, LOOK)
    state = Truth.MET if last.answer == "yes" else Truth.NOT_MET
    return result(criterion, state, last.answer, last.on)


def _order_date(view: View, criterion: Criterion) -> CriterionResult:
    following = view.next_stage
    ordered = ordered_date(view, view.pathway, following, view.today) if view.pathway and following else None
    if ordered is None:
        return result(
            criterion, Truth.UNKNOWN, "no date in the orders", None, "surgeon's clearance or date", LOOK
        )
    opens, orders = ordered
    state = Truth.MET if opens <= view.today else Truth.NOT_MET
    return result(criterion, state, f"{words_date(opens)}, order of {words_date(orders.on)}", orders.on)


def _score(view: View, criterion: Criterion) -> CriterionResult:
    key = criterion.instrument or ""
    spec = view.rules.instruments[key]
    last = newest([s for s in view.upto("scores") if s.instrument == key and isinstance(s.total, Decimal)])
    ask = f"outcome score {key}"
    if last is None or not isinstance(last.total, Decimal):
        return result(criterion, Truth.UNKNOWN, "never recorded", None, ask, QUESTION)
    shown = f"{key} {outcome.plain(last.total)} ({outcome.direction(spec)})"
    if (view.today - last.on).days > spec.stale_days.whole:
        return result(criterion, Truth.UNKNOWN, f"{shown}: too old", last.on, ask, QUESTION)
    state = Truth.MET if _within(criterion, last.total) else Truth.NOT_MET
    return result(criterion, state, shown, last.on)


def _improved(view: View, criterion: Criterion) -> CriterionResult:
    """Response by the region score only."""
    best = result(criterion, Truth.UNKNOWN, "never recorded", None, "outcome score", QUESTION)
    for spec in view.rules.instruments.values():
        if not spec.region or not (found := outcome.totals(view, spec.key)):
            continue
        judged = _improved_by(view, criterion, spec.key, found[-1].on)
        if judged.state is Truth.MET:
            return judged
        if best.observed_on is None or judged.state is Truth.NOT_MET:
            best = judged
    return best


def _improved_by(view: View, criterion: Criterion, key: str, last_on: date) -> CriterionResult:
    spec = view.rules.instruments[key]
    ask = f"outcome score {key}"
    total = newest(outcome.totals(view, key)).total  # type: ignore[union-attr]
    if (view.today - last_on).days > spec.stale_days.whole:
        return result(
            criterion, Truth.UNKNOWN, f"{key}, {words_date(last_on)}: too old", last_on, ask, QUESTION
        )
    if criterion.acceptable and isinstance(total, Decimal) and outcome.acceptable(spec, total):
        return result(criterion, Truth.MET, f"{key} {outcome.plain(total)}, acceptable state", last_on)
    moved = outcome.change(view, key)
    if moved is None or spec.response is None:
        return result(criterion, Truth.UNKNOWN, f"{key}: one total only", last_on, ask, QUESTION)
    shown = f"{key} {outcome.plain(moved.first)} to {outcome.plain(moved.latest)} ({outcome.direction(spec)})"
    state = Truth.MET if moved.toward_better >= spec.response.value else Truth.NOT_MET
    if state is Truth.MET and score_against_pain(view):
        return result(
            criterion, Truth.UNKNOWN, f"{shown}, against pain", last_on, "confirm the score", QUESTION
        )
    return result(criterion, state, shown, last_on)


def score_against_pain(view: View) -> str:
    """Words for a score and worst pain, or the patient's own global answer, that moved opposite ways."""
    pain = motion.values(view, "worst_pain")
    pain_step = view.rules["outcome.early_pain"]
    moved = [
        c
        for s in view.rules.instruments.values()
        if s.region
        and s.response
        and (c := outcome.change(view, s.key))
        and abs(c.toward_better) >= s.response.value
    ]
    if not moved:
        return ""
    better = moved[0].toward_better > 0
    felt = [s for s in view.upto("scores") if s.instrument == "GROC" and isinstance(s.total, Decimal)]
    if felt and felt[-1].total is not None and better != (felt[-1].total > 0) and felt[-1].total != 0:  # type: ignore[operator]
        return "contradiction: the score and the patient's own global change disagree"
    if len(pain) > 1:
        eased = pain[0].value - pain[-1].value  # type: ignore[operator]
        if abs(eased) >= pain_step and (eased > 0) != better:
            return "contradiction: score and worst pain moved opposite ways"
    return ""


def _screen(view: View, criterion: Criterion) -> CriterionResult:
    if screen_open(view):
        return result(criterion, Truth.NOT_MET, "possible red flag open")
    left = screen_unanswered(view)
    if left:
        return result(
            criterion, Truth.UNKNOWN, f"{len(left)} items not asked", None, "red-flag screen", QUESTION
        )
    return result(criterion, Truth.MET, "complete, nothing open")


def _plateau(view: View, criterion: Criterion) -> CriterionResult:
    name, days = criterion.measure or "", criterion.days or 0
    spec = view.rules.measures[name]
    found = motion.values(view, name)
    last = newest(found)
    if last is None or (view.today - last.on).days > spec.stale_days.whole:
        return result(criterion, Truth.UNKNOWN, "no fresh value", last.on if last else None, spec.label)
    earlier = [m for m in found if (last.on - m.on).days >= days]
    if not earlier:
        shown = f"{outcome.plain(Decimal(str(last.value)))}; followed for less than {days} days"
        return result(criterion, Truth.UNKNOWN, shown, last.on, f"{spec.label} over {days} days")
    moved = abs(last.value - earlier[-1].value)  # type: ignore[operator]
    state = Truth.MET if criterion.change is not None and moved < criterion.change else Truth.NOT_MET
    return result(criterion, state, f"changed by {outcome.plain(moved)} in {days} days", last.on)


# --- and, or --------------------------------------------------------------------------------------------


def _any(view: View, criterion: Criterion) -> CriterionResult:
    """Kleene's or: met if any is met; unknown if none is met and any is unknown."""
    return _joined(view, criterion, (Truth.MET, Truth.UNKNOWN, Truth.NOT_MET))


def _all(view: View, criterion: Criterion) -> CriterionResult:
    """Kleene's and: not met if any is not met; unknown if any is unknown."""
    return _joined(view, criterion, (Truth.NOT_MET, Truth.UNKNOWN, Truth.MET))


def _joined(view: View, criterion: Criterion, order: tuple[Truth, ...]) -> CriterionResult:
    parts = tuple(evaluate(view, p) for p in criterion.parts)
    state = min((p.state for p in parts), key=order.index)
    deciding = [p for p in parts if p.state is state]
    unknown = [p for p in parts if p.state is Truth.UNKNOWN]
    shown = "; ".join(dict.fromkeys(p.observed for p in deciding))
    ask = " or ".join(dict.fromkeys(p.ask for p in unknown))
    dates = [p.observed_on for p in deciding if p.observed_on]
    effort = min((p.effort for p in unknown), default=MEASUREMENT)
    judged = result(criterion, state, shown, max(dates, default=None), ask, effort)
    return replace(judged, parts=parts)


_KINDS: dict[str, Callable[[View, Criterion], CriterionResult]] = {
    "measure": _measure,
    "during": _during,
    "sessions": _sessions,
    "finding": _finding,
    "clearance": _clearance,
    "order date": _order_date,
    "score": _score,
    "improved": _improved,
    "no flare": _no_flare,
    "no event": _no_event,
    "adherence": _adherence,
    "screen": _screen,
    "plateau": _plateau,
    "any": _any,
    "all": _all,
}
