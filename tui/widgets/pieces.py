"""Text about one case as pieces: what each says, how loud, under which word, and whether it can be spared."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap

from textual.geometry import Size

from armrise.store.record.light import NamedTuple
from armrise.tui.widgets.painted import Painted, ascii_terminal
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words


class Piece(NamedTuple):
    """A paragraph. ``lead`` stands before it in ``indent`` columns, in which its further lines hang."""

    text: str
    style: str = ""
    lead: str = ""
    indent: int = 0
    spare: int = 0
    """0 always shown, 1 a detail, 2 an empty line: where room is short 2 goes first, then 1."""


BLANK = Piece("", spare=2)
MORE = "more: Enter"


def laid(pieces: Iterable[Piece], width: int, *, ascii_only: bool = False) -> list[Line]:
    """The pieces broken into lines of at most ``width`` cells, with hanging indents."""
    lines: list[Line] = []
    for piece in pieces:
        clean = words.cleaner(ascii_only=ascii_only)
        text = clean(piece.text)
        parts = wrap(text, max(10, width - piece.indent), break_on_hyphens=False) or [""]
        for number, part in enumerate(parts):
            lead = clean(piece.lead) if number == 0 else ""
            lines.append([Span(words.fit(lead, piece.indent), "label"), Span(part, piece.style)])
    return lines


def fitted(pieces: Sequence[Piece], width: int, height: int, *, ascii_only: bool = False) -> list[Line]:
    """As :func:`laid`, in at most ``height`` lines: what can be spared goes first, and a cut says so."""
    lines: list[Line] = []
    for most in (2, 1, 0):
        lines = laid([p for p in pieces if p.spare <= most], width, ascii_only=ascii_only)
        if len(lines) <= height:
            return lines
    return [*lines[: max(0, height - 1)], [Span(MORE, "strong")]]


def cut(lines: Sequence[Line]) -> bool:
    """True when :func:`fitted` had to leave something essential out."""
    return bool(lines) and lines[-1][0].text == MORE


class Account(Painted):
    """Pieces on the screen, as high as they are."""

    pieces: Sequence[Piece] = ()

    def tell(self, pieces: Sequence[Piece]) -> None:
        """Show these; where they are shown already, nothing is laid out or painted."""
        if pieces != self.pieces:
            self.pieces = pieces
            self.refresh(layout=True)

    def laid_out(self, width: int) -> list[Line]:
        return laid(self.pieces, width, ascii_only=ascii_terminal())

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self.laid(width))


class FittedAccount(Account):
    """Pieces in the room there is; shorter ones where the first do not fit."""

    shorter: Sequence[Piece] = ()

    def tell(self, pieces: Sequence[Piece], shorter: Sequence[Piece] = ()) -> None:
        """Show ``pieces``, or ``shorter`` where even their essentials do not fit, at the height it has."""
        if (pieces, shorter) != (self.pieces, self.shorter):
            self.pieces, self.shorter = pieces, shorter
            self.show_changed()

    def laid_out(self, width: int) -> list[Line]:
        height, plain = self.size.height, ascii_terminal()
        lines = fitted(self.pieces, width, height, ascii_only=plain)
        return fitted(self.shorter, width, height, ascii_only=plain) if self.shorter and cut(lines) else lines

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return container.height


class Beneath(Account):
    """What is known of a case, in the rows that a form about it leaves empty.

    As many whole pieces as there is room for, the first ones first: a cut limit would be another one.
    """

    DEFAULT_CSS = "Beneath { height: 1fr; margin-top: 1; }"

    def laid_out(self, width: int) -> list[Line]:
        """The pieces that fit."""
        lines: list[Line] = []
        for piece in self.pieces:
            part = laid([piece], width, ascii_only=ascii_terminal())
            if len(lines) + len(part) > self.size.height:
                break
            lines += part
        return lines

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The room there is."""
        return container.height
