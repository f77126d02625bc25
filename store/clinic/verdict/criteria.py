"""Exit criteria in three values: met, not met, unknown, each with what was needed and what was observed.

Absence is never zero. A value that is missing, stale, prohibited, contradictory or masked is unknown; a value
that fails stays not met, whatever else is doubtful about it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.healing.healing import ordered_date
from armrise.store.clinic.motion import motion
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.pain.runs import Run, count_run
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.scale import direction, on_scale
from armrise.store.clinic.time.clocks import last_contact
from armrise.store.clinic.verdict.measured import measured, within
from armrise.store.clinic.verdict.results import LOOK, MEASUREMENT, PAIN, QUESTION, result
from armrise.store.clinic.verdict.screening import screen_declined, screen_open, screen_unanswered
from armrise.store.record.words import plain, words_date
from armrise.store.rules.figure import MEMORY
from armrise.store.rules.pathway import Criterion, InstrumentSpec


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


# --- sessions -------------------------------------------------------------------------------------------


def _during(view: View, criterion: Criterion) -> CriterionResult:
    """Pain during the newest session; one that was not scored is no reason to fall back on an older one."""
    stale = view.rules["response.run_window_days"]
    last = newest(Response.of(view).all(view.today))
    during = last.session.during if last else None
    if last is None or (view.today - last.on).days > stale or not isinstance(during, int):
        ask = "pain during the last session"
        return result(criterion, Truth.UNKNOWN, "not scored", last.on if last else None, ask, QUESTION)
    state = Truth.MET if within(criterion, Decimal(during)) else Truth.NOT_MET
    return result(criterion, state, f"{during} during", last.on)


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
    view.sure(view.today - timedelta(days=days))
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
    """No injury or instability event in the last days; unknown when nobody was in touch."""
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
    """Sessions done of sessions asked in the last two weeks, per cent, as told or as counted.

    A programme younger than the window is counted from its first day, and not at all in its first week.
    """
    window = view.rules["adherence.window_days"]
    told = [m for m in motion.values(view, "adherence") if (view.today - m.on).days <= window]
    if told:
        return motion.number(told[-1]), told[-1].on
    programme = in_force(view)
    asked = max((i.per_week or 0 for i in programme), default=0)
    started = min((i.on for i in view.since("programme", view.segment_start)), default=view.today)
    days = min(window, (view.today - started).days)
    done = [d for d in Response.of(view).dates if 0 <= (view.today - d).days < days]
    if not asked or days * 2 < window or not done:
        return None
    share = Decimal(len(done) * 100 * 7) / Decimal(asked * days)
    return min(share, Decimal(100)), max(done)


def _adherence(view: View, criterion: Criterion) -> CriterionResult:
    found = adherence(view)
    if found is None:
        return result(
            criterion, Truth.UNKNOWN, "not asked", None, "sessions done of the last 14 days", QUESTION
        )
    state = Truth.MET if within(criterion, found[0]) else Truth.NOT_MET
    return result(criterion, state, f"{int(found[0])} per cent", found[1])


# --- findings, permissions, scores ----------------------------------------------------------------------


def _finding(view: View, criterion: Criterion) -> CriterionResult:
    name = criterion.finding or ""
    said = [f for f in view.upto("findings") if f.name == name]
    answered = [f for f in said if f.answer in ("yes", "no")]
    last = newest(answered)
    if last is None:
        why = newest(said)
        return result(criterion, Truth.UNKNOWN, why.answer if why else "not asked", None, name, LOOK)
    stale = view.rules.finding_stale_days.get(name)
    if stale and (view.today - last.on).days > stale.whole:
        shown = f"{last.answer} on {words_date(last.on)}: too old"
        return result(criterion, Truth.UNKNOWN, shown, last.on, name, LOOK)
    state = Truth.MET if last.answer == criterion.answer else Truth.NOT_MET
    return result(criterion, state, last.answer, last.on)


def _clearance(view: View, criterion: Criterion) -> CriterionResult:
    scopes = ("movement", "resisted") if criterion.scope == "movement" else (criterion.scope,)
    said = [c for c in view.upto("clearances") if c.by == criterion.by]
    exact = [c for c in said if c.scope == criterion.scope]
    wider = [c for c in said if c.scope in scopes and c.answer == "yes"]
    last = newest(exact) or newest(wider)
    refused = newest([c for c in said if c.answer in ("no", "withdrawn")])
    if last and refused and refused.answer == "withdrawn" and (refused.on, refused.id) > (last.on, last.id):
        # Taking back the lesser permission takes the greater with it.
        last = refused
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
        known = bool(view.orders_on(view.today))
        state = Truth.NOT_MET if known else Truth.UNKNOWN
        return result(criterion, state, "no date in the orders", None, "a date by order", LOOK)
    opens, orders = ordered
    refused = newest([c for c in view.upto("clearances") if c.by == "surgeon"])
    if refused and refused.answer in ("no", "withdrawn") and refused.on >= orders.on:
        shown = f"surgeon said {refused.answer} on {words_date(refused.on)}, after the order"
        return result(criterion, Truth.NOT_MET, shown, refused.on)
    state = Truth.MET if opens <= view.today else Truth.NOT_MET
    return result(criterion, state, f"{words_date(opens)}, order of {words_date(orders.on)}", orders.on)


def _score(view: View, criterion: Criterion) -> CriterionResult:
    key = criterion.instrument or ""
    spec = view.rules.instruments[key]
    last = newest([s for s in view.upto("scores") if s.instrument == key and isinstance(s.total, Decimal)])
    ask = f"outcome score {key}"
    total = on_scale(spec, last) if last else None
    if last is None or total is None:
        return result(criterion, Truth.UNKNOWN, "never recorded", None, ask, QUESTION)
    shown = f"{key} {plain(total)} ({direction(spec)})"
    if (view.today - last.on).days > spec.stale_days.whole:
        return result(criterion, Truth.UNKNOWN, f"{shown}: too old", last.on, ask, QUESTION)
    state = Truth.MET if within(criterion, total) else Truth.NOT_MET
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
    total = on_scale(spec, outcome.totals(view, key)[-1])
    if (view.today - last_on).days > spec.stale_days.whole:
        return result(
            criterion, Truth.UNKNOWN, f"{key}, {words_date(last_on)}: too old", last_on, ask, QUESTION
        )
    if criterion.acceptable and total is not None and outcome.acceptable(spec, total):
        met = result(criterion, Truth.MET, f"{key} {plain(total)}, acceptable state", last_on)
        return _by(spec, met, "acceptable")
    moved = outcome.change(view, key)
    if moved is None or spec.response is None:
        return result(criterion, Truth.UNKNOWN, f"{key}: one total only", last_on, ask, QUESTION)
    shown = f"{key} {plain(moved.first)} to {plain(moved.latest)} ({direction(spec)})"
    state = Truth.MET if moved.toward_better >= spec.response.value else Truth.NOT_MET
    if state is Truth.MET and score_against_pain(view):
        return result(
            criterion, Truth.UNKNOWN, f"{shown}, against pain", last_on, "confirm the score", QUESTION
        )
    also = ("acceptable",) if state is Truth.NOT_MET and criterion.acceptable else ()
    return _by(spec, result(criterion, state, shown, last_on), "response", *also)


def _by(spec: InstrumentSpec, judged: CriterionResult, *names: str) -> CriterionResult:
    """A result with the numbers it was judged by, where those are from memory.

    What did not improve was also not acceptable, so that the cut-off decides there too.
    """
    side = "or less" if spec.lower_is_better else "or more"
    figures = {"response": (spec.response, ""), "acceptable": (spec.acceptable, f" {side}")}
    told = [(name, *figures[name]) for name in names]
    said = [(f"{name} {plain(f.value)}{after}{f.mark}", f) for name, f, after in told if f and f.mark]
    if not said:
        return judged
    observed = ", ".join([judged.observed, *(words for words, _ in said)])
    source = "; ".join(dict.fromkeys([judged.source, *(figure.source for _, figure in said)]))
    return replace(judged, observed=observed, source=source, status=MEMORY)


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
        eased = motion.number(pain[0]) - motion.number(pain[-1])
        if abs(eased) >= pain_step and (eased > 0) != better:
            return "contradiction: score and worst pain moved opposite ways"
    return ""


def _screen(view: View, criterion: Criterion) -> CriterionResult:
    if screen_open(view):
        return result(criterion, Truth.NOT_MET, "possible red flag open")
    left = [*screen_unanswered(view), *screen_declined(view)]
    if left:
        return result(
            criterion, Truth.UNKNOWN, f"{len(left)} items not answered", None, "red-flag screen", QUESTION
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
        shown = f"{plain(motion.number(last))}; followed for less than {days} days"
        return result(criterion, Truth.UNKNOWN, shown, last.on, f"{spec.label} over {days} days")
    moved = abs(motion.number(last) - motion.number(earlier[-1]))
    state = Truth.MET if criterion.change is not None and moved < criterion.change else Truth.NOT_MET
    return result(criterion, state, f"changed by {plain(moved)} in {days} days", last.on)


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
    "measure": measured,
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
