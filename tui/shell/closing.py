"""When the clinic is closed, for a screen that proposes a slot."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from armrise.store.record.closing import Closing
from armrise.tui.shell.frame import frame_of

if TYPE_CHECKING:
    from textual.screen import Screen


def closing_of(screen: Screen[Any]) -> Closing:
    """When the clinic of the store is closed; at weekends where no store says it."""
    from armrise.tui.shell.store_door import StoreDoor

    door = frame_of(screen).door
    if not isinstance(door, StoreDoor):
        return Closing()
    if door.closing is None:
        from armrise.store.caseload.closing_days import closing

        door.closing = closing(door.store, door.today)
    return door.closing


def proposed_slot(screen: Screen[Any], when: date) -> tuple[str, str]:
    """A day to propose for a slot, the next one that is open, and what stands beside it."""
    from armrise.tui.words.entries import day

    closed = closing_of(screen)
    found, moved = closed.next_open(when), closed.moved_words(when)
    return found.isoformat(), f"Enter: {moved or day(found)}; Down books none"
