"""Pieces of a document onto sheets of paper, in order: what is kept together, what is said again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace


def _nothing(_: float) -> None:
    """Draws nothing: room left free."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What is never parted by a sheet, in mm. ``draw`` is told how far from the upper edge it begins."""

    high: float
    draw: Callable[[float], None] = _nothing
    tied: bool = False
    """On the same sheet as the piece after it, where that is possible."""
    space: bool = False
    """Left out where a sheet begins."""
    fresh: bool = False
    """Begins a sheet."""
    again: tuple[Piece, ...] = field(default=())
    """Drawn above it where it begins a sheet: the head of its table."""


def tied(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces kept together, where they fit a sheet at all."""
    return [*(replace(piece, tied=True) for piece in pieces[:-1]), *pieces[-1:]]


@dataclass(slots=True)
class Sheets:
    """Sheets being filled between ``top`` and ``bottom``, in mm from the upper edge."""

    top: float
    bottom: float
    placed: list[list[tuple[float, Piece]]] = field(default_factory=lambda: [[]])
    y: float = 0

    def __post_init__(self) -> None:
        self.y = self.top

    def fill(self, pieces: Sequence[Piece]) -> list[list[tuple[float, Piece]]]:
        """Where each piece lies, sheet by sheet."""
        for run in _runs(pieces):
            high = sum(piece.high for piece in run)
            again = sum(piece.high for piece in run[0].again)
            if run[0].fresh or (self.y + high > self.bottom and self.top + again + high <= self.bottom):
                self._turn(run[0])
            for piece in run:
                self._put(piece)
        return self.placed

    def _put(self, piece: Piece) -> None:
        if piece.space and not self.placed[-1]:
            return
        if self.y + piece.high > self.bottom and not piece.space:
            self._turn(piece)
        self.placed[-1].append((self.y, piece))
        self.y += piece.high

    def _turn(self, piece: Piece) -> None:
        """Begin a sheet, unless this one is empty, with the head of what goes on."""
        if self.placed[-1]:
            self.placed.append([])
            self.y = self.top
            for head in piece.again:
                self.placed[-1].append((self.y, head))
                self.y += head.high


def _runs(pieces: Sequence[Piece]) -> Iterator[list[Piece]]:
    run: list[Piece] = []
    for piece in pieces:
        run.append(piece)
        if not piece.tied:
            yield run
            run = []
    if run:
        yield run
