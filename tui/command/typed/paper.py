"""``--paper FILE`` and ``--size``: what a command prints, as a page for paper."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.store.record.light import NamedTuple
from armrise.tui.command.reading import FILE, STANDARD_STREAM
from armrise.tui.command.typed.writing import put

if TYPE_CHECKING:
    from armrise.store.exchange.paper.page import Page

PAPER_HELP = (
    "As a page for paper, as the name ends: .html, or .pdf (needs the extra paper); - prints HTML, -.pdf PDF."
)
SIZE_HELP = "Of the paper of a PDF, A4 unless given."
SIZES = ("A4", "Letter")
A4 = SIZES[0]


class OnPaper(NamedTuple):
    """What was typed; ``file`` None: no page is wanted."""

    file: Path | None = None
    size: str = A4
    as_html: bool = False
    """Whatever the name ends in."""

    def put(self, page: Page, *, force: bool = False) -> None:
        """Write the page and say so, or put it out on the standard output. Raises a store error."""
        from armrise.store.exchange.paper.file import HTML, PDF, form_of, made

        assert self.file is not None, "asked for"
        name = str(self.file)
        form = HTML if self.as_html or name == STANDARD_STREAM else form_of(name)
        text, mark = made(page, form, self.size)
        piped = name in (STANDARD_STREAM, *(f"{STANDARD_STREAM}{ending}" for ending in (HTML, PDF)))
        put(Path(STANDARD_STREAM) if piped else self.file, text, page.kind, mark, force=force)


def on_paper(command: Callable[..., None]) -> Callable[..., None]:
    """The options of a command that can print on paper."""

    @click.option("--paper", type=FILE, metavar="FILE", help=PAPER_HELP)
    @click.option("--size", type=click.Choice(SIZES, case_sensitive=False), help=SIZE_HELP)
    @wraps(command)
    def with_paper(paper: Path | None, size: str | None, **rest: object) -> None:
        if size and paper is None:
            raise click.UsageError("--size is the size of the paper: give --paper FILE with it")
        command(paper=OnPaper(paper, size or A4), **rest)

    return with_paper
