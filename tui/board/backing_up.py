"""A backup by key, beside the list, with one line about what became of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.worker import get_current_worker  # pyright: ignore[reportUnknownVariableType]

from armrise.tui.board.reader import CaseloadReader
from armrise.tui.shell.say import door_of_now, say
from armrise.tui.widgets.groups import PAST

if TYPE_CHECKING:
    from armrise.store.exchange.backup.make import Made
    from armrise.tui.shell.store_door import StoreDoor

BACKING_UP = "backing up ..."
THROWN_AWAY = "This caseload is thrown away when it is left: there is nothing to back up."


class BackingUp(CaseloadReader):
    """The list, from which the store behind it is copied."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("B", "back_up", "back up", show=False, id="list.back_up", group=PAST),
    ]

    def action_back_up(self) -> None:
        """Copy the store, beside the screen."""
        door = door_of_now(self, "A backup")
        if door is None:
            return
        if not door.store.lasting:
            say(self, THROWN_AWAY)
            return
        self.app.backup_asked = True
        self.notice(BACKING_UP)
        self._back_up(door)

    @work(thread=True, group="backup")
    def _back_up(self, door: StoreDoor) -> None:
        """Whoever leaves meanwhile stops it, and has it made on the way out."""
        from armrise.store.database.sqlite_copy import Stopped

        worker = get_current_worker()  # pyright: ignore[reportUnknownVariableType]  # as Textual gives it
        try:
            made = door.back_up(lambda: worker.is_cancelled)
        except Stopped:
            return
        except Exception as error:
            self.app.call_from_thread(self._not_backed_up, str(error))
        else:
            self.app.call_from_thread(self._backed_up, made)

    def _backed_up(self, made: Made) -> None:
        from armrise.store.exchange.backup.make import in_one_line

        self.app.backup_asked = False
        self.read_again(in_one_line(made), sort=False)
        if made.faults:
            say(self, "\n".join(f"{fault}." for fault in made.faults))

    def _not_backed_up(self, why: str) -> None:
        self.app.backup_asked = False
        self.notice("not backed up")
        say(self, f"No backup was made: {why}.")
