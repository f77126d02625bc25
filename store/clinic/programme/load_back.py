"""A flare that does not settle: whether to take load back first, and which (ruling 78).

A step back is not advised while load that can be taken away has not been: the verdict names the exercises to
blame with the dose that is proposed for each, so that verdict and dose agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.eased import eased
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.pain.sustained import Sustained, horizon, sustained
from armrise.store.clinic.programme.facts import CaseFacts, ItemFacts
from armrise.store.clinic.programme.lowering import lowered
from armrise.store.clinic.programme.parts import Dose, is_raised
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.light import NamedTuple


class LoadBack(NamedTuple):
    """``goes_on``: it flared again after the load was cut. ``doses``: "scaption raise to 3 x 8 at 1.5 kg",
    one for each exercise to go back with; empty where there is no load to take back. ``names``: those of them
    that a lower dose is proposed for."""

    goes_on: bool
    doses: tuple[str, ...]
    names: tuple[str, ...] = ()


def load_back(view: View) -> LoadBack | None:
    """What a flare of repeated sessions or mornings asks of the programme; None without such a flare."""
    return view.history.once(("load back", view.today), lambda: _load_back(view))


def _load_back(view: View) -> LoadBack | None:
    going_on = sustained(view, horizon(view))
    if not going_on:
        return None
    cut = _load_cut_on(view, going_on)
    if cut is not None and sustained(view, cut + DAY):
        return LoadBack(True, ())
    found = _doses(CaseFacts(view))
    return LoadBack(False, tuple(found), tuple(name for name in found.values() if name))


# --- the day load was cut -------------------------------------------------------------------------------


def _load_cut_on(view: View, going_on: Sequence[Sustained]) -> date | None:
    """The newest day on which load was taken away since the first flare that counts, None if it was not."""
    first = min(each.flares[0].on if each.flares else each.raised[0] for each in going_on)
    days = [entry.on for entry in eased(view) if entry.on >= first]
    return max(days, default=None)


def _by_exercise(view: View) -> dict[str, list[ProgrammeItem]]:
    versions: dict[str, list[ProgrammeItem]] = {}
    for item in view.upto("programme"):
        versions.setdefault(item.exercise, []).append(item)
    return versions


# --- what to go back to ---------------------------------------------------------------------------------


def _doses(case: CaseFacts) -> dict[str, str]:
    """The exercises to blame with the dose proposed for each; where those are out, the loaded ones kept.

    Beside the words the name of the exercise where its dose is lowered, else "".
    """
    raised, loaded = _raised_before_flare(case), _loaded(case)
    if not raised and not loaded:
        return {}
    held = {item.exercise: item for item in case.items}
    flare = _newest_flare(case)
    blamed = [n for n in case.blame(flare).exercises if n in held] if flare else []
    names = blamed or [item.exercise for item in loaded]
    return dict(_dose(case, held[name]) for name in names) or {f"{name} stays out": "" for name in raised}


def _loaded(case: CaseFacts) -> list[ProgrammeItem]:
    """The items in force whose class is cut after pain."""
    return [item for item in case.items if item.load_class not in case.rules.mobility_classes]


def _raised_before_flare(case: CaseFacts) -> list[str]:
    """Exercises raised or begun in the days before the newest flare: days decide, not instants."""
    flare = _newest_flare(case)
    if flare is None:
        return []
    first = flare.on - timedelta(days=case.rules["dose.blame_days"])
    return [
        name
        for name, versions in _by_exercise(case.view).items()
        if any(
            first <= after.on <= flare.on and _asks_more(case, before, after)
            for before, after in zip([None, *versions], versions, strict=False)
        )
    ]


def _newest_flare(case: CaseFacts) -> Judged | None:
    return next((judged for judged in reversed(case.known) if judged.klass == FLARE), None)


def _asks_more(case: CaseFacts, before: ProgrammeItem | None, after: ProgrammeItem) -> bool:
    if after.stopped is not None:
        return False
    if before is None or before.stopped is not None:
        return True
    return is_raised(before, after, case.rules.class_order)


def _dose(case: CaseFacts, item: ProgrammeItem) -> tuple[str, str]:
    """ "scaption raise to 3 x 8 at 1.5 kg", "keep band row at 3 x 10, band 3", "band row out"."""
    found = lowered(ItemFacts(case, item))
    if found is None or not found.changes:
        return f"keep {item.exercise} at {Dose.of(item).words(item)}", ""
    words = f"{item.exercise} to {found.dose_words}" if found.dose else f"{item.exercise} out"
    return words, item.exercise
