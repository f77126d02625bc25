"""The handover sheet of the marked cases: copied as it is shown, and written to a file when asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding, BindingType

from armrise.tui.case.opened import COPIED, OpenedScreen
from armrise.tui.shell.clipboard import put
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.say import THROWN_AWAY
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.widgets.groups import DAY
from armrise.tui.widgets.pieces import BLANK, Account, Piece

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.exchange.out.plain_text import Heading


class HandoverScreen(OpenedScreen):
    """What a colleague who covers needs of the marked cases."""

    READING: ClassVar[tuple[str, ...]] = (
        "The marked cases for a colleague, by code alone: the sheet is in the clipboard as it stands here.",
        "Nothing is written about any case. The marks are yours; they stay until you take them away.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "export", "write the sheet to a file", id="handover.export", group=DAY),
    ]
    KEYS = "e writes it to a file   Esc back   F8 blank"

    def __init__(self, door: StoreDoor, standings: Sequence[Standing]) -> None:
        super().__init__("handover of the marked cases", [Piece("One moment ...")])
        self.door = door
        self.standings = standings
        self.sheet: tuple[Heading, list[Piece]] | None = None

    def on_mount(self) -> None:
        """Put it together beside the screen."""
        super().on_mount()
        self.read()

    @work(thread=True, group="handover", exclusive=True)
    def read(self) -> None:
        """The sheet, under the head of every listing."""
        from armrise.store.exchange.out.handover import as_text, handover_rows
        from armrise.store.exchange.out.plain_text import Heading

        try:
            newest = self.door.header()["data_until"]
            until = self.door.local(newest) if newest else None
            heading = Heading(self.door.today, self.door.fictional, until, self.door.rules)
            rows = list(handover_rows(self.standings, heading))
            text = as_text(self.standings, heading)
        except Exception as error:
            self.app.call_from_thread(self.tell, [Piece(in_a_sentence(error), "strong")])
            return
        pieces = [Piece(row.text, "strong" if row.head else "", indent=row.indent) for row in rows]
        self.app.call_from_thread(self.take, heading, pieces, text)

    def take(self, heading: Heading, pieces: list[Piece], text: str) -> None:
        """Show it, and put it into the clipboard."""
        if self.is_attached:
            self.sheet = (heading, pieces)
            put(self, text)
            self.say_first(COPIED)

    def say_first(self, told: str) -> None:
        """Show the sheet under one line of what became of it."""
        if self.sheet is not None:
            self.tell([Piece(told, "muted"), BLANK, *self.sheet[1]])

    def tell(self, pieces: list[Piece]) -> None:
        """Show these."""
        if self.is_attached:
            self.query_one(Account).tell(pieces)

    def action_export(self) -> None:
        """Write the sheet beside the store."""
        if self.sheet is not None:
            self.write(self.sheet[0])

    @work(thread=True, group="handover", exclusive=True)
    def write(self, heading: Heading) -> None:
        """Write the file, and beside it a page for paper; say where they lie."""
        from armrise.store.exchange.out.handover import as_text, handover_path, write_handover
        from armrise.store.exchange.paper.file import write_for_paper
        from armrise.store.exchange.paper.listings import handover_page

        path = handover_path(self.door.store, heading)
        try:
            write_handover(path, as_text(self.standings, heading))
            written = write_for_paper(path, handover_page(self.standings, heading))
            told = f"Written to {written}{'' if self.door.store.lasting else THROWN_AWAY}"
        except Exception as error:
            told = in_a_sentence(error)
        self.app.call_from_thread(self.say_first, told)
