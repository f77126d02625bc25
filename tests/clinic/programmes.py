"""Home programmes for tests: what is prescribed, what was done of it, and what is proposed."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.programme.proposal import Proposal
from armrise.store.record.kinds.programme import HomeLoads, ProgrammeItem, stated
from tests.clinic.build import TODAY, Builder, case, item, rules

ROTATION, ROW = "side-lying external rotation", "band row"
GOOD, RAISED_TRIPLE, FLARED = (3, 3, 2), (6, 3, 2), (4, 4, 5)


def kg(*weights: float) -> tuple[Decimal, ...]:
    return tuple(Decimal(str(w)) for w in weights)


def home(built: Builder, *weights: float, bands: tuple[int, ...] = (), day: int = -60) -> Builder:
    return built.add(HomeLoads, day, weights=kg(*weights), bands=tuple(map(Decimal, bands)))


def start(
    stage: str = "OA2", *, weights: tuple[float, ...] | None = (1, 1.5, 2, 2.5, 3, 4), **more: Any
) -> Builder:
    """A case with settled mornings of 2 and weights at home."""
    built = case(stage, day=60, **more)
    if weights is not None:
        home(built, *weights, bands=(1, 2, 3))
    return built.mornings(-40, *[2] * 40)


def prescribe(
    built: Builder, day: int, dose: str, name: str = ROTATION, klass: str = "R1", **more: Any
) -> Builder:
    """One version: "3x8" or "3x8 @ 2"."""
    count, _, load = dose.partition(" @ ")
    sets, reps = (int(n) for n in count.split("x"))
    known = {"reps_low": 8, "reps_high": 12, "load": Decimal(load) if load else None, **more}
    return built.programme(day, klass, sets, reps, exercise=name, **known)


def did(dose: str, name: str = ROTATION, klass: str = "R1", **more: Any) -> Any:
    """What was done of one exercise."""
    count, _, load = dose.partition(" @ ")
    sets, reps = (int(n) for n in count.split("x"))
    return item(klass, sets, reps, exercise=name, load=Decimal(load) if load else None, **more)


def propose(built: Builder, name: str = ROTATION, day: int = 0) -> Proposal:
    today = TODAY + timedelta(days=day)
    found = proposals(View.of(built.record(), rules(), today))
    return next(p for p in found if p.item.exercise == name)


def words(built: Builder) -> dict[str, str]:
    return {p.item.exercise: p.word for p in proposals(View.of(built.record(), rules(), TODAY))}


def accept(built: Builder, found: Proposal, day: int = 0) -> Builder:
    """What accepting a proposal writes."""
    for version in found.versions:
        built.add(ProgrammeItem, day, **stated(version))
    return built


def brief(found: Proposal) -> tuple[str, str]:
    """(word, dose as printed)."""
    return found.word, found.dose.words(found.item) if found.dose else ""
