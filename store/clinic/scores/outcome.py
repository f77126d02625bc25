"""Outcome scores: change, response, worsening, and which score is owed.

Totals only; no questionnaire wording. A change is always given toward better, whatever the direction of the
scale. Response and worsening read every region score and the patient-specific function score (PSFS), each
against its own figures in the rule file, which a pathway may replace by figures of its own (ruling 88).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate
from typing import NamedTuple

from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.case.turns import first_ahead, next_placed
from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.scores.scale import RATING, differing, on_scale
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Score
from armrise.store.record.light import dataclass
from armrise.store.record.words import days_ago
from armrise.store.rules.measure import InstrumentSpec

FUNCTION = "PSFS"
GOAL_MET = "goal met"


@dataclass(frozen=True, slots=True)
class Change:
    """The newest total of one instrument against the first comparable one and the best one."""

    instrument: str
    first: Decimal
    first_on: date
    latest: Decimal
    latest_on: date
    toward_better: Decimal
    """Latest against first; negative is worse."""
    below_best: Decimal
    """How far the latest is worse than the best of the series (0 when it is the best)."""
    count: int
    ids: tuple[int, ...]


def better(spec: InstrumentSpec, before: Decimal, after: Decimal) -> Decimal:
    """Change from ``before`` to ``after`` in points of the scale, positive for better."""
    return before - after if spec.lower_is_better else after - before


class _Course(NamedTuple):
    """The totals of one instrument from one day on over the whole history, oldest first."""

    spec: InstrumentSpec
    scores: list[Score]
    dates: list[date]
    alike: int
    """So many of the first ones may be compared with each other."""
    bests: list[Decimal]
    """The best total up to each of them, on the scale of the rule file."""


def _course(view: View, instrument: str) -> tuple[_Course, int]:
    """The totals of the present pathway, and how many of them there were by the view's date."""
    found: tuple[_Course, int] | None = view.kept.get(("totals", instrument))
    if found is None:
        pathway, start = view.pathway.code if view.pathway else None, view.segment_start
        key, spec = ("totals", instrument, pathway, start), view.instruments[instrument]
        course = view.history.once(key, lambda: _carried(spec, view.history, start))
        found = view.kept["totals", instrument] = course, bisect_right(course.dates, view.today)
    return found


def _carried(spec: InstrumentSpec, history: History, start: date | None) -> _Course:
    of_one = (s for s in history.ordered("scores")[0] if s.instrument == spec.key)
    scores = [s for s in of_one if isinstance(s.total, Decimal) and (start is None or s.on >= start)]
    best = min if spec.lower_is_better else max
    on_one_scale = (total for s in scores if (total := on_scale(spec, s)) is not None)
    unlike = (at for at in range(1, len(scores)) if differing(spec, scores[at - 1], scores[at]))
    # Of a rating it depends on both scores whether they may be compared, not on each alone.
    alike = min(len(scores), 1) if spec.key == RATING else next(unlike, len(scores))
    return _Course(spec, scores, [s.on for s in scores], alike, list(accumulate(on_one_scale, best)))


def totals(view: View, instrument: str) -> list[Score]:
    """Complete totals of one instrument comparable with the newest: same form, version and language."""
    course, count = _course(view, instrument)
    if count <= course.alike:
        return course.scores[:count]
    key, scores = ("comparable", instrument, view.segment_start, count), course.scores[:count]
    return view.history.once(key, lambda: [s for s in scores if not differing(course.spec, s, scores[-1])])


def with_total(view: View, instrument: str) -> list[Score]:
    """Scores of one instrument with a total, in the present pathway, whether or not they may be compared."""
    course, count = _course(view, instrument)
    return course.scores[:count]


def _newest_total(view: View, instrument: str) -> Score | None:
    course, count = _course(view, instrument)
    return course.scores[count - 1] if count else None


def _first_from(view: View, instrument: str, day: date) -> date | None:
    """The date of the first total comparable with the newest, of ``day`` or later."""
    course, count = _course(view, instrument)
    if count > course.alike:
        return next((s.on for s in totals(view, instrument) if s.on >= day), None)
    at = bisect_left(course.dates, day)
    return course.dates[at] if at < count else None


def change(view: View, instrument: str) -> Change | None:
    """The change of ``instrument`` up to the view's date; None below two totals."""
    key = ("change", instrument)
    if key not in view.kept:
        view.kept[key] = _changed(view, instrument)
    return view.kept[key]


def _changed(view: View, instrument: str) -> Change | None:
    course, count = _course(view, instrument)
    if count <= course.alike:
        if count < 2:
            return None
        return _change(course.spec, course.scores, count, course.bests[count - 1])
    found, spec = totals(view, instrument), course.spec
    if len(found) < 2:
        return None
    on_one_scale = [total for s in found if (total := on_scale(spec, s)) is not None]
    return _change(spec, found, len(found), min(on_one_scale) if spec.lower_is_better else max(on_one_scale))


def _change(spec: InstrumentSpec, scores: list[Score], count: int, best: Decimal) -> Change | None:
    """The change over the first ``count`` of the scores."""
    oldest, newest = scores[0], scores[count - 1]
    first, last = on_scale(spec, oldest), on_scale(spec, newest)
    if first is None or last is None:
        return None
    return Change(
        spec.key,
        first,
        oldest.on,
        last,
        newest.on,
        better(spec, first, last),
        max(better(spec, last, best), Decimal(0)),
        count,
        (oldest.id, newest.id),
    )


@once_a_view
def judged_instruments(view: View) -> list[InstrumentSpec]:
    """The instruments response and worsening are read from: region scores and patient-specific function."""
    return [s for s in view.instruments.values() if s.region or s.key == FUNCTION]


@once_a_view
def told_instruments(view: View) -> list[InstrumentSpec]:
    """Those of them that were ever told: the others say nothing."""
    named = view.history.once(
        "instruments told", lambda: {s.instrument for s in view.history.ordered("scores")[0]}
    )
    return [spec for spec in judged_instruments(view) if spec.key in named]


def acceptable(spec: InstrumentSpec, total: Decimal) -> bool:
    """True when a total lies in the acceptable state; False where no cut-off is known."""
    if spec.acceptable is None:
        return False
    cut = spec.acceptable.value
    return total <= cut if spec.lower_is_better else total >= cut


def response_needed(spec: InstrumentSpec, first: Decimal) -> Decimal | None:
    """The change from ``first`` that is a response; None where no figure is known, or no room is left."""
    if spec.response is None:
        return None
    room = first - spec.low if spec.lower_is_better else spec.high - first
    return spec.response.value if room >= spec.response.value else None


def score_response(view: View, spec: InstrumentSpec, since: date | None = None) -> Truth:
    """Response by one instrument, reading only totals dated ``since`` or later as the newest."""
    last = _newest_total(view, spec.key)  # comparable with itself
    total = on_scale(spec, last) if last else None
    if last is None or (since and last.on < since) or total is None:
        return Truth.UNKNOWN
    if acceptable(spec, total):
        return Truth.MET
    moved = change(view, spec.key)
    if moved is None or spec.response is None:
        return Truth.UNKNOWN
    needed = response_needed(spec, moved.first)
    return Truth.of(needed is not None and moved.toward_better >= needed)


def responded(view: View, since: date | None = None) -> Truth:
    """Response by any of the judged scores, or the goal marked met. Unknown when nothing can be judged."""
    goal = view.yes_or_no(GOAL_MET)
    if goal and goal.answer == "yes":
        return Truth.MET
    results = [score_response(view, spec, since) for spec in told_instruments(view)]
    return next((t for t in (Truth.MET, Truth.NOT_MET) if t in results), Truth.UNKNOWN)


def responders(changes: Iterable[tuple[Decimal | None, Decimal | None]]) -> tuple[int, int, int]:
    """(responders, measured, entered) of changes toward better, each with the one it needs to be a response.

    A change of None was lost: entered, and not measured. One that needs None has no room, or no figure to be
    judged by: measured, and no response.
    """
    entered = list(changes)
    measured = [(change, needed) for change, needed in entered if change is not None]
    reached = sum(needed is not None and change >= needed for change, needed in measured)
    return reached, len(measured), len(entered)


@once_a_view
def checkpoint_day(view: View) -> date | None:
    """The day response is judged: the pathway's checkpoint from the first treatment visit."""
    if view.pathway is None or view.first_visit is None:
        return None
    return view.first_visit + timedelta(days=view.pathway.checkpoint.whole)


@once_a_view
def judged_on(view: View) -> date | None:
    """First day from the checkpoint on with a score of at most the fresh age; None until there is one."""
    day = checkpoint_day(view)
    if day is None or view.today < day:
        return None
    first = day - timedelta(days=view.rules["outcome.fresh_days"])
    late_enough = [on for spec in told_instruments(view) if (on := _first_from(view, spec.key, first))]
    return max(day, min(late_enough)) if late_enough else None


class ScoreOwed(NamedTuple):
    """The newest outcome score that fell due and has not been answered."""

    due: date
    sentence: str
    evidence: tuple[int, ...]
    """The visit from which it counts."""


def score_owed(view: View) -> ScoreOwed | None:
    """The outcome score owed on the view's date, None when the newest due date is answered."""
    if view.pathway is None or view.first_visit is None or view.closed:
        return None
    owed = max((d for d in _due_dates(view) if d < view.today), default=None)
    if owed is None:
        return None
    opens = owed - timedelta(days=view.rules["score_due.answered_before_days"])
    if any(_answers(view, s) for s in view.since("scores", opens)):
        return None
    late = (view.today - owed).days
    words = f"outcome score due on day {(owed - view.first_visit).days}, {days_ago(late)}"
    checkpoint = checkpoint_day(view)
    if checkpoint and view.today >= checkpoint and judged_on(view) is None:
        words += "; cannot judge response: score missing"
    counts_from = view.since("visits", view.first_visit)[0]
    return ScoreOwed(owed, words, (counts_from.id,))


def _due_dates(view: View) -> list[date]:
    """The dates on which a score falls due, past and to come."""
    rules = view.rules
    if view.pathway is None or view.first_visit is None:
        return []
    days = {rules["score_due.first_day"], rules["score_due.second_day"], view.pathway.checkpoint.whole}
    return [view.first_visit + timedelta(days=d) for d in days]


def owed_until(view: View) -> date:
    """The first day after the view's date on which :func:`score_owed` may be found otherwise.

    A score ends it: only the day after one of them, and what they count from, makes one owed.
    """
    entry = next_placed(view, "scores") if score_owed(view) else next_placed(view)
    return min(entry, first_ahead(view, (due + DAY for due in _due_dates(view))))


def _answers(view: View, score: Score) -> bool:
    region = view.instruments[score.instrument].region
    return region and (isinstance(score.total, Decimal) or score.total is Absence.DECLINED)


def early_look(view: View) -> str:
    """The early look of a pathway that has one: a note when neither pain nor function has moved."""
    pathway = view.pathway
    if pathway is None or pathway.early_look is None or view.first_visit is None:
        return ""
    if (view.today - view.first_visit).days < pathway.early_look.whole:
        return ""
    pain = [
        m.value
        for m in view.since("measures", view.segment_start)
        if m.name == "worst_pain" and not isinstance(m.value, Absence) and not m.repeated
    ]
    calmer = len(pain) > 1 and pain[0] - pain[-1] >= view.rules["outcome.early_pain"]
    function = change(view, FUNCTION)
    abler = function is not None and function.toward_better >= view.rules["outcome.early_function"]
    nothing_known = len(pain) < 2 and function is None
    if calmer or abler or nothing_known or responded(view) is Truth.MET:
        return ""
    return "early look: little change in worst pain or function so far"
