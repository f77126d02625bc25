"""The head of a case: which shoulder, where it stands, what comes next, and what everybody has to know."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from armrise.tui.widgets.bars import Head
from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.pieces import Account, Piece, laid
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing


def laid_head(standing: Standing | None, code: str, head: Head, width: int) -> list[Line]:
    """Two lines where they fit, more rather than leave anything out."""
    where = _where_it_stands(standing) if standing else code
    marks = "   ".join(mark for mark in _marks(head) if mark)
    lines = laid([Piece(where, "strong")], width)
    comes = _next(standing) if standing else ""
    if len(comes) + 2 + len(marks) <= width:
        lines.append([Span(comes), Span(f"{marks:>{width - len(comes)}}", "strong")])
    else:
        lines += laid([Piece(comes), Piece(marks, "strong")], width)
    return [*lines, *(laid([Piece(head.notice, "strong")], width) if head.notice else [])]


def _where_it_stands(s: Standing) -> str:
    """Code, side, stage and the days in it."""
    return f"{named(s)}, {words.days_in_full(s)}"


def named(s: Standing) -> str:
    """Code, side and stage: of which shoulder something is."""
    return f"{s.code} {s.side}  {words.stage(s)}"


def _next(s: Standing) -> str:
    if s.status == "closed":
        return s.verdict.line
    return f"{words.booked(s)}; review {words.review_words(s)}"


def _marks(head: Head) -> tuple[str, ...]:
    return (
        f"{words.plural(head.unwritten, 'form')} unwritten: N"
        if head.unwritten and not head.read_only
        else "",
        "READ ONLY" if head.read_only else "",
        words.FICTIONAL if head.fictional else "",
    )


class CaseHead(Account):
    """The head, as high as it is."""

    standing: Standing | None = None
    code = ""
    head = Head()

    def show_case(self, standing: Standing | None, code: str, head: Head) -> None:
        """Say where a case stands; None where it is on no list now."""
        if (standing, code, head) != (self.standing, self.code, self.head):
            self.standing, self.code, self.head = standing, code, replace(head)
            self.refresh(layout=True)

    def laid_out(self, width: int) -> list[Line]:
        clean = words.cleaner(ascii_only=ascii_terminal())
        lines = laid_head(self.standing, self.code, self.head, width - 2)
        return [[Span(" "), *(Span(clean(span.text), span.style) for span in line)] for line in lines]
