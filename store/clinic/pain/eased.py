"""What takes load away: a load cut at a visit or contact, and a lower dose that was accepted."""

from __future__ import annotations

from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.care import Contact, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import ProgrammeItem, is_again


def load_cuts(view: View) -> list[Contact | Visit]:
    """Visits, and contacts in which somebody was spoken to, with the load cut."""
    contacts: list[Contact] = view.upto("contacts")
    visits: list[Visit] = view.upto("visits")
    return [*(c for c in contacts if c.spoken and c.load_cut), *(v for v in visits if v.load_cut)]


def eased(view: View) -> list[Entry]:
    """Every entry that took load away."""
    return [*load_cuts(view), *_lowered(view)]


def _lowered(view: View) -> list[ProgrammeItem]:
    """Versions that ask for less than the one before, or end an exercise that nothing as hard follows but a
    rung below it."""
    found: list[ProgrammeItem] = []
    last: dict[str, ProgrammeItem] = {}
    items: list[ProgrammeItem] = view.upto("programme")
    order = view.rules.class_order
    for item in items:
        before = last.get(item.exercise)
        last[item.exercise] = item
        if before is None or before.stopped is not None:
            continue
        if item.stopped is None:
            lower = _asks_less(before, item, order) or _smaller_arc(view, before, item)
        else:
            begun = [
                i for i in items if i.on == item.on and i.stopped is None and i.exercise != item.exercise
            ]
            hard = [i for i in begun if order.index(i.load_class) >= order.index(item.load_class)]
            lower = all(i.exercise in _rungs_below(view, item.exercise) for i in hard)
        if lower:
            found.append(item)
    return found


def _smaller_arc(view: View, before: ProgrammeItem, after: ProgrammeItem) -> bool:
    """The same movement written once more: through a smaller arc, where none is set (ruling 81)."""
    moves = after.load_class in view.rules.mobility_classes
    return moves and after.arc_to is None and is_again(before, after)


def _rungs_below(view: View, name: str) -> tuple[str, ...]:
    """The exercises below one on its ladder: going back to one of them is less, of whatever class."""
    holding = (ladder.rungs for ladder in view.rules.ladders if name in ladder.rungs)
    return next((rungs[: rungs.index(name)] for rungs in holding), ())


def _asks_less(before: ProgrammeItem, after: ProgrammeItem, order: tuple[str, ...]) -> bool:
    """Less of something that both versions state, and more of nothing."""
    names = ("sets", "reps", "hold", "load", "band", "per_week", "arc_to")
    pairs = [(getattr(before, name), getattr(after, name)) for name in names]
    pairs.append((order.index(before.load_class), order.index(after.load_class)))
    stated = [(was, now) for was, now in pairs if was is not None and now is not None]
    added = any(was is None and now is not None for was, now in pairs)
    return not added and all(now <= was for was, now in stated) and any(now < was for was, now in stated)
