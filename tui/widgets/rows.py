"""How a case becomes two lines of the list at a given width. Pure: text and the names of styles.

The widest arrangement that fits is taken. What is short of room is said shorter, then left out in the order
stage name, trend, "ago"; a number is never cut.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from rich.cells import cell_len

from armrise.tui.words import standing as words
from armrise.tui.words.standing import fit, plain

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing


class Span(NamedTuple):
    """A piece of a line and the name of its style: "", strong, muted, accent, loud or trend."""

    text: str
    style: str = ""


Line = list[Span]


@dataclass(frozen=True)
class Form:
    """One way to lay a row out."""

    gap: int
    gutter: int
    trend: int
    whole_words: bool
    stage_name: bool = True
    short_age: bool = True
    tiny: bool = False
    """Without "ago", and "31 over of 28"."""
    booked_first: bool = False
    """The next visit stands on the first line, not below the review."""


FORMS = (
    Form(gap=3, gutter=2, trend=14, whole_words=True, short_age=False, booked_first=True),
    Form(gap=2, gutter=2, trend=14, whole_words=True, short_age=False, booked_first=True),
    Form(gap=2, gutter=2, trend=7, whole_words=True, booked_first=True),
    Form(gap=2, gutter=2, trend=7, whole_words=True),
    Form(gap=2, gutter=2, trend=7, whole_words=False),
    Form(gap=2, gutter=1, trend=7, whole_words=False),
    Form(gap=2, gutter=1, trend=5, whole_words=False),
    Form(gap=1, gutter=1, trend=5, whole_words=False),
    Form(gap=1, gutter=1, trend=5, whole_words=False, stage_name=False),
    Form(gap=1, gutter=1, trend=0, whole_words=False, stage_name=False),
    Form(gap=1, gutter=1, trend=0, whole_words=False, stage_name=False, tiny=True),
)
LEAST_STAGE = 12
VERDICT_WIDTH = 9
PAIN_HEAD = ("during/later/", "next morning")


@dataclass(frozen=True)
class Cells:
    """The pieces of a case's two lines, in words, for one form."""

    code: str
    side: str
    stage: str
    day: str
    trend: str
    triple: str
    age: str
    review: str
    booked: str


@dataclass(frozen=True)
class Plan:
    """The chosen form and the width of each column."""

    form: Form
    width: int
    code: int
    side: int
    stage: int
    day: int
    triple: int
    age: int
    review: int
    booked: int
    ascii_only: bool = False

    @property
    def pain(self) -> int:
        """Width of the pain triple with its age."""
        return self.triple + 1 + self.age

    @property
    def review_at(self) -> int:
        """The column where the review begins."""
        f = self.form
        before = [self.code, self.side, self.stage, self.day, self.pain] + ([f.trend] if f.trend else [])
        return f.gutter + sum(before) + f.gap * len(before)

    @property
    def needed(self) -> int:
        """Cells that all columns take together."""
        last = self.form.gap + self.booked if self.form.booked_first else 0
        return self.review_at + self.review + last


def cells(standing: Standing, form: Form, ascii_only: bool) -> Cells:
    """The words of a case's columns."""
    short = not form.whole_words
    clean: Callable[[str], str] = plain if ascii_only else str
    age = words.ago(standing.pain.days_ago, short=form.short_age)
    review = words.review_shortly(standing) if short else words.review_column(standing)
    return Cells(
        code=clean(standing.code),
        side=standing.side,
        stage=clean(words.stage(standing) if form.stage_name else standing.stage or standing.pathway),
        day=words.days_shortly(standing) if short else words.days_in_stage(standing),
        trend=words.trend(standing.trend, form.trend, ascii_only=ascii_only),
        triple=words.triple(standing.pain),
        age=age.removesuffix(" ago") if form.tiny else age,
        review=clean(review.replace(" d over", " over") if form.tiny else review),
        booked=words.booked_column(standing, short=not form.booked_first),
    )


def plan(standings: Sequence[Standing], width: int, *, ascii_only: bool = False) -> Plan:
    """The widest form in which every one of these cases fits into ``width`` cells; else the narrowest."""
    chosen = None
    for form in FORMS:
        chosen = _measure(standings, form, width, ascii_only)
        if chosen.needed <= width:
            break
    assert chosen is not None
    return chosen


def _measure(standings: Sequence[Standing], form: Form, width: int, ascii_only: bool) -> Plan:
    every = [cells(s, form, ascii_only) for s in standings]

    def widest(name: str, least: int) -> int:
        return max([least, *(cell_len(getattr(c, name)) for c in every)])

    stage = widest("stage", 5)
    triple = widest("triple", 5)
    measured = Plan(
        form=form,
        width=width,
        code=widest("code", 6),
        side=5,
        stage=min(stage, LEAST_STAGE) if form.stage_name else stage,
        day=widest("day", 6),
        triple=triple,
        age=widest("age", len(PAIN_HEAD[0]) - triple - 1),
        review=max(widest("review", 10), 0 if form.booked_first else widest("booked", 11)),
        booked=widest("booked", 11),
        ascii_only=ascii_only,
    )
    spare = max(0, width - measured.needed)
    return replace(measured, stage=min(stage, measured.stage + spare))


def heads(p: Plan) -> tuple[Line, Line]:
    """The two lines of column heads."""
    f = p.form
    top: list[tuple[str, int]] = [("case", p.code), ("side", p.side), ("stage", p.stage)]
    low: list[tuple[str, int]] = []
    top.append(("day of" if not f.whole_words else "day in stage", p.day))
    low.append(("usual" if not f.whole_words else "of usual", p.day))
    if f.trend:
        top.append(("next", f.trend))
        low.append(("morning" if f.trend >= 7 else "morn.", f.trend))
    top.append((PAIN_HEAD[0], p.pain))
    low.append((PAIN_HEAD[1], p.pain))
    top.append(("review", p.review))
    low.append(("" if f.booked_first else "next visit", p.review))
    if f.booked_first:
        top.append(("next visit", p.booked))
    left = f.gutter + p.code + p.side + p.stage + 2 * f.gap
    start = " " * f.gutter + fit("verdict", VERDICT_WIDTH) + "  reason"
    return (
        [Span(fit(" " * f.gutter + _joined(top, f.gap), p.width), "muted")],
        [Span(fit(fit(start, left) + " " * f.gap + _joined(low, f.gap), p.width), "muted")],
    )


def _joined(columns: list[tuple[str, int]], gap: int) -> str:
    return (" " * gap).join(fit(text, width) for text, width in columns)


def first_line(standing: Standing, p: Plan) -> Line:
    """Code, side, stage, days, trend, pain with its age, review; the next visit where there is room."""
    c = cells(standing, p.form, p.ascii_only)
    gap = Span(" " * p.form.gap)
    line = [Span(fit(c.code, p.code), "strong"), gap, Span(fit(c.side, p.side)), gap]
    line += [Span(fit(c.stage, p.stage)), gap, *_day(c.day, p.day), gap]
    if p.form.trend:
        line += [Span(fit(c.trend, p.form.trend, right=True), "trend"), gap]
    pain_style = "strong" if standing.pain.date else "muted"
    line += [
        Span(fit(c.triple, p.triple, right=True), pain_style),
        Span(" " + fit(c.age, p.age), "muted"),
        gap,
    ]
    line.append(Span(fit(c.review, p.review), _review_style(standing)))
    if p.form.booked_first:
        line += [gap, Span(fit(c.booked, p.booked), _booked_style(standing))]
    return line


def _day(text: str, width: int) -> Line:
    """The days strong enough to read, the usual beside them quieter."""
    number, of, usual = text.partition(" of ")
    padded = " " * (width - cell_len(text)) + number
    return [Span(padded), Span(of + usual, "muted")]


def _review_style(standing: Standing) -> str:
    due = standing.review.due
    if standing.status in ("closed", "on hold") or due is None:
        return "muted"
    return "strong" if due <= standing.as_of else ""


def _booked_style(standing: Standing) -> str:
    return "" if standing.review.booked is None else "muted"


def second_line(standing: Standing, p: Plan, heading: str = "") -> Line:
    """The verdict in a word, and the reason; the next visit below the review where it has no column."""
    f = p.form
    text = words.why(standing)
    if heading and standing.tier != heading:
        text = f"now {words.TIER_HEADS[standing.tier]}: {text}"
    text = plain(text) if p.ascii_only else text
    verdict = fit(words.verdict_short(standing), VERDICT_WIDTH)
    start = f.gutter + VERDICT_WIDTH + 2
    end = p.width if f.booked_first else p.review_at - f.gap
    line = [Span(verdict, "strong" if verdict.startswith("READY") else "muted"), Span("  ")]
    line.append(Span(fit(text, end - start), _reason_style(standing)))
    if not f.booked_first:
        slot = fit(words.booked_column(standing, short=True), p.review)
        line += [Span(" " * f.gap), Span(slot, _booked_style(standing))]
    return line


def _reason_style(standing: Standing) -> str:
    placing = standing.placing
    if placing is None or placing.in_hand:
        return "muted"
    return "loud" if placing.tier == "today" else ""
