"""Passive range over time: is range being lost beyond measurement error?

Degrees. Two observers cannot tell changes under 20-25 degrees from error in painful shoulders (de Winter
2004, BMC Musculoskelet Disord 5:18); one observer does better. So a loss is computed twice, against the best
value by the same rater and against the best by anyone, each with its own allowance.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import NamedTuple

from armrise.store.clinic.case.evidence import together
from armrise.store.clinic.case.measured import every_real
from armrise.store.clinic.case.naming import SURGEON_TOLD
from armrise.store.clinic.case.once import once_a_view
from armrise.store.clinic.case.turns import Turns, turns
from armrise.store.clinic.case.view import DAY, History, View
from armrise.store.clinic.motion.losses import (
    Loss,
    Lost,
    best_counts_from,
    counted,
    each_lost,
    every_counted,
    lost_by,
    older_series,
    series,
)
from armrise.store.clinic.motion.motion import PLANES, ROTATION, degrees, other_side, values
from armrise.store.record.kinds.measured import Measure
from armrise.store.rules.figure import Figure


class Drift(NamedTuple):
    """What range over time says: ``code`` "STF" (act) or "WAT" (watch)."""

    code: str
    severity: int
    plane: str
    sentence: str
    evidence: tuple[int, ...]
    """The values that make it true, those of planes that are not printed too."""
    rule: str


def _limited(measure: Measure) -> bool:
    return measure.limited_by in ("pain", "guarding")


@once_a_view
def drift(view: View) -> Drift | None:
    """The drift reason on the view's date: act level (STF), else watch level (WAT), else None."""
    if view.span is None or view.closed:
        return None
    referred, stiff = referred_for_range(view), stiff_after_surgery(view)
    lost = [] if referred else _lost(view)
    act = [*lost, stiff] if stiff else lost
    watch = [] if act or referred else [*lost_since_early(view), *watched(view)]
    return together(act or watch)


def is_losing_range(view: View) -> bool:
    """Whether range is lost at act level (STF), asked for neither words nor entries."""
    if view.span is None or view.closed:
        return False
    return stiff_after_surgery(view) is not None or (_is_lost(view) and not referred_for_range(view))


def _counted_to(view: View) -> Iterator[date]:
    """The day a value is too old for the half rule, and the days after the onset from which rules hold."""
    fresh = timedelta(days=view.rules["drift.half_fresh_days"]) + DAY
    for early in (False, True):
        if found := counted(view, ROTATION, early=early):
            yield found[-1].on + fresh
    onset, pathway = view.onset(), view.pathway
    for figure in (pathway.half_rule_from_day, pathway.stiffness_judged_day) if pathway else ():
        if onset and figure:
            yield onset.on + timedelta(days=figure.whole)


RANGE_TURNS = turns("measures", "findings", "onsets", "referrals", "contacts", days=_counted_to)
"""When :func:`drift` can turn."""


def _days_of_losing(view: View) -> Iterator[date]:
    """The past days on which the values as such turned it; every day of an entry, and those counted to, where
    something else bears on it: a referral, the other side, another device, stiffness after surgery."""
    if view.first_visit:
        yield view.first_visit
    turned = view.history.once(("range turned", best_counts_from(view)), lambda: _turned(view))
    if turned is None or (view.pathway and view.pathway.stiffness_judged_day):
        yield from view.history.once("range entered", lambda: _entered(view.history))
        yield from _counted_to(view)
    else:
        yield from turned


def _entered(history: History) -> list[date]:
    return sorted({day for name in RANGE_TURNS.fields for day in history.ordered(name)[1]})


def _turned(view: View) -> list[date] | None:
    """The days on which it began or ended by the values alone, over the whole history; None where they are
    not alone, or not all alike."""
    record, history = view.record, view.history
    named = any(r.about == "losing range" for r in history.ordered("referrals")[0])
    if named or every_real(history, ROTATION, record.other_side).measures:
        return None
    newest: dict[date, dict[str, Lost]] = {}
    for plane in PLANES:
        found = every_counted(view, plane)
        if found is None:
            return None
        for at, lost in zip(found, each_lost(view, plane, found) if found else (), strict=True):
            newest.setdefault(at.on, {})[plane] = lost
    days, before, losses = list[date](), False, dict[str, Lost]()
    for day in sorted(newest):
        losses |= newest[day]
        now = any(_shows(view, lost) is not None for lost in losses.values())
        now = now or bool(_on_one_day(lost.loss for lost in losses.values()))
        if now is not before:
            days.append(day)
        before = now
    return days


LOSING_TURNS = Turns(("steps", "discharges", "reopenings", "onsets"), _days_of_losing)
"""When :func:`is_losing_range` turned, looked at from the days that follow."""


def range_until(view: View) -> date:
    """The first day after the view's date on which :func:`drift` may be found otherwise.

    Nothing is lost before a value lies so far below one before as the smallest allowance, where the range of
    the other side is not known and nobody asks for stiffness after surgery.
    """
    history = view.history
    if history.once("range is compared", lambda: _compared(view)):
        return RANGE_TURNS.following(view)
    lost = history.once("range first lost", lambda: _first_lost(view))
    return RANGE_TURNS.following(view) if lost <= view.today else lost


def _compared(view: View) -> bool:
    other = any(m.name == ROTATION and m.side not in (None, view.record.side) for m in _every_range(view))
    stays = (view.history.pathway_of(span.stage) for span in view.history.spans)
    return other or any(pathway and pathway.stiffness_judged_day for pathway in stays)


def _every_range(view: View) -> list[Measure]:
    return [m for m in view.history.ordered("measures")[0] if m.name in PLANES and m.real]


def _first_lost(view: View) -> date:
    """The day of the first value of a plane that lies so far below one before it; the end of time without."""
    figures = ("drift.same_watch", "drift.same_act", "drift.other_watch", "drift.other_act")
    least, best = min(view.rules[figure] for figure in figures), dict[str, int]()
    for measure in _every_range(view):
        value = degrees(measure)
        if best.get(measure.name, value) - value >= least:
            return measure.on
        best[measure.name] = max(best.get(measure.name, value), value)
    return date.max


def referred_for_range(view: View) -> bool:
    """True when a referral of this stage, made on or after the loss was seen, names the loss of range."""
    named = [r.on for r in view.since("referrals", view.stage_start) if r.about == "losing range"]
    return any(_lost(view.at(on)) or lost_since_early(view.at(on)) for on in named)


def _lost(view: View, *, early: bool = False) -> list[Drift]:
    """Range lost at act level, referred for or not: everything that is true, the largest severity first."""
    planes = {p: found for p in PLANES if (found := series(view, p, early=early))}
    found = [_half(view, planes), _two_planes(view, planes)]
    for plane, newest_series in planes.items():
        older = older_series(view, plane, early=early)
        found += [_one_plane(view, plane, one) for one in (newest_series, *older)]
    return [lost for lost in found if lost]


def _is_lost(view: View) -> bool:
    """Whether :func:`_lost` finds anything."""
    planes = {p: found for p in PLANES if (found := series(view, p))}
    for plane, newest_series in planes.items():
        if any(_one_lost(view, plane, one) for one in (newest_series, *older_series(view, plane))):
            return True
    return bool(_together_lost(view, planes)) or _half(view, planes) is not None


def lost_since_early(view: View) -> list[Drift]:
    """Range lost at act level against a best of the days of healing, which ruling 86 leaves out.

    It is no "losing range"; that it began early hides it from nobody, so it is watched and forbids READY.
    """
    healed = view.pathway and view.pathway.best_from_day
    if not healed:
        return []
    words = f"; its best was before day {healed.whole}"
    return [
        lost._replace(code="WAT", severity=_degrees_lost(view, lost), sentence=lost.sentence + words)
        for lost in _lost(view, early=True)
    ]


def _degrees_lost(view: View, lost: Drift) -> int:
    """Degrees between the best of one plane, the days of healing included, and its newest value."""
    found = [degrees(m) for m in counted(view, lost.plane, early=True)]
    return max(found) - found[-1]


def _half(view: View, planes: dict[str, list[Measure]]) -> Drift | None:
    """Passive rotation below half of the other side, where that is not the expected state."""
    found, other = planes.get(ROTATION), other_side(view, ROTATION)
    if not found or not _half_is_read(view) or _limited(found[-1]):
        return None
    now, rules = found[-1], view.rules
    if other is None or degrees(other) < rules["drift.half_least_other"]:
        return None
    too_old = (view.today - now.on).days > rules["drift.half_fresh_days"]
    if too_old or degrees(now) * 100 >= rules["drift.half_percent"] * degrees(other):
        return None
    words = (
        f"range under half of the other side: {_label(view, ROTATION)} {degrees(now)},"
        f" other side {degrees(other)}"
    )
    return Drift("STF", 3, ROTATION, words + _hint(view), (now.id,), "half of the other side")


def _half_is_read(view: View) -> bool:
    pathway = view.pathway
    if pathway is None or pathway.half_rule == "never" or pathway.drift_against_own_best_only:
        return False
    if view.stage and view.stage.code in pathway.half_rule_not_in:
        return False
    if pathway.half_rule_from_day:
        onset = view.onset()
        return onset is not None and (view.today - onset.on).days >= pathway.half_rule_from_day.whole
    return True


def _together_lost(view: View, planes: dict[str, list[Measure]]) -> list[Loss]:
    """The losses of the first day on which two planes were lost."""
    return _on_one_day(lost_by(view, plane, found).loss for plane, found in planes.items())


def _on_one_day(losses: Iterable[Loss]) -> list[Loss]:
    by_day: dict[date, list[Loss]] = {}
    for loss in losses:
        if loss.act and not _limited(loss.at):
            by_day.setdefault(loss.at.on, []).append(loss)
    return next((losses for losses in by_day.values() if len(losses) >= 2), list[Loss]())


def _two_planes(view: View, planes: dict[str, list[Measure]]) -> Drift | None:
    losses = _together_lost(view, planes)
    if not losses:
        return None
    paths = [(_label(view, one.plane), _path(view, one.plane, planes[one.plane])) for one in losses]
    lost = " and ".join(f"{label} {path}" for label, path in paths)
    ids = tuple(loss.at.id for loss in losses)
    return Drift("STF", 3, losses[0].plane, lost + _hint(view), ids, "two planes on one day")


def _one_lost(view: View, plane: str, found: list[Measure]) -> tuple[tuple[int, ...], str] | None:
    """The values of one plane that show it lost, and by which rule; None where they do not."""
    return _shows(view, lost_by(view, plane, found))


def _shows(view: View, lost: Lost) -> tuple[tuple[int, ...], str] | None:
    last, first = lost.loss, lost.first
    if first and (last.at.on - first.at.on).days >= view.rules["drift.confirm_days"]:
        return (first.at.id, last.at.id), "confirmed a week apart"
    if last.large and not _limited(last.at):
        return (last.at.id,), "twice the allowance"
    return None


def _one_plane(view: View, plane: str, found: list[Measure]) -> Drift | None:
    one = _one_lost(view, plane, found)
    if one is None:
        return None
    ids, rule = one
    return Drift("STF", 2, plane, _plane_words(view, plane, found) + _hint(view), ids, rule)


def watched(view: View, *, at_act_level: bool = False) -> list[Drift]:
    """Each plane whose newest value lies below its best by the watch allowance, or by that to act."""
    found_lost: list[Drift] = []
    for plane in PLANES:
        found = series(view, plane, early=True)
        if not found:
            continue
        last = lost_by(view, plane, found).loss
        if last.act if at_act_level else last.watch:
            words = _plane_words(view, plane, found)
            if last.at.limited_by:
                words += f", limited by {last.at.limited_by}"
            words += "; measure again"
            found_lost.append(Drift("WAT", last.most, plane, words, (last.at.id,), "watch allowance"))
    return found_lost


def _label(view: View, plane: str) -> str:
    return view.rules.measures[plane].label


def _path(view: View, plane: str, found: list[Measure]) -> str:
    """Best to latest: the values from the largest on, at most four."""
    top = lost_by(view, plane, found).top
    shown = [found[top], *found[-3:]] if len(found) - top > 4 else found[top:]
    return " to ".join(str(degrees(m)) for m in shown)


def _plane_words(view: View, plane: str, found: list[Measure]) -> str:
    raters = lost_by(view, plane, found).raters
    one = len(raters) == 1 and None not in raters
    by = "same rater" if one else "raters " + " and ".join(r or "rater unknown" for r in raters)
    words = f"{_label(view, plane)} {_path(view, plane, found)} degrees, {by}"
    other = other_side(view, plane)
    return f"{words}; other side {degrees(other)}" if other else words


def _hint(view: View) -> str:
    pathway = view.pathway
    if pathway is None or pathway.half_rule == "never" or pathway.clock is not None:
        return ""
    return ": consider frozen shoulder; check active about equals passive, end-feel, radiograph, diabetes"


# --- after surgery --------------------------------------------------------------------------------------


def surgeon_told(view: View, since: date) -> bool:
    """True when an entry dated on or after ``since`` shows that the surgeon was told."""
    told = any(entry.surgeon_told for name in SURGEON_TOLD for entry in view.since(name, since))
    return told or any(r.about == "post-operative stiffness" for r in view.since("referrals", since))


def stiff_after_surgery(view: View) -> Drift | None:
    """Stiff at three months after repair, until a later value reaches the limit or the surgeon is told."""
    pathway, onset = view.pathway, view.onset()
    if pathway is None or onset is None or not pathway.stiffness_from_day or not pathway.stiffness_judged_day:
        return None
    if (view.today - onset.on).days < pathway.stiffness_judged_day.whole:
        return None
    first = onset.on + timedelta(days=pathway.stiffness_from_day.whole)
    limits = {"passive_flexion": pathway.stiffness_flexion, ROTATION: pathway.stiffness_rotation}
    return together(
        [s for plane, limit in limits.items() if limit and (s := _stiff(view, plane, limit, first))]
    )


def _stiff(view: View, plane: str, limit: Figure, first: date) -> Drift | None:
    """One plane below its limit in every value from ``first`` on, the surgeon not told of the newest."""
    found, onset = [m for m in values(view, plane) if m.on >= first], view.onset()
    if not found or onset is None or any(degrees(m) >= limit.whole for m in found):
        return None
    now = found[-1]
    if surgeon_told(view, now.on):
        return None
    words = (
        f"post-operative stiffness: {_label(view, plane)} {degrees(now)}, under {limit.whole}"
        f" at day {(now.on - onset.on).days}; tell the surgeon, more mobility, no force"
    )
    return Drift("STF", 2, plane, words, (now.id,), "post-operative stiffness")
