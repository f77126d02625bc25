"""Exit criteria in three values: met, not met, unknown, each with what was needed and what was observed.

Absence is never zero. A value that is missing, stale, prohibited, contradictory or masked is unknown; a value
that fails stays not met, whatever else is doubtful about it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from itertools import chain

from armrise.store.clinic.case.staleness import stale
from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.healing import ordered_date
from armrise.store.clinic.motion import motion
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.good_sessions import count_run, told_days
from armrise.store.clinic.pain.masking import mask_days
from armrise.store.clinic.pain.periods import periods
from armrise.store.clinic.pain.response import Line, Response
from armrise.store.clinic.pain.runs import Run
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.scale import direction, on_scale
from armrise.store.clinic.time.clocks import diary_kept, last_contact
from armrise.store.clinic.verdict.adherence import adherence
from armrise.store.clinic.verdict.measured import measured, plateau, within
from armrise.store.clinic.verdict.results import LOOK, MEASUREMENT, PAIN, QUESTION, decided, result, unknown
from armrise.store.clinic.verdict.screening import screen_declined, screen_open, screen_unanswered
from armrise.store.record.kinds.measured import Finding, Score
from armrise.store.record.words import plain, words_date
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.figure import MEMORY
from armrise.store.rules.measure import InstrumentSpec


def evaluate(view: View, criterion: Criterion) -> CriterionResult:
    """The result of one criterion on the view's date."""
    return _masked(view, criterion, _KINDS[criterion.kind](view, criterion))


# --- masking --------------------------------------------------------------------------------------------


def masks(view: View) -> str:
    """What masks pain today, in words: an injection, or an analgesic new or stronger; else empty."""
    masking = [(m, days) for m in view.upto("medicines") if (days := mask_days(view.rules, m))]
    for what in ("injection", "analgesic"):
        last = newest([one for one in masking if one[0].what == what])
        if last and (view.today - last[0].on).days <= last[1]:
            return f"{what} on {words_date(last[0].on)}"
    return ""


def is_pain(criterion: Criterion) -> bool:
    """True for criteria that rest on pain: worst, rest and night pain, pain during, good sessions."""
    return criterion.kind in ("sessions", "during") or criterion.measure in PAIN


def _masked(view: View, criterion: Criterion, judged: CriterionResult) -> CriterionResult:
    rests_on_pain = judged.state is Truth.MET and is_pain(criterion)
    if not rests_on_pain or view.pathway is None or not view.pathway.masked_is_unknown:
        return judged
    mask = masks(view)
    if not mask:
        return judged
    return judged._replace(
        state=Truth.UNKNOWN,
        observed=f"{judged.observed}, masked by {mask}",
        ask=f"{judged.text}: pain masked by {mask}",
        effort=QUESTION,
    )


# --- sessions -------------------------------------------------------------------------------------------


def _during(view: View, criterion: Criterion) -> CriterionResult:
    """Pain during the newest session; one that was not scored is no reason to fall back on an older one.

    It goes stale like pain that is asked for (ruling 94).
    """
    last = newest(Response.of(view).all(view.today))
    during = last.session.during if last else None
    if last is None or stale(view, PAIN[0], last.on) or not isinstance(during, int):
        return unknown(criterion, "not scored", last.on if last else None, "pain during the last session")
    return decided(criterion, within(criterion, Decimal(during)), f"{during} during", last.on)


def _sessions(view: View, criterion: Criterion) -> CriterionResult:
    run = count_run(view, criterion)
    words, more = _run_words(run), criterion.good - run.count
    if more <= 0:
        return decided(criterion, True, words, run.newest)
    if criterion.reached_once and _reached_before(view, criterion):
        return decided(criterion, True, f"{criterion.good} good sessions earlier in this stage")
    words += f"; {run.ended}" if run.ended else ""
    ask = run.missing or f"{more} more good session{'s' if more > 1 else ''}"
    if not run.told and not diary_kept(view) and _could_be_summed_up(view):
        ask += ": type the summary of the weeks"
    return result(criterion, Truth.NOT_MET if run.broken else Truth.UNKNOWN, words, run.newest, ask, QUESTION)


def sessions_state(view: View, criterion: Criterion) -> tuple[Truth, Run]:
    """The state of a criterion on good sessions without its words, and the run it was judged by."""
    run = count_run(view, criterion)
    if run.count >= criterion.good or (criterion.reached_once and _reached_before(view, criterion)):
        masked = view.pathway is not None and view.pathway.masked_is_unknown and masks(view)
        return Truth.UNKNOWN if masked else Truth.MET, run
    return Truth.NOT_MET if run.broken else Truth.UNKNOWN, run


def _could_be_summed_up(view: View) -> bool:
    """Whether enough days have passed since the newest period told for another one (ruling 73)."""
    told = newest(view.upto("summaries"))
    return told is None or (view.today - told.on).days >= view.rules["summary.least_days"]


def _run_words(run: Run) -> str:
    """ "3 good sessions, 1 slip"; where periods as told count, how many of them were recorded."""
    said = f"{run.count} good session{'' if run.count == 1 else 's'}"
    if run.told:
        said += f": {run.count - run.told} recorded, {run.told} as told"
    return f"{said}, {run.slips} slip{'' if run.slips == 1 else 's'}" if run.slips else said


def _reached_before(view: View, criterion: Criterion) -> bool:
    """True when the run was complete on some earlier date of the present stay."""
    if view.stage_start is None:
        return False
    judged = reversed(Line(Response.of(view), view.today, view.stage_start))
    # A run completes on the morning after its last session, when its next-morning score is known, or on the
    # day on which a period is told.
    told = (on for on in told_days(view, criterion) if on < view.today)
    days = chain((j.on + timedelta(days=1) for j in judged if j.on < view.today), told)
    return any(count_run(view.at(day), criterion).count >= criterion.good for day in days)


def _no_flare(view: View, criterion: Criterion) -> CriterionResult:
    days = criterion.days or 0
    first = view.today - timedelta(days=days)
    known = [j for j in Response.of(view).between(first, view.today) if j.known]
    told = newest([p for p in periods(view) if p.klass == FLARE and (view.today - p.told.on).days <= days])
    if told:
        return decided(criterion, False, f"flare, {told.words}: {told.cause}", told.told.on)
    flares = [j for j in known if j.klass == FLARE]
    if flares:
        return decided(criterion, False, f"flare on {words_date(flares[-1].on)}", flares[-1].on)
    if not known:
        return unknown(criterion, "no scored session", ask="pain after the last sessions")
    return decided(criterion, True, f"none in {days} days, {len(known)} sessions", known[-1].on)


def _no_event(view: View, criterion: Criterion) -> CriterionResult:
    """No injury or instability event in the last days; unknown when nobody was in touch."""
    days = criterion.days or 0
    first = view.today - timedelta(days=days)
    events = view.since("events", first)
    if events:
        return decided(criterion, False, f"{events[-1].event} on {words_date(events[-1].on)}", events[-1].on)
    seen = last_contact(view)
    if seen is None or seen < first:
        return unknown(criterion, f"not asked in {days} days", seen, "any new event?")
    return decided(criterion, True, f"none in {days} days", seen)


def _adherence(view: View, criterion: Criterion) -> CriterionResult:
    done = adherence(view)
    if done is None:
        return unknown(criterion, "not asked", ask="sessions done of the last 14 days")
    told = ", as told" if done.told else ""
    return decided(criterion, within(criterion, Decimal(done.percent)), f"{done.percent} %{told}", done.on)


# --- findings, permissions, scores ----------------------------------------------------------------------


def _finding(view: View, criterion: Criterion) -> CriterionResult:
    name = criterion.finding or ""
    last = view.yes_or_no(name)
    if last is None:
        why = newest([f for f in view.upto("findings") if f.name == name])
        return unknown(criterion, why.answer if why else "not asked", None, criterion.ask or name, LOOK)
    why = _too_far_off(view, criterion, last)
    if why:
        shown = f"{last.answer} on {words_date(last.on)}: {why}"
        return unknown(criterion, shown, last.on, criterion.ask or name, LOOK)
    return decided(criterion, last.answer == criterion.answer, last.answer, last.on)


def _too_far_off(view: View, criterion: Criterion, last: Finding) -> str:
    """Why an answer says nothing of today: too old, or the right one but seen too early; empty if it does."""
    days, stale = (view.today - last.on).days, view.rules.finding_stale_days.get(last.name)
    if stale and days > stale.whole:
        return "too old"
    if last.answer != criterion.answer:
        return ""
    onset = view.onset()
    if criterion.from_day and (onset is None or (last.on - onset.on).days < criterion.from_day):
        return f"before day {criterion.from_day}" if onset else "day unknown"
    return "too old" if criterion.fresh_days and days > criterion.fresh_days else ""


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
    if last is None or last.answer == "not known":
        what = "surgeon's clearance" if criterion.by == "surgeon" else f"clearance: {criterion.by}"
        ask = f"{what} for resisted work" if criterion.scope == "resisted" else what
        return unknown(criterion, "not recorded", last.on if last else None, ask, LOOK)
    return decided(criterion, last.answer == "yes", last.answer, last.on)


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
        return decided(criterion, False, shown, refused.on)
    shown = f"{words_date(opens)}, order of {words_date(orders.on)}"
    return decided(criterion, opens <= view.today, shown, orders.on)


def _score(view: View, criterion: Criterion) -> CriterionResult:
    key = criterion.instrument or ""
    spec = view.instruments[key]
    last = newest([s for s in view.upto("scores") if s.instrument == key and isinstance(s.total, Decimal)])
    ask = f"outcome score {key}"
    total = on_scale(spec, last) if last else None
    if last is None or total is None:
        return unknown(criterion, "never recorded", None, ask)
    shown = f"{key} {plain(total)} ({direction(spec)})"
    if (view.today - last.on).days > spec.stale_days.whole:
        return unknown(criterion, f"{shown}: too old", last.on, ask)
    return decided(criterion, within(criterion, total), shown, last.on)


def _improved(view: View, criterion: Criterion) -> CriterionResult:
    """Response by the region score only."""
    best = unknown(criterion, "never recorded", None, "outcome score")
    for spec in view.instruments.values():
        if not spec.region or not (totals := outcome.totals(view, spec.key)):
            continue
        judged = _improved_by(view, criterion, spec, totals[-1])
        if judged.state is Truth.MET:
            return judged
        if best.observed_on is None or judged.state is Truth.NOT_MET:
            best = judged
    return best


def _improved_by(view: View, criterion: Criterion, spec: InstrumentSpec, last: Score) -> CriterionResult:
    key, ask, total = spec.key, f"outcome score {spec.key}", on_scale(spec, last)
    if (view.today - last.on).days > spec.stale_days.whole:
        return unknown(criterion, f"{key}, {words_date(last.on)}: too old", last.on, ask)
    if criterion.acceptable and total is not None and outcome.acceptable(spec, total):
        met = decided(criterion, True, f"{key} {plain(total)}, acceptable state", last.on)
        return _by(spec, met, "acceptable")
    moved = outcome.change(view, key)
    if moved is None:
        return unknown(criterion, f"{key}: one total only", last.on, ask)
    if spec.response is None:
        return unknown(criterion, f"{key}: no figure for a change in it", last.on, "another outcome score")
    shown = f"{key} {plain(moved.first)} to {plain(moved.latest)} ({direction(spec)})"
    better = moved.toward_better >= spec.response.value
    if better and score_against_pain(view):
        return unknown(criterion, f"{shown}, against pain", last.on, "confirm the score")
    also = ("acceptable",) if criterion.acceptable and not better else ()
    return _by(spec, decided(criterion, better, shown, last.on), "response", *also)


def _by(spec: InstrumentSpec, judged: CriterionResult, *names: str) -> CriterionResult:
    """A result with the numbers it was judged by, where those are from memory.

    What did not improve was also not acceptable, so that the cut-off decides there too.
    """
    side = "or less" if spec.lower_is_better else "or more"
    figures = {"response": (spec.response, ""), "acceptable": (spec.acceptable, f" {side}")}
    observed, sources = [judged.observed], [judged.source]
    for name in names:
        figure, after = figures[name]
        if figure and figure.mark:
            observed.append(f"{name} {plain(figure.value)}{after}{figure.mark}")
            sources.append(figure.source)
    if not observed[1:]:
        return judged
    source = "; ".join(dict.fromkeys(sources))
    return judged._replace(observed=", ".join(observed), source=source, status=MEMORY)


def score_against_pain(view: View) -> str:
    """Words for a score and worst pain, or the patient's own global answer, that moved opposite ways."""
    moved = [
        c.toward_better
        for s in view.instruments.values()
        if s.region
        and s.response
        and (c := outcome.change(view, s.key))
        and abs(c.toward_better) >= s.response.value
    ]
    if not moved:
        return ""
    better = moved[0] > 0
    answered = [s.total for s in view.upto("scores") if s.instrument == "GROC"]
    felt = newest([total for total in answered if isinstance(total, Decimal)])
    if felt and better != (felt > 0):
        return "contradiction: the score and the patient's own global change disagree"
    pain = motion.values(view, "worst_pain")
    if len(pain) > 1:
        eased = motion.number(pain[0]) - motion.number(pain[-1])
        if abs(eased) >= view.rules["outcome.early_pain"] and (eased > 0) != better:
            return "contradiction: score and worst pain moved opposite ways"
    return ""


def _screen(view: View, criterion: Criterion) -> CriterionResult:
    if screen_open(view):
        return decided(criterion, False, "possible red flag open")
    left = [*screen_unanswered(view), *screen_declined(view)]
    if left:
        return unknown(criterion, f"{len(left)} items not answered", None, "red-flag screen")
    return decided(criterion, True, "complete, nothing open")


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
    shown = "; ".join(dict.fromkeys(p.observed if p.parts else f"{p.what}: {p.observed}" for p in deciding))
    ask = (
        _one_way(unknown) if criterion.kind == "any" else " and ".join(dict.fromkeys(p.ask for p in unknown))
    )
    dates = [p.observed_on for p in deciding if p.observed_on]
    effort = min((p.effort for p in unknown), default=MEASUREMENT)
    judged = result(criterion, state, shown, max(dates, default=None), ask, effort)
    enough = criterion.kind == "any" and state is Truth.MET
    return judged._replace(parts=parts, now=deciding[0].now if enough else "")


def _one_way(unknown: list[CriterionResult]) -> str:
    """What to ask where any of several would do: the ways of one answer each, or else the first joint one."""
    single = [p.ask for p in unknown if not p.parts]
    return " or ".join(dict.fromkeys(single)) if single else next((p.ask for p in unknown), "")


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
    "plateau": plateau,
    "any": _any,
    "all": _all,
}
