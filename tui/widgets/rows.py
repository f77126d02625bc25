"""How a case becomes the lines of its row. Pure: text and the names of styles.

A row of TODAY or HARM IF LEFT says its reason whole, and so does the row under the cursor; every other is one
line. The reason begins beside the verdict and goes on below, over the whole width. A number is never cut.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from rich.cells import cell_len, chop_cells

from armrise.store.record.light import NamedTuple
from armrise.tui.widgets.columns import GUTTER, SIDE, VERDICT, Plan
from armrise.tui.words import standing as words
from armrise.tui.words.standing import cleaner, fit

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing


class Span(NamedTuple):
    """A piece of a line and the name of its style, as :data:`armrise.tui.widgets.painted.INKS` has them."""

    text: str
    style: str = ""


Line = list[Span]


class Look(NamedTuple):
    """How a row is to be seen."""

    heading: str
    """The tier under whose heading it stands."""
    opened: bool = False
    """Under the cursor: whole, and with what the columns have no room for."""
    compact: bool = False
    """One line a case, in every tier."""
    gone: bool = False
    """The case has left the list; the row stays until it is sorted."""
    keys: Mapping[str, str] = {}
    """The keys of what there is to do."""


WHOLE = ("today", "harm if left")
"""The tiers in which no reason is cut."""
NOTHING = "none"
"""The tier of cases that ask for nothing now: a reason in hand there says so itself."""
BEGIN = 12
"""A reason does not begin in less room than this beside the verdict, but on the line below."""
APART = 2
"""Blank cells between a reason and the visit at the end of its line."""
DO = "do: "
VERDICT_STYLES = {"REFER": "strong", "STEP BACK": "strong", "READY": ""}
"""The others are quiet."""
SIDE_STYLES = {"LEFT": "left", "RIGHT": "right"}


def heads(p: Plan, heading: Line) -> Line:
    """The fixed line over the rows: the heading of the tier in sight, then what the columns hold."""
    line, at = [*heading], length(heading) + 1
    for start, text in _heads(p):
        if start > at:
            at = length(line)
            line += [Span(" " * (start - at)), Span(text, "muted")]
            at = start + cell_len(text)
    return line


def _heads(p: Plan) -> list[tuple[int, str]]:
    """The name of each column and where it begins, the gutter counted."""
    at, found = GUTTER, list[tuple[int, str]]()
    names = [
        "at",
        "",
        "",
        "stage" if p.name else "",
        "",
        "day of" if p.usual else "day",
        "morning",
        "pain",
        "",
        "verdict",
    ]
    for (width, gap), name in zip(p.columns, names, strict=True):
        found += [(at, name)] if name and width else []
        at += width + gap if width else 0
    found.append((at, "reason"))
    at = p.width - sum(column + p.gap for column in (p.review, p.booked) if column)
    for width, name in ((p.review, "review"), (p.booked, "next visit")):
        found += [(at + p.gap, name)] if width else []
        at += width + p.gap if width else 0
    return found


def one_line(standing: Standing, p: Plan, look: Look) -> bool:
    """True for a row that is one line, whatever it has to say."""
    if look.opened or look.compact:
        return not look.opened
    return not (p.hour or look.heading in WHOLE or standing.tier in WHOLE)


def case_lines(standing: Standing, p: Plan, look: Look) -> list[Line]:
    """The lines of a row beside the gutter: one, or as many as it takes to say it whole."""
    style = _reason_style(standing, look)
    if look.opened:
        return _opened(standing, p, look, style)
    if one_line(standing, p, look):
        short = _unsaid(_told(standing, p, look, words.why_shortly(standing, named=False)), standing)
        return [_first(standing, p, Span(shortened(short, p.reason), style))]
    text = _told(standing, p, look, words.why_shortly(standing, named=bool(p.trend)))
    visits = _visits(standing, p)
    parts, at = _placed(text, p, length(visits))
    lines = [_first(standing, p, Span(parts[0], style)), *([Span(part, style)] for part in parts[1:])]
    _end(lines, at, visits, p)
    return [*lines, *_doing(standing, p, look)] if p.hour else lines


def _doing(standing: Standing, p: Plan, look: Look) -> list[Line]:
    """What to do about the case, over the whole width."""
    if not (do := words.do_line(standing, look.keys)):
        return []
    told = folded(_clean(p)(do), p.body - len(DO), p.body - len(DO))
    return [[Span(" " * len(DO) if n else DO, "label"), Span(part, "strong")] for n, part in enumerate(told)]


def _opened(standing: Standing, p: Plan, look: Look, style: str) -> list[Line]:
    """The whole reason, what to do about it, and review and visit as far as they have no column."""
    parts = folded(_told(standing, p, look, words.why(standing)), _beside(p, 0), p.body)
    lines = [_first(standing, p, Span(parts[0], style)), *([Span(part, style)] for part in parts[1:])]
    ends = [len(lines) - 1]
    if do := _doing(standing, p, look):
        lines += do
        ends.append(len(lines) - 1)
    _end_somewhere(lines, [at for at in ends if at], _visits_whole(standing, p), p)
    return lines


def _end_somewhere(lines: list[Line], ends: list[int], parts: list[Span], p: Plan) -> None:
    """Put review and visit where they cost no line, at need without the stage's name; else on their own."""
    bare = [part for part in parts if part.style != "label"]
    for visits in (_apart(parts), _apart(bare)):
        for at in ends if visits else ():
            if length(lines[at]) + APART + length(visits) <= p.body:
                _end(lines, at, visits, p)
                return
    visits = _apart(parts) if length(_apart(parts)) <= p.body else _apart(bare)
    if visits:
        lines.append([])
        _end(lines, len(lines) - 1, visits, p)


def _apart(parts: list[Span]) -> Line:
    """The parts with blanks between them."""
    return [span for part in parts for span in (Span(" " * APART), part)][1:]


def _told(standing: Standing, p: Plan, look: Look, text: str) -> str:
    """The words of the reason; where the case stands under another heading than its own they say so."""
    if look.gone:
        text = f"{standing.status}: off the list with the next sort"
    elif standing.tier != look.heading:
        head, answered = words.TIER_HEADS[standing.tier], any(reason.in_hand for reason in standing.reasons)
        text = f"now {head}: {text}" if standing.tier != NOTHING else text if answered else f"{head}: {text}"
    return _clean(p)(text)


def _unsaid(text: str, standing: Standing) -> str:
    """The reason without what the verdict beside it says already: READY, "to step forward"."""
    verdict = words.verdict_short(standing)
    said = verdict and text.casefold().startswith(f"{verdict.casefold()} ")
    return text[len(verdict) + 1 :] if said else text


def shortened(text: str, width: int) -> str:
    """``text`` in ``width`` cells, cut between two words: half a number would be another one."""
    if cell_len(text) <= width:
        return text
    kept = folded(text, width - 1, width)[0]
    return f"{kept.rstrip(',;:')}…" if kept else fit(text, width)


def folded(text: str, first: int, width: int) -> list[str]:
    """``text`` in lines of ``width`` cells; the first has ``first``, and stays empty if no word fits."""
    lines, room = [""], first
    for word in text.split():
        for part in chop_cells(word, width) if cell_len(word) > width else [word]:
            longer = f"{lines[-1]} {part}".lstrip()
            if cell_len(longer) <= room:
                lines[-1] = longer
            else:
                lines.append(part)
                room = width
    return lines


def _placed(text: str, p: Plan, visits: int) -> tuple[list[str], int]:
    """The reason in lines, and at the end of which of them the visit stands: the last, or else the first."""
    parts = folded(text, _beside(p, 0), p.body)
    room = p.body if len(parts) > 1 else _beside(p, 0)
    if not visits or room - cell_len(parts[-1]) >= visits + APART:
        return parts, len(parts) - 1
    return folded(text, _beside(p, visits + APART), p.body), 0


def _beside(p: Plan, taken: int) -> int:
    """The room of a reason beside the verdict without ``taken`` cells at its end; 0 if it is too little."""
    room = p.ends - p.reason_at - taken
    return room if room >= BEGIN else 0


def _first(standing: Standing, p: Plan, reason: Span) -> Line:
    """The columns, the beginning of the reason, and review and next visit where they have columns."""
    line = [*_columns(standing, p), reason._replace(text=fit(reason.text, p.ends - p.reason_at))]
    gap = Span(" " * p.gap)
    if p.review:
        review = _clean(p)(words.review_shortly(standing))
        line += [gap, Span(fit(review, p.review), _review_style(standing))]
    if p.booked:
        line += [gap, Span(fit(words.booked_shortly(standing), p.booked), _booked_style(standing))]
    return line


def _columns(standing: Standing, p: Plan) -> Line:
    """Code, side, stage, days, trend, pain with its age, verdict."""
    clean, pain = _clean(p), standing.pain
    day = words.days_shortly(standing) if p.usual else words.days_alone(standing)
    verdict = words.verdict_short(standing)
    trend = words.trend(standing.trend, p.trend, ascii_only=p.ascii_only)
    spans: list[Line] = [
        [Span(fit(words.hour_today(standing), p.hour), "strong")],
        [Span(fit(clean(standing.code), p.code), "strong")],
        [Span(fit(standing.side, SIDE), SIDE_STYLES.get(standing.side, ""))],
        [Span(fit(clean(standing.stage or standing.pathway), p.stage))],
        [Span(fit(clean(standing.stage_name), p.name), "muted")],
        _day(day, p.day),
        [Span(fit(trend, p.trend, right=True), "trend")],
        [Span(fit(words.triple(pain), p.triple, right=True), "strong" if pain.date else "muted")],
        [Span(fit(words.age_shortly(pain.days_ago), p.age), "muted")],
        [Span(fit(verdict, VERDICT), VERDICT_STYLES.get(verdict, "muted"))],
    ]
    columns = zip(p.columns, spans, strict=True)
    return [span for (width, gap), part in columns if width for span in (*part, Span(" " * gap))]


def _day(text: str, width: int) -> Line:
    """The days strong enough to read, the usual beside them quieter."""
    number, of, usual = text.partition(" of ")
    padded = " " * (width - cell_len(text)) + number
    return [Span(padded), Span(of + usual, "muted")]


def _visits(standing: Standing, p: Plan) -> Line:
    """The next visit, where it has no column of its own."""
    told = "" if p.booked or p.hour else words.booked_shortly(standing)
    return [Span(told, _booked_style(standing))] if told else []


def _visits_whole(standing: Standing, p: Plan) -> list[Span]:
    """Stage by name, review, and the next visit with its hour: what the columns of this width leave out."""
    clean, parts = _clean(p), list[Span]()
    if standing.stage_name and cell_len(standing.stage_name) > p.name:
        parts.append(Span(clean(words.stage(standing)), "label"))
    if not p.review and standing.status not in ("closed", "waiting"):
        parts.append(Span(f"review {clean(words.review_shortly(standing))}", _review_style(standing)))
    today = standing.review.booked == standing.as_of
    booked = words.booked_shortly(standing) if today else words.booked(standing)
    if booked and not ((p.booked or p.hour) and booked == words.booked_shortly(standing)):
        parts.append(Span(booked, _booked_style(standing)))
    return parts


def _end(lines: list[Line], at: int, visits: Line, p: Plan) -> None:
    """Put the visit at the right end of that line."""
    if visits:
        edge = p.ends if at == 0 else p.body
        lines[at] = _without_blanks(lines[at], edge - length(visits) - APART) if at == 0 else lines[at]
        lines[at] = [*lines[at], Span(" " * (edge - length(lines[at]) - length(visits))), *visits]


def _without_blanks(line: Line, width: int) -> Line:
    """The first line without the blanks that fill its last column."""
    return [*line[:-1], line[-1]._replace(text=fit(line[-1].text.rstrip(), width - length(line[:-1])))]


def length(line: Line) -> int:
    """The cells of a line."""
    return sum(cell_len(span.text) for span in line)


def _clean(p: Plan) -> Callable[[str], str]:
    return cleaner(ascii_only=p.ascii_only)


def _review_style(standing: Standing) -> str:
    due = standing.review.due
    if standing.status in ("closed", "on hold") or due is None:
        return "muted"
    return "strong" if due <= standing.as_of else ""


def _booked_style(standing: Standing) -> str:
    return "" if standing.review.booked is None else "muted"


def _reason_style(standing: Standing, look: Look) -> str:
    placing = standing.placing
    if look.gone or placing is None or placing.in_hand:
        return "muted"
    return "today" if placing.tier == "today" else ""
