"""The last gate before the screen: every line of every widget passes it, whatever made the line.

What lays text out makes it visible before (:func:`armrise.store.record.visible.visible`), so that it has the
room it needs. Here a sign that was missed is shown in the room its piece had: cut at its end, and nothing raw
is sent.
"""

from __future__ import annotations

from rich.cells import set_cell_size
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from armrise.store.record.visible import visible


class Gate(LineFilter):
    """Lets nothing through that a terminal would obey, hide or pile up."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The segments themselves, where every sign in them can be seen."""
        for segment in segments:
            if visible(segment.text) is not segment.text:
                return [_seen(one) for one in segments]
        return segments


def _seen(segment: Segment) -> Segment:
    text = visible(segment.text)
    if text is segment.text:
        return segment
    return Segment(set_cell_size(text, segment.cell_length), segment.style)


GATE = Gate()
