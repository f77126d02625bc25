"""Text on its way out: every sign that a terminal would obey, hide or pile up is shown as what it is.

A sign of direction can make "left" read as "right", an invisible one can make two codes look alike, and a
control sign moves the cursor. What may be taken in is decided elsewhere
(:mod:`armrise.store.entries.words`); this is for whatever is there by then, from a store, a file, a name or
the environment. It is shown by its code point, as ``<U+202E>``.

The categories are those of the Unicode character database (UAX #44) as :mod:`unicodedata` has them: controls,
formats (the directions of UAX #9 and what has no width among them), line and paragraph separators, private,
unassigned and lone surrogate code points are not printable to Python. What is printable to it and yet has no
look of its own is named in :data:`UNSEEN`.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

MARKS_AT_MOST = 4
"""Combining marks on one letter, by design: scripts in use need three or four, a flood covers other lines."""

UNSEEN = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u2800\u3164\uffa0")
"""Letters and marks that show nothing (Default_Ignorable_Code_Point), and the empty braille cell."""

CHOOSERS = "\ufe0e\ufe0f"
"""Choose between the plain and the coloured look of the sign before them: lawful after a symbol, once."""

_OWN = re.compile(
    "[ -~\u00a0-\u00ac\u00ae-\u02ff\u0386-\u038a\u038c\u038e-\u03a1\u03a3-\u0481"
    "\u2010-\u2027\u2030-\u205e\u20a0-\u20bf\u2150-\u218b\u2190-\u2426\u2460-\u27ff\u2900-\u2b73]*"
)
"""What the program itself prints, and Latin, Greek and Russian letters: nothing in these spans is hostile."""


def visible(text: str) -> str:
    """``text`` on one line, with ``<U+...>`` for every sign that would be obeyed, unseen or piled up.

    Letters of any script, spaces and emoji stay as they are. Text that holds no such sign is returned itself.
    """
    if (text.isascii() and text.isprintable()) or _OWN.fullmatch(text):
        return text
    found = "".join(_shown(text))
    return text if found == text else found


def fits_a_line(sign: str) -> bool:
    """True for a sign that an entry may hold: a letter, a sign or a space, of one line."""
    from unicodedata import category

    return sign.isprintable() or category(sign) == "Zs"


def on_one_line(text: str) -> str:
    """``text`` with ``<U+...>`` for what no entry may hold; whatever may be recorded stays as it is."""
    if text.isprintable():  # as nearly every text of a list that is in a hurry
        return text
    return "".join(sign if fits_a_line(sign) else f"<U+{ord(sign):04X}>" for sign in text)


def visible_lines(text: str) -> str:
    """As :func:`visible`, line by line: for text that the program itself has broken into lines."""
    return "\n".join(map(visible, text.split("\n")))


def _shown(text: str) -> Iterator[str]:
    from unicodedata import category

    marks, before = MARKS_AT_MOST, ""  # a mark at the beginning would stand on what was printed before
    for sign in text:
        kind = category(sign)
        if kind in ("Mn", "Me") and sign not in UNSEEN and not "\ufe00" <= sign <= "\ufe0f":
            marks += 1
            clear = marks <= MARKS_AT_MOST and sign < "\U000e0100"
        else:
            marks = 0
            clear = (sign.isprintable() or kind == "Zs") and sign not in UNSEEN
            clear &= not "\ufe00" <= sign <= "\ufe0f" or _chooses(sign, before)
        yield sign if clear else f"<U+{ord(sign):04X}>"
        before = kind


def _chooses(sign: str, before: str) -> bool:
    """True for a sign that chooses the look of a symbol, a digit or an asterisk before it (emoji keycaps)."""
    return sign in CHOOSERS and before in ("So", "Sm", "Sc", "Sk", "Nd", "Po")
