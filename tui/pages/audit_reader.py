"""Counting an audit beside the screen, and writing it as a file."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from textual import work
from textual.screen import Screen
from textual.worker import get_current_worker  # pyright: ignore[reportUnknownVariableType]

from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import THROWN_AWAY, say
from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.pieces import Account, Piece
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.audit.period import Audit
    from armrise.tui.shell.store_door import StoreDoor

CURVES = 2
"""The page of the curves."""


class StoppedError(Exception):
    """Nobody waits for this audit any more."""


class AuditReader(Framed, Screen[None]):
    """A screen that counts in a worker and is told by :meth:`take`."""

    made: Audit | None = None
    number = 1

    def __init__(self, door: StoreDoor) -> None:
        super().__init__()
        self.door = door
        self.as_table = self.no_charts = ascii_terminal()

    def take(self, made: Audit) -> None:
        """Show what was counted."""
        raise NotImplementedError

    @work(thread=True, group="audit", exclusive=True)
    def count(self, first: date, last: date) -> None:
        """Read every case in full, some at a time, until somebody leaves or asks for another period."""
        from armrise.store.clinic.audit.period import Period

        # Textual does not say what its workers give
        worker = get_current_worker()  # pyright: ignore[reportUnknownVariableType]

        def tell(done: int, of: int) -> None:
            if worker.is_cancelled:
                raise StoppedError
            self.app.call_from_thread(self._progress, done, of)

        try:
            made = self.door.audit(Period(first, last, self.door.today), tell)
            self.load_charts()
        except StoppedError:
            return
        except Exception as error:
            self.app.call_from_thread(self._failed, in_a_sentence(error))
            return
        self.app.call_from_thread(self.take, made)

    def load_charts(self) -> None:
        """Load what draws the curves, here in the worker, once it is wanted."""
        if self.number == CURVES and not self.no_charts:
            try:
                import armrise.tui.charts.plot  # noqa: F401  # pyright: ignore[reportUnusedImport]
            except ImportError:
                self.as_table = self.no_charts = True

    def _progress(self, done: int, of: int) -> None:
        if self.is_attached and self.made is None:
            told = Piece(f"Counting: {done} of {words.plural(of, 'case')} ... Esc stops.", "muted")
            self.query_one("#audit-text", Account).tell([told])

    def _failed(self, told: str) -> None:
        if self.is_attached:
            told = f"The audit cannot be counted: {told}"
            self.query_one("#audit-text", Account).tell(
                [Piece(told, "strong"), Piece("Esc goes back.", "muted")]
            )

    @work(thread=True, group="audit file", exclusive=True)
    def export(self, made: Audit) -> None:
        """Write the whole audit as a page, and say where it lies."""
        from armrise.store.exchange.out.plain_text import Heading
        from armrise.store.exchange.paper.audit import audit_page, audit_path
        from armrise.store.exchange.paper.file import write_for_paper

        door = self.door
        try:
            head = door.header()
            heading = Heading(door.today, door.fictional, head["data_until"], door.rules)
            path = audit_path(door.store, made)
            written = write_for_paper(path, audit_page(made, heading))
            told = f"Audit written to {written}{'' if door.store.lasting else THROWN_AWAY}"
        except Exception as error:
            told = in_a_sentence(error)
        self.app.call_from_thread(say, self, told)
