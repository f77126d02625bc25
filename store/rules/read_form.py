"""Reads measures and outcome scores with their scales, forms and figures, and the Constant-Murley points."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from armrise.store.rules.declared import MOST_DAYS, read
from armrise.store.rules.figure import Figure
from armrise.store.rules.measure import InstrumentSpec, MeasureSpec, ScoreFigures
from armrise.store.rules.questionnaire import ConstantPoints, Form, Ladder, Part, Rung
from armrise.store.rules.table import WIDEST, Range, Table, shown

MISSING_IN = ("all", "each part")
_LEAST_CHANGE = Decimal("0.01")
FORMULAS = ("mean of subscales", "all items", "new 0-48", "old 12-60")


def form(table: Table, largest: Decimal) -> Form:
    """The form of one instrument. ``largest`` is the top of its scale: no answer may lie above it."""
    tables = table.tables("parts", "part")
    parts = tuple(_part(part, largest) for part in tables)
    if not parts:
        table.refuse("parts", "is empty, needed is at least one part")
    if any(inner.spoiled("items") for inner in tables):
        table.faulty |= {"missing", "lengths"}  # the items they are of were not read
    found = Form(
        parts=parts,
        places=int(table.number("places", (0, 2))),
        shown_places=int(table.number("shown_places", (0, 2))),
        missing=table.figure("missing", "value", (0, 30)),
        missing_in=table.choice("missing_in", MISSING_IN),
        formulas=table.choices("formulas", FORMULAS),
        lengths=_lengths(table),
        source=table.words("source"),
        status=table.source()[1],
    )
    _holds_together(table, found)
    table.done()
    return found


def _part(table: Table, largest: Decimal) -> Part:
    low, high = (table.number(key, (-100, largest)) for key in ("low", "high"))
    if low >= high and not table.spoiled("low", "high"):
        table.fault("low", f"is {low}, allowed is less than high, {high}")
    part = Part(table.words("name", 40), int(table.number("items", (1, 30))), low, high)
    table.done()
    return part


def _lengths(table: Table) -> tuple[int, ...]:
    items = table.items("lengths")
    found: list[int] = []
    for item in items:
        if isinstance(item, bool) or not isinstance(item, int) or not 1 <= item <= 30:
            table.fault("lengths", f"holds {shown(item)}, allowed are whole numbers from 1 to 30")
        else:
            found.append(item)
    return tuple(found)


def _holds_together(table: Table, found: Form) -> None:
    """More blanks than items would make every form complete; a length beyond the items has no meaning."""
    smallest = min(p.items for p in found.parts) if found.missing_in == "each part" else found.count
    if found.missing.whole >= smallest and not table.spoiled("missing"):
        table.fault(
            "missing", f"is {found.missing.value}, allowed is less than the {smallest} items it is of"
        )
    if found.lengths and not table.spoiled("lengths") and max(found.lengths) != found.count:
        table.fault(
            "lengths", f"ends with {max(found.lengths)}, needed is the number of items, {found.count}"
        )


def constant_points(table: Table) -> ConstantPoints:
    """The point tables of the Constant-Murley score."""
    strength = table.table("strength")
    points = ConstantPoints(
        line=_ladder(table.table("line"), bands=True),
        sleep=_ladder(table.table("sleep")),
        hand_level=_ladder(table.table("hand_level")),
        elevation=_ladder(table.table("elevation"), bands=True),
        external_rotation=_ladder(table.table("external_rotation")),
        internal_rotation=_ladder(table.table("internal_rotation")),
        per_kg=strength.figure("per_kg", "points", whole=False),
    )
    strength.done()
    table.done()
    return points


def _ladder(table: Table, *, bands: bool = False) -> Ladder:
    rungs: list[Rung] = []
    unread = False
    for step in table.tables("steps", "step"):
        upto = step.number("upto", (0, 360), whole=False) if bands else None
        word = "" if bands else step.words("word", 60)
        rungs.append(Rung(upto, word, int(step.number("points", (0, 25)))))
        step.done()
        unread = unread or step.spoiled("upto")
    if not rungs and not table.spoiled("steps"):
        table.fault("steps", "is empty, needed is at least one step")
    bounds = [rung.upto for rung in rungs if rung.upto is not None]
    if bounds != sorted(set(bounds)) and not unread:
        table.fault("steps", "is out of order, needed are rising upto values")
    ladder = Ladder(tuple(rungs), *table.source())
    table.done()
    return ladder


def measure(key: str, part: Table) -> MeasureSpec:
    """A measure with its scale, and when a value of it goes stale."""
    days, extra, cap = _stale(part.table("stale"))
    return read(part, MeasureSpec, **_scale(part), key=key, stale_days=days, stale_extra=extra, stale_cap=cap)


def _stale(table: Table) -> tuple[Figure, int | None, int | None]:
    """``days``, and in newer files ``extra`` on the review interval and the ``cap``, both or neither."""
    days = table.number("days", (1, MOST_DAYS))
    extra, cap = (
        int(table.number(key, (least, MOST_DAYS))) if table.has(key) else None
        for key, least in (("extra", 0), ("cap", 1))
    )
    figure = Figure(days, *table.source())
    table.done()
    if (extra is None) != (cap is None):
        table.fault("extra", "and cap belong together, needed are both or neither")
    if cap is not None and cap < days and not table.spoiled("days", "cap"):
        table.fault("cap", f"is {cap}, allowed is days, {days}, or more")
    return figure, extra, cap


def _scale(part: Table) -> dict[str, Any]:
    """The two ends; the widest where they cannot be read, so that nothing is said of what lies between."""
    low, high = (part.number(key, (-WIDEST, WIDEST), whole=False) for key in ("low", "high"))
    if low >= high and not part.spoiled("low", "high"):
        part.fault("low", f"is {low}, allowed is less than high, {high}")
    if part.spoiled("low", "high"):
        low, high = Decimal(-WIDEST), Decimal(WIDEST)
    return {"low": low, "high": high}


def instrument(key: str, part: Table) -> InstrumentSpec:
    """An outcome score with its figures and its form."""
    scale = _scale(part)
    low, high = scale.values()
    part.lacks("lower_is_better", "true or false")
    return InstrumentSpec(
        key=key,
        **scale,
        lower_is_better=part.yes("lower_is_better"),
        **_figures(part, (low, high)),
        stale_days=part.figure("stale", "days", (1, MOST_DAYS)),
        region=part.yes("region"),
        detectable_single=part.maybe_figure(
            "detectable_single", "points", (_LEAST_CHANGE, high - low), whole=False
        ),
        form=next(iter(part.gather(_forms(part), lambda table: form(table, high))), None),
    )


def _figures(part: Table, ends: Range) -> dict[str, Any]:
    """What a change or a total is judged by, within the ends of the scale."""
    low, high = ends
    change = (_LEAST_CHANGE, high - low)
    return {
        "response": part.maybe_figure("response", "points", change, whole=False),
        "detectable": part.maybe_figure("detectable", "points", change, whole=False),
        "acceptable": part.maybe_figure("acceptable", "points", ends, whole=False),
    }


def score_figures(table: Table, instruments: Mapping[str, InstrumentSpec]) -> tuple[ScoreFigures, ...]:
    """``response_in`` of a pathway file: scores by name, each with the figures that differ there."""
    found: list[ScoreFigures] = []
    for key, spec in instruments.items():
        if table.has(key):
            part = table.table(key)
            made = ScoreFigures(instrument=key, **_figures(part, (spec.low, spec.high)))
            part.done()
            found.append(made)
            if made == ScoreFigures(instrument=key) and not part.faulty:
                part.fault("response", "is missing, needed is response, detectable or acceptable")
    table.done()
    return tuple(found)


def _forms(part: Table) -> list[Table]:
    return [part.table("form")] if part.has("form") else []
