"""Reads how a questionnaire's numbered items lie on its form, and the points of the Constant-Murley score."""

from __future__ import annotations

from decimal import Decimal

from armrise.store.rules.questionnaire import ConstantPoints, Form, Ladder, Part, Rung
from armrise.store.rules.table import Table, shown

MISSING_IN = ("all", "each part")
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
