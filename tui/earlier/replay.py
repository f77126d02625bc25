"""As known then: the same screens through a door that reads an earlier instant and writes nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from armrise.tui.earlier.instants import Then, a_day, end_of, read_then, words_then
from armrise.tui.forms.kit.asking import AskScreen
from armrise.tui.shell.report import ReportScreen
from armrise.tui.shell.store_door import StoreDoor, into_store

if TYPE_CHECKING:
    from armrise.tui.shell.frame import Board, Frame

MARK = "AS KNOWN {}, nothing can be written"
HINT = '"3 Mar 08:05", "Tue 8:05", "-3", "2026-03-03"; without a time: the end of that day'
HOW_ON = "w why it stood there   < > a day back or on   Esc to now"


class ReplayDoor(StoreDoor):
    """A door at an instant: reads what was known then, under the rules in force now, and writes nothing."""

    def __init__(self, now: StoreDoor, then: Then) -> None:
        super().__init__(now.store.as_known(then.known_at), now.rules, now.author, then.today, now.now)
        self.door_now = now
        self.then = then
        self.when = words_then(now.store, then)

    @property
    def cannot_write(self) -> str:
        """Why nothing is written through this door."""
        return f"This is as known {self.when}: nothing can be written. Esc in the list goes back to now."


def now_of(board: Board) -> StoreDoor:
    """The door to now, whatever instant the list shows."""
    door = into_store(board.app.door)
    return door.door_now if isinstance(door, ReplayDoor) else door


def ask(board: Board) -> None:
    """Ask for an instant and show the list, and the case in view, as known then."""
    door = now_of(board)

    def read(text: str) -> Callable[[], None]:
        then = read_then(text, door.store, door.today) if text else None
        wanted = None if then is None else _earlier(door, then)
        return lambda: show(board, wanted)

    def chosen(go: Callable[[], None] | None) -> None:
        if go is not None:
            go()

    keys = "Enter shows the list as known then   Esc leave"
    board.app.push_screen(AskScreen("As known then", "day and time", HINT, keys, read), chosen)


def _earlier(door: StoreDoor, then: Then) -> Then | None:
    """``then`` if it lies before now, None if it is now. Raises StoreError for what lies ahead."""
    from armrise.store.database.place import StoreError

    ahead = then.known_at is not None and then.known_at >= door.now()
    if then.today > door.today or (ahead and then != end_of(door.store, door.today)):
        raise StoreError(f"{words_then(door.store, then)} lies ahead: choose an instant that is past")
    return None if then.known_at is None or ahead else then


def show(board: Board, then: Then | None) -> None:
    """Read the list as known ``then`` (None: now) and turn every screen to it."""
    now = now_of(board)
    if then is None:
        board.read_through(now, "", "this is now again")
    else:
        door = ReplayDoor(now, then)
        board.read_through(door, MARK.format(door.when), HOW_ON)


def step(board: Board, by: int) -> str:
    """Go a day earlier or later, at the same time of day. Returns what there is to say instead."""
    door, now = board.app.door, now_of(board)
    if isinstance(door, ReplayDoor):
        then = a_day(now.store, door.then, by)
    elif by > 0:
        return "This is now: < goes a day back, Z asks for an instant."
    else:
        then = a_day(now.store, end_of(now.store, now.today), by)
    show(board, None if then.today >= now.today and by > 0 else then)
    return ""


def why(app: Frame, code: str) -> None:
    """Show why a case stood where it stood then, and what is known since."""
    from armrise.tui.earlier.why import look, sections

    door = app.door
    assert isinstance(door, ReplayDoor)
    store, rules, then = door.door_now.store, door.rules, door.then
    title = f"Why {code} stood there"
    app.push_screen(ReportScreen(title, lambda: list(sections(look(store, rules, code, then)))))
