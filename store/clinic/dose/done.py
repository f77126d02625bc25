"""The dose that is done: where more than prescribed is done well again and again, the next step starts so."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from armrise.store.clinic.programme.facts import ItemFacts
from armrise.store.clinic.programme.parts import Dose, amount
from armrise.store.record.kinds.programme import ISOMETRIC, DoneItem, ProgrammeItem
from armrise.store.record.words import plain


def sets_high(facts: ItemFacts) -> int:
    """How far sets may rise: as the item says, else the catalogue; where neither does, they do not."""
    item, pathway = facts.item, facts.case.view.pathway
    named = facts.rules.exercise(item.exercise, pathway.code if pathway else None)
    high = item.sets_high if item.sets_high is not None else named.sets_high if named else None
    return max(item.sets, high or 0)


def as_done(facts: ItemFacts) -> ProgrammeItem:
    """The item at the least that its last good full sessions all did, where that is more than prescribed.

    As prescribed in a protected stage, and never above how far sets may rise or an ordered load (ruling 80).
    Only sessions at the present dose count, with none between them that was short or hurt: what was done
    before load was taken away is no measure of what may be done now.
    """
    item, view, needed = facts.item, facts.case.view, facts.rules["dose.done_run"]
    run = facts.good_run()[:needed]
    done = [each for told in run for each in facts.done_on(told.judged)]
    sets, reps = [each.sets for each in done], [each.reps for each in done]
    if len(run) < needed or None in (*sets, *reps) or (view.stage and view.stage.protected):
        return item
    return replace(
        item,
        sets=max(item.sets, min(*(s for s in sets if s is not None), sets_high(facts))),
        reps=max(item.reps, min(r for r in reps if r is not None)),
        load=_load(facts, done),
        band=_band(item, done),
    )


def _load(facts: ItemFacts, done: list[DoneItem]) -> Decimal | None:
    """Kilograms; as prescribed where none are, or where a whole dose was told without them."""
    item, most = facts.item, facts.case.home.heaviest
    if item.load is None:
        return None
    least = min(item.load if each.load is None else each.load for each in done)
    return max(item.load, least if most is None else min(least, most))


def _band(item: ProgrammeItem, done: list[DoneItem]) -> int | None:
    if item.band is None:
        return None
    return max(item.band, min(item.band if each.band is None else each.band for each in done))


def done_words(item: ProgrammeItem, now: ProgrammeItem) -> str:
    """ "done 3 x 15 on band 1, prescribed 2 x 10; " where the two differ, else nothing."""
    if Dose.of(item) == Dose.of(now):
        return ""
    same_load = (item.load, item.band) == (now.load, now.band)
    return f"done {_count(now)}{_with(now)}, prescribed {_count(item)}{'' if same_load else _with(item)}; "


def _count(item: ProgrammeItem) -> str:
    return f"{item.sets} x {amount(item)}{' s' if item.load_class in ISOMETRIC else ''}"


def _with(item: ProgrammeItem) -> str:
    if item.load is not None:
        return f" at {plain(item.load)} kg"
    return f" on band {item.band}" if item.band is not None else ""
