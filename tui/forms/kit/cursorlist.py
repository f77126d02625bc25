"""A list of paragraphs with a cursor: headings between, the chosen one marked by a sign and not by colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region
from textual.message import Message

from armrise.store.record.light import dataclass
from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.pieces import Account, Piece, laid

MARK = ">"


@dataclass(frozen=True)
class Block:
    """Some paragraphs that the cursor takes together; without a ``key`` it passes them by."""

    pieces: tuple[Piece, ...]
    key: str = ""


class CursorList(Account, can_focus=True):
    """Blocks one under the other; up and down move between those that have a key, Enter chooses."""

    DEFAULT_CSS = "CursorList { height: auto; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", "up", show=False, id="cursor.up"),
        Binding("down,j", "move(1)", "down", show=False, id="cursor.down"),
        Binding("home", "move(-999)", "first", show=False, id="cursor.first"),
        Binding("end", "move(999)", "last", show=False, id="cursor.last"),
        Binding("enter", "choose", "choose", show=False, id="cursor.choose"),
    ]

    class Moved(Message):
        """The cursor is on another block."""

    class Chosen(Message):
        """Enter on a block."""

    def __init__(self, *, key: str) -> None:
        super().__init__(id=key)
        self.blocks: Sequence[Block] = ()
        self.at = ""

    def hold(self, blocks: Sequence[Block]) -> None:
        """Show these; the cursor stays on its block while it is there."""
        keys = [b.key for b in blocks if b.key]
        if self.at not in keys:
            self.at = keys[0] if keys else ""
        self.blocks = blocks
        self.paint()

    def paint(self) -> None:
        """Mark the block under the cursor, and bring it into sight."""
        pieces: list[Piece] = []
        for block in self.blocks:
            marked = bool(block.key) and block.key == self.at
            for number, piece in enumerate(block.pieces):
                first = block.key and not number
                pieces.append(piece._replace(lead=MARK if marked else "", indent=2) if first else piece)
        self.tell(pieces)
        self.call_after_refresh(self.into_sight)

    def into_sight(self) -> None:
        """Scroll so far that the whole block is seen."""
        top, width = 0, self.size.width
        for block in self.blocks:
            height = len(laid(block.pieces, width, ascii_only=ascii_terminal()))
            if block.key and block.key == self.at and self.parent is not None:
                region = Region(0, top, width, height)
                self.scroll_visible_region(region)
            top += height

    def scroll_visible_region(self, region: Region) -> None:
        """Bring a part of the list into sight of what scrolls it."""
        if self.parent is not None and hasattr(self.parent, "scroll_to_region"):
            self.parent.scroll_to_region(region, animate=False, force=True)  # type: ignore[attr-defined]

    def action_move(self, by: int) -> None:
        """To another block, and not past the ends."""
        keys = [b.key for b in self.blocks if b.key]
        if not keys:
            return
        to = max(0, min(len(keys) - 1, keys.index(self.at) + by))
        self.at = keys[to]
        self.paint()
        self.post_message(self.Moved())

    def action_choose(self) -> None:
        """Enter."""
        if self.at:
            self.post_message(self.Chosen())

    def on_click(self, event: events.Click) -> None:
        """The block under the pointer."""
        top = 0
        for block in self.blocks:
            top += len(laid(block.pieces, self.size.width, ascii_only=ascii_terminal()))
            if event.y < top:
                if block.key:
                    self.at = block.key
                    self.paint()
                    self.post_message(self.Moved())
                return
