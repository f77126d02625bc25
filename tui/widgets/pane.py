"""The five-second view of one case, and the full account behind it. Pure text, and the pane that shows it.

What is in force stands first: limits, then the reason, the verdict and its first unmet criterion, the last
pain scores with their age, the next visit (practice notes 1.2).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widget import Widget

from tui import words
from tui.widgets.painted import ascii_terminal

if TYPE_CHECKING:
    from store.clinic.standing import CriterionResult, Reason, Standing

Piece = tuple[str, str]
"""Text and its style: "", head, strong, muted or loud."""

STYLES = {"": "", "head": "$accent", "strong": "bold", "muted": "$text-muted", "loud": "bold $accent"}


def five_seconds(s: Standing, signed: str = "") -> list[Piece]:
    """What has to be read at once about one case, most binding first."""
    pieces: list[Piece] = [(f"{s.code}  {s.side}", "strong")]
    pieces += _limits(s)
    pieces += [(words.stage(s), ""), (_days(s), "muted")]
    pieces += _top_reason(s)
    pieces += _verdict(s)
    pieces += _pain(s)
    pieces += [
        ("", ""),
        ("next visit", "head"),
        (words.booked(s) or "closed", "strong"),
        (_review(s), "muted"),
    ]
    pieces += [("", ""), *((text, "strong") for text in _cautions(s))]
    if signed:
        pieces.append((signed, "muted"))
    return pieces


def _limits(s: Standing) -> list[Piece]:
    if not s.limits:
        return [("no limits in force", "muted"), ("", "")]
    return [("limits in force", "head"), *((text, "strong") for text in s.limits), ("", "")]


def _days(s: Standing) -> str:
    parts = [words.days_in_stage(s)]
    if s.total_days_in_stage not in (None, s.days_in_stage):
        parts.append(f"{s.total_days_in_stage} in this stage in all")
    if s.onset_word and s.days_since_onset is not None:
        parts.append(f"day {s.days_since_onset} after {s.onset_word}")
    if s.status == "on hold" and s.hold_until is not None:
        parts.append(f"on hold until {words.day(s.hold_until, s.as_of)}")
    return ", ".join(parts)


def _top_reason(s: Standing) -> list[Piece]:
    placing = s.placing or next(iter(s.reasons), None)
    head: list[Piece] = [("", ""), (f"why here: {words.TIER_HEADS[s.tier].lower()}", "head")]
    if placing is None:
        return [*head, ("nothing asked", "")]
    style = "loud" if placing.tier == "today" and not placing.in_hand else "strong"
    more = len(s.reasons) - 1
    tail: list[Piece] = [(f"and {words.plural(more, 'further reason')}", "muted")] if more else []
    return [*head, (words.reason_line(placing, s.as_of), style), (_open(placing), "muted"), *tail]


def _open(reason: Reason) -> str:
    return "since today" if reason.days_open <= 0 else f"open {words.plural(reason.days_open, 'day')}"


def _verdict(s: Standing) -> list[Piece]:
    word = str(s.verdict.word)
    if word == "NONE":
        return []
    pieces: list[Piece] = [("", ""), ("ready to step forward?", "head"), (word, "strong")]
    if s.verdict.line and s.verdict.line.casefold() != word.casefold():
        pieces.append((s.verdict.line, ""))
    first = s.verdict.first_unmet
    if first is not None:
        pieces.append((f"{first.state}: {first.text}", ""))
        if first.needed:
            pieces.append((f"needed {first.needed}", "muted"))
        pieces.append((f"observed {words.observed(first, s.as_of)}", "muted"))
        if first.ask:
            pieces.append((f"record: {first.ask}", ""))
    return pieces


def _pain(s: Standing) -> list[Piece]:
    head: list[Piece] = [("", ""), ("pain: during / later / next morning", "head")]
    p = s.pain
    if p.date is None:
        return [*head, ("no session recorded", "strong")]
    told = " / ".join(words.said(score) for score in (p.during, p.later, p.morning))
    base = "no baseline yet" if p.baseline is None else f"baseline {p.baseline}"
    return [*head, (told, "strong"), (f"{words.on_and_ago(p.date, s.as_of)}; {base}", "muted")]


def _review(s: Standing) -> str:
    return f"review {words.review_words(s)}"


def _cautions(s: Standing) -> list[str]:
    return list(dict.fromkeys([*s.cautions, *s.verdict.cautions]))


def whole(s: Standing, above: str = "", signed: str = "") -> list[Piece]:
    """Everything that places a case and its verdict rests on; ``above``: why it stands above the next."""
    pieces = five_seconds(s, signed)
    if above:
        pieces += [("", ""), ("why above the next", "head"), (above, "")]
    pieces += [("", ""), (f"all reasons ({len(s.reasons)})", "head")]
    for reason in s.reasons:
        pieces += _reason(reason, s)
    if not s.reasons:
        pieces.append(("nothing asked", "muted"))
    pieces += _criteria(s)
    pieces += _rest(s)
    return pieces


def _reason(reason: Reason, s: Standing) -> list[Piece]:
    since = words.day(reason.since, s.as_of)
    facts = f"{reason.tier}; {_open(reason)}, since {since}; severity {reason.severity}"
    return [(words.reason_line(reason, s.as_of), "strong"), (f"  {facts}", "muted")]


def _criteria(s: Standing) -> list[Piece]:
    pieces: list[Piece] = []
    for title, results in (("in the way", s.verdict.blocks), ("to step forward", s.verdict.criteria)):
        if results:
            pieces += [("", ""), (title, "head")]
            for result in results:
                pieces += _criterion(result, s)
    return pieces


def _criterion(result: CriterionResult, s: Standing, indent: str = "") -> list[Piece]:
    style = "" if str(result.state) == "met" else "strong"
    pieces: list[Piece] = [(f"{indent}{result.state!s:<8} {result.text}", style)]
    inside = indent + " " * 9
    if result.needed:
        pieces.append((f"{inside}needed {result.needed}", ""))
    pieces.append((f"{inside}observed {words.observed(result, s.as_of)}", ""))
    if result.opens_on is not None:
        pieces.append((f"{inside}opens {words.day(result.opens_on, s.as_of)}", ""))
    if result.ask and str(result.state) != "met":
        pieces.append((f"{inside}record: {result.ask}", "strong"))
    if result.source:
        pieces.append((f"{inside}source: {result.source} ({result.status})", "muted"))
    for part in result.parts:
        pieces += _criterion(part, s, inside)
    return pieces


def _rest(s: Standing) -> list[Piece]:
    pieces: list[Piece] = []
    if s.verdict.also_missing:
        pieces += [("", ""), ("also missing", "head"), *((text, "") for text in s.verdict.also_missing)]
    pieces += [("", ""), (f"This verdict {s.verdict.not_considered}.", "muted")]
    if s.last_override:
        pieces.append((f"last override: {s.last_override}", "muted"))
    if s.linked:
        pieces.append((f"same person: {', '.join(s.linked)}", "muted"))
    pieces += [(text, "muted") for text in s.extra]
    return pieces


def content(pieces: list[Piece], *, ascii_only: bool = False) -> Content:
    """Pieces as lines in the styles of the theme."""
    lines = [
        Content.styled(words.plain(text) if ascii_only else text, STYLES[style]) for text, style in pieces
    ]
    return Content("\n").join(lines)


class Pane(Widget):
    """The five-second view beside the list."""

    standing: Standing | None = None
    signed = ""

    def show(self, standing: Standing | None, signed: str) -> None:
        """Show this case."""
        self.standing, self.signed = standing, signed
        self.refresh()

    def render(self) -> Content:
        """The case, or nothing."""
        if self.standing is None:
            return Content("")
        return content(five_seconds(self.standing, self.signed), ascii_only=ascii_terminal())
