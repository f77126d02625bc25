"""The store verified on the screen: a bar on the way, then everything that was found."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work
from textual.binding import BindingType
from textual.worker import Worker, get_current_worker  # pyright: ignore[reportUnknownVariableType]

from armrise.tui.shell.report import ReportScreen
from armrise.tui.shell.say import opened_door
from armrise.tui.widgets.pieces import BLANK, Piece

if TYPE_CHECKING:
    from armrise.store.verify.result import Verified
    from armrise.tui.shell.frame import Board
    from armrise.tui.shell.store_door import StoreDoor


class VerifiedScreen(ReportScreen):
    """Looks at the whole store, and tells what is right, what is wrong and what it cannot know."""

    READING: ClassVar[tuple[str, ...]] = (
        "Every page, row and action of the store is looked at: is it as it was written?",
        "The head stands for everything up to the newest action. It is printed in the minutes of the sweep "
        "and in the audit: whoever keeps these can tell a store that was made anew: armrise verify --expect "
        "and the head.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [*ReportScreen.BINDINGS]

    def __init__(self, board: Board, door: StoreDoor) -> None:
        super().__init__("Is the store as it was written?")
        self.board = board
        self.door = door

    def on_mount(self) -> None:
        """Begin."""
        super().on_mount()
        self._progress(0, 0)
        self.look()

    @work(thread=True, group="verifying", exclusive=True)
    def look(self) -> None:
        """Look at the store beside the screen, until somebody leaves it."""
        looking = cast("Worker[None]", get_current_worker())

        def tell(entries: int, of: int) -> None:
            if looking.is_cancelled:
                raise InterruptedError
            self.app.call_from_thread(self._progress, entries, of)

        try:
            found = self.door.verify(tell)
        except InterruptedError:
            return
        except Exception as error:
            self.app.call_from_thread(self._told, [Piece(str(error), "strong")])
            return
        self.app.call_from_thread(self._show, found)

    def _progress(self, entries: int, of: int) -> None:
        so_far = f"{entries:,} of {of:,} entries looked at ..." if of else "Looking at every page ..."
        self._told([Piece(so_far, "muted")])

    def _show(self, found: Verified) -> None:
        from armrise.store.verify.words import lines_of

        self.board.verified(found.sound)
        self._told(
            Piece(line.text, "strong" if line.head else "", indent=line.indent) if line.text else BLANK
            for line in lines_of(found)
        )

    def _told(self, pieces: Iterable[Piece]) -> None:
        if self.is_attached:
            self.tell(pieces)


def open_verified(board: Board) -> None:
    """Verify the store under the list."""
    if door := opened_door(board):
        board.app.push_screen(VerifiedScreen(board, door))
