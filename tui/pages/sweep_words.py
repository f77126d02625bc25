"""The weekly sweep put into words: the case to decide, and the minutes at its end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.actions.minutes import Minutes
    from armrise.store.clinic.actions.sweep import SweepCase

INDENT = 14
KEYS = "s seen   b rebook   p phone   h hold   d discharge   r refer"
SKIP = "Left one back, Enter the whole case"


def progress(made: Minutes) -> Piece:
    """ "3 of 11 decided" with as many marks as cases."""
    done, left = ("#", ".") if ascii_terminal() else ("■", "□")
    marks = done * made.closed + left * len(made.remaining)
    return Piece(f"{made.closed} of {made.total} decided   {marks}", "accent")


def case_pieces(made: Minutes, case: SweepCase, told: str) -> list[Piece]:
    """One case: why it is here, what was tried, and what to mind."""
    s = case.standing
    held = "   on hold" if s.status == "on hold" else ""
    pieces = [progress(made)]
    if told:
        pieces.append(Piece(told, "muted"))
    pieces += [
        BLANK,
        Piece(f"{s.code} {s.side}   {words.stage(s)}   {words.days_in_stage(s)}{held}", "strong"),
        BLANK,
    ]
    for number, reason in enumerate(case.reasons):
        lead = "Why here" if number == 0 else "also"
        pieces.append(Piece(words.reason_line(reason, s.as_of), lead=lead, indent=INDENT))
    facts = (("Last contact", case.contact), ("Attempts", case.tried), ("Slot", case.booked))
    # What to mind comes before the facts: on a small screen the end may lie below the fold.
    pieces += [Piece(text, "strong", lead="Mind", indent=INDENT) for text in case.guards]
    pieces += [Piece(text, lead=lead, indent=INDENT) for lead, text in facts]
    return pieces


def key_pieces(made: Minutes, at: int) -> list[Piece]:
    """The decisions, always in sight under the case; and how to go on without one."""
    place = f"case {at + 1} of {len(made.remaining)} that remain"
    return [
        Piece(KEYS, "strong", lead="Decide one", indent=INDENT),
        Piece(f"{place}; {SKIP}", "muted", indent=INDENT),
    ]


def end_pieces(made: Minutes, told: str) -> list[Piece]:
    """The minutes on the screen, under the word that nothing is left when nothing is."""
    from armrise.store.exchange.out.minutes import minute_rows

    first = "Zero left: no case is undecided." if not made.remaining else "Minutes so far."
    if not made.total:
        first = "Nothing to sweep: no case is overdue, silent or missed."
    again = "m back to the cases" if made.remaining else "m writes them again"
    keys = f"{again}   Esc to the list"
    pieces = [progress(made), Piece(first, "strong"), Piece(keys, "muted")]
    if told:
        pieces.append(Piece(told))
    rows = (Piece(row.text, "strong" if row.head else "", indent=row.indent) for row in minute_rows(made))
    return [*pieces, BLANK, *rows]
