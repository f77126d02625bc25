"""Charts of an audit as SVG: no colour says anything that a line, a letter or a word does not.

How a line looks stands beside it, since the same drawing goes onto a screen, into the dark and into a PDF.
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree.ElementTree import Element

from armrise.store.clinic.audit.share import Share
from armrise.store.clinic.audit.stages import StageTime
from armrise.store.exchange.paper.tree import element

WIDE, HIGH = 320, 170
INK = "currentColor"
Look = Mapping[str, str]
GRID: Look = {"stroke": INK, "stroke_opacity": "0.35", "stroke_width": "1"}
USUAL: Look = {"stroke": INK, "stroke_width": "1.5", "stroke_dasharray": "7 4"}
LONG: Look = {"stroke": INK, "stroke_width": "2", "stroke_dasharray": "2 4"}
CURVE: Look = {"stroke": INK, "stroke_width": "2.5", "fill": "none"}
TICK: Look = {"stroke": INK, "stroke_width": "1.2"}
LEFT, RIGHT, TOP, BOTTOM = 42, 12, 26, 26


def _chart(title: str, wide: int, high: int) -> Element:
    """An empty chart that says what it shows to somebody who does not see it."""
    svg = Element("svg", {"viewBox": f"0 0 {wide} {high}", "role": "img", "fill": INK, "font-size": "12"})
    svg.append(element("title", title))
    return svg


# --- how long stays last --------------------------------------------------------------------------------


def stay_curve(stage: StageTime) -> Element:
    """The step curve of one stage: usual and long days as upright lines, unfinished stays as ticks."""
    lines = ((stage.usual, "usual", USUAL), (stage.stall, "long", LONG))
    marks = [(p.days, word, line) for p, word, line in lines if p]
    end = max([stage.longest, *(int(days * 1.1) for days, _, _ in marks), 1])
    title = f"{stage.stage} {stage.name}: {stage.moved_on} of {stage.count} stays moved on, " + (
        f"half after {stage.median} days" if stage.median is not None else "half not reached"
    )
    svg = _chart(title, WIDE, HIGH)
    svg.append(element("text", f"{stage.stage} {stage.name}", x=LEFT, y=14, font_size=13, font_weight="bold"))
    for share, word in ((1.0, "all"), (0.5, "half"), (0.0, "none")):
        y = _down(share)
        svg.append(element("line", x1=LEFT, x2=WIDE - RIGHT, y1=y, y2=y, **GRID))
        svg.append(element("text", word, x=LEFT - 6, y=y + 4, text_anchor="end"))
    for days, word, line in marks:
        x = _across(days, end)
        svg.append(element("line", x1=x, x2=x, y1=TOP, y2=HIGH - BOTTOM, **line))
        svg.append(element("text", f"{word} {days}", x=x, y=HIGH - 10, text_anchor="middle"))
    points = " ".join(f"{_across(days, end)},{_down(share)}" for days, share in stage.curve)
    svg.append(element("polyline", points=points, **CURVE))
    for days in stage.censored:
        x, y = _across(days, end), _down(stage.level(days))
        svg.append(element("line", x1=x, x2=x, y1=y - 5, y2=y + 5, class_="tick", **TICK))
    return svg


def _across(days: float, end: int) -> float:
    return round(LEFT + days / end * (WIDE - LEFT - RIGHT), 1)


def _down(share: float) -> float:
    return round(HIGH - BOTTOM - share * (HIGH - TOP - BOTTOM), 1)


# --- counts of counts -----------------------------------------------------------------------------------

BAR, ROW, LABEL, BARS = 14, 26, 250, 640


def bars(title: str, rows: list[tuple[str, Share, str]]) -> Element:
    """A bar a row: an outline for all of them, filled as far as the count goes, and the words beside it."""
    svg = _chart(title, BARS, len(rows) * ROW + 8)
    room = BARS - LABEL - 170
    most = max([share.of for _, share, _ in rows] + [1])
    for number, (name, share, words) in enumerate(rows):
        y = 4 + number * ROW
        whole = round(share.of / most * room, 1)
        part = round(share.count / most * room, 1)
        svg.append(element("text", name, x=LABEL - 8, y=y + 12, text_anchor="end"))
        svg.append(element("rect", x=LABEL, y=y, width=whole, height=BAR, fill="none", stroke=INK))
        svg.append(element("rect", x=LABEL, y=y, width=part, height=BAR, fill=INK))
        svg.append(element("text", words, x=LABEL + whole + 8, y=y + 12))
    return svg
