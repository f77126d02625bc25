"""Two scores of one instrument side by side: better or worse, by how much, and what that is worth.

Two figures are kept apart and both are said with their source: the response threshold (a change patients
notice) and the detectable change (beyond measurement error). For several scores the first is the smaller one,
so a change can be noticed and still lie within measurement error. The acceptable state depends on where
somebody began; it is only ever "likely acceptable", and stands beside the patient's own answer.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from armrise.store.clinic.case.view import View
from armrise.store.clinic.scores.outcome import acceptable, better, response_needed, with_total
from armrise.store.clinic.scores.scale import differing, direction, on_scale
from armrise.store.record.kinds.measured import Score
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain, words_date
from armrise.store.rules.figure import MEMORY, Figure
from armrise.store.rules.measure import InstrumentSpec

MEAN_OF_RATINGS = "PSFS"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreChange:
    """The change from ``before`` to ``after``; nothing is worked out where they may not be compared.

    ``toward_better`` is in points of the present scale, positive for better. ``reaches_response`` and
    ``beyond_error`` are None where no figure is known, and ``reaches_response`` also where the first total
    leaves no room for it.
    """

    instrument: str
    before: Decimal | None
    after: Decimal | None
    not_comparable: tuple[str, ...] = ()
    toward_better: Decimal | None = None
    response: Figure | None = None
    response_needed: Decimal | None = None
    """The change that would be a response; None where ``reaches_response`` is."""
    detectable: Figure | None = None
    acceptable_cut: Figure | None = None
    reaches_response: bool | None = None
    beyond_error: bool | None = None
    likely_acceptable: bool | None = None
    direction: str = ""
    note: str = ""


def score_change(spec: InstrumentSpec, before: Score, after: Score) -> ScoreChange:
    """The change between two scores of ``spec``, earlier one first."""
    first, last = on_scale(spec, before), on_scale(spec, after)
    # Why there is no change to speak of: a total missing, or another form, version or language.
    absent = [s for s, total in ((before, first), (after, last)) if total is None]
    reasons = tuple(f"no total on {words_date(s.on)}" for s in absent) or differing(spec, before, after)
    side_by_side = ScoreChange(
        instrument=spec.key,
        before=first,
        after=last,
        not_comparable=reasons,
        acceptable_cut=spec.acceptable,
        likely_acceptable=acceptable(spec, last) if spec.acceptable and last is not None else None,
        direction=direction(spec),
    )
    if reasons or first is None or last is None:
        return side_by_side
    moved, detectable = better(spec, first, last), _detectable(spec, before, after)
    needed = response_needed(spec, first)
    return replace(
        side_by_side,
        toward_better=moved,
        response=spec.response,
        response_needed=needed,
        detectable=detectable,
        reaches_response=moved >= needed if needed is not None else None,
        beyond_error=abs(moved) >= detectable.value if detectable else None,
        note=_note(spec, before, after, needed),
    )


def latest_change(view: View, instrument: str) -> ScoreChange | None:
    """The newest total of ``instrument`` against the first one of the present pathway, comparable or not.

    None below two totals. Where the first may not be compared, the first of the newest form, version and
    language is the baseline; only when there is none does the answer say why nothing is compared.
    """
    spec, scores = view.instruments[instrument], with_total(view, instrument)
    if len(scores) < 2:
        return None
    like = [s for s in scores if not differing(spec, s, scores[-1])]
    return score_change(spec, like[0] if len(like) > 1 else scores[-2], scores[-1])


def left_out(view: View, instrument: str) -> tuple[str, ...]:
    """Earlier totals that the newest is not compared with, each with the reason."""
    spec, scores = view.instruments[instrument], with_total(view, instrument)
    return tuple(
        f"{instrument} of {words_date(s.on)} is not compared: {', '.join(why)}; baseline taken anew"
        for s in scores[:-1]
        if (why := differing(spec, s, scores[-1]))
    )


def sentences(change: ScoreChange) -> tuple[str, ...]:
    """The change in words, one fact a line: totals, response, measurement error, acceptable state."""
    if change.before is None or change.after is None or change.toward_better is None:
        return (f"{change.instrument}: not comparable ({', '.join(change.not_comparable)})",)
    moved = change.toward_better
    way = "no change" if moved == 0 else f"{plain(abs(moved))} {'better' if moved > 0 else 'worse'}"
    totals = f"{change.instrument} {plain(change.before)} to {plain(change.after)}"
    lines = [f"{totals} ({change.direction}): {way}", _response_words(change)]
    if change.detectable is None:
        lines.append("measurement error of this score not known")
    else:
        where, error = "beyond" if change.beyond_error else "within", change.detectable
        lines.append(f"{where} measurement error, {plain(error.value)} ({_source(error)})")
    if change.acceptable_cut and change.likely_acceptable:
        cut, side = change.acceptable_cut, "or less" if change.direction == "lower is better" else "or more"
        cut_off = f"{plain(cut.value)} {side}, {_source(cut)}"
        lines.append(f"likely acceptable ({cut_off}); depends on where it began, so ask")
    return (*lines, change.note) if change.note else tuple(lines)


def _response_words(change: ScoreChange) -> str:
    if change.response is None:
        return "no figure for a change patients notice"
    figure = f"{plain(change.response.value)} ({_source(change.response)})"
    if change.reaches_response is None:
        return f"the first total was too good to gain {figure}"
    reaches = "reaches" if change.reaches_response else "does not reach"
    return f"{reaches} the change patients notice, {figure}"


def _source(figure: Figure) -> str:
    """Where a number comes from; one from memory says so even where its source does not."""
    source = figure.source
    return source if MEMORY in source or figure.status != MEMORY else f"{MEMORY}: {source}"


def _detectable(spec: InstrumentSpec, before: Score, after: Score) -> Figure | None:
    """The detectable change; the larger one where a mean rests on a single rating in either score."""
    single = any(len(s.items) - s.items.count(None) == 1 for s in (before, after) if s.items)
    return spec.detectable_single if single and spec.detectable_single else spec.detectable


def _note(spec: InstrumentSpec, before: Score, after: Score, needed: Decimal | None) -> str:
    """What makes the change doubtful though it may be worked out."""
    if spec.key == MEAN_OF_RATINGS and before.items and after.items:
        once, now = (
            " ".join(str(at) for at, value in enumerate(score.items, 1) if value is not None)
            for score in (before, after)
        )
        if once != now:
            return f"not the same activities rated ({once}, then {now})"
    return "" if needed is not None or spec.response is None else "judge by the acceptable state or the goal"
