"""The five-second view of one case as pieces of text.

What is in force stands first: limits, then the reason, the verdict and its first unmet criterion, the last
pain scores with their age, the next visit (practice notes 1.2).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from armrise.store.clinic.standing.do_words import NO_KEYS
from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.widgets.rows import VERDICT_STYLES
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import CriterionResult, Reason, Standing

LEAD = 8
DECIDED = ("REFER", "STEP BACK ADVISED")
"""Verdicts that rest on more than the first criterion not met: their own line says why."""
SOURCE = r" \([^()]*\)$"
"""Where a limit comes from, in brackets at its end: left out where lines are short, printed in the pane."""


def five_seconds(s: Standing, signed: str = "", keys: Mapping[str, str] = NO_KEYS) -> list[Piece]:
    """What has to be read at once about one case, most binding first, for a narrow column."""
    pieces = [Piece(f"{s.code}  {s.side}", "strong"), BLANK]
    for title, part in sections(s, keys):
        lead = title.split()[0].rstrip(":")
        pieces += [_led(lead if n == 0 else "", piece, LEAD) for n, piece in enumerate(part)]
        pieces.append(BLANK)
    pieces += [Piece(text, "strong") for text in cautions(s)]
    return [*pieces, Piece(signed, "muted")] if signed else pieces


def compact(
    s: Standing,
    signed: str = "",
    indent: int = LEAD,
    *,
    keys: Mapping[str, str] = NO_KEYS,
    joined: bool = False,
) -> list[Piece]:
    """The same in the fewest lines, each part beside the word that leads it (``indent`` 0: before it).

    ``joined``: the limits one behind the other, not one below the other.
    """
    stage = words.stage(s) if indent else s.stage or words.stage(s)
    limits = [re.sub(SOURCE, "", text) for text in s.limits]
    limits = ["; ".join(text.rstrip(".") for text in limits)] if joined and limits else limits
    pieces = [Piece(f"{s.code} {s.side}  {stage}, {words.days_in_full(s)}", "strong")]
    parts = [
        ("limits", [Piece(text, "limit") for text in limits] or [Piece("none in force", "muted")]),
        ("do", _do(s, keys)),
        ("why", _top_reason(s)[:1]),
        ("verdict", _verdict_shortly(s)),
        ("pain", [Piece(_pain_shortly(s))]),
        ("next", [Piece("; ".join(piece.text for piece in _next(s)), "strong")]),
        ("caution", [Piece(text) for text in cautions(s)]),
        ("", [Piece(signed, "muted")] if signed else []),
    ]
    for lead, part in parts:
        pieces += [_led(lead if n == 0 else "", piece, indent) for n, piece in enumerate(part)]
    return pieces


def _led(lead: str, piece: Piece, indent: int) -> Piece:
    if indent:
        return piece._replace(lead=lead, indent=indent)
    return piece._replace(text=f"{lead}: {piece.text}" if lead else piece.text)


def _verdict_shortly(s: Standing) -> list[Piece]:
    word = str(s.verdict.word)
    if word == "NONE":
        return []
    first = s.verdict.first_unmet
    if first is None or first in s.verdict.blocks or word in DECIDED:
        return [Piece(words.verdict_told(s.verdict))]
    asked = f"; record: {first.ask}" if first.ask and str(first.state) != "met" else ""
    return [Piece(f"{word}: {first.text}{asked}")]


def _pain_shortly(s: Standing) -> str:
    p = s.pain
    told = words.spoken_scores(p)
    return told if p.date is None else f"{told}; {words.ago(p.days_ago)}, {_baseline(s)}"


def _baseline(s: Standing) -> str:
    return "no baseline yet" if s.pain.baseline is None else f"baseline {s.pain.baseline}"


def sections(s: Standing, keys: Mapping[str, str] = NO_KEYS) -> list[tuple[str, list[Piece]]]:
    """The five-second view in its order, each part with the words that lead it."""
    parts = [
        ("limits in force", [Piece(text, "limit") for text in s.limits] or [Piece("none", "muted")]),
        ("do", _do(s, keys)),
        ("stage", [Piece(words.stage(s)), Piece(words.days_in_full(s), "muted")]),
        (f"why: {words.TIER_HEADS[s.tier].lower()}", _top_reason(s)),
        ("verdict", _verdict(s)),
        ("pain", _pain(s)),
        ("next visit", _next(s)),
    ]
    return [(title, part) for title, part in parts if part]


def _do(s: Standing, keys: Mapping[str, str]) -> list[Piece]:
    told = words.do_line(s, keys)
    return [Piece(told, "strong")] if told else []


def _top_reason(s: Standing) -> list[Piece]:
    placing = s.placing or next(iter(s.reasons), None)
    if placing is None:
        return [Piece(words.why(s))]
    style = "loud" if placing.tier == "today" and not placing.in_hand else "strong"
    more = len(s.reasons) - 1
    also = f"; {words.plural(more, 'further reason')}" if more else ""
    return [
        Piece(words.with_attempt(placing, s), style),
        Piece(how_long(placing) + also, "muted", spare=1),
    ]


def how_long(reason: Reason) -> str:
    """How long a reason has been true."""
    return "since today" if reason.days_open <= 0 else f"open {words.plural(reason.days_open, 'day')}"


def _verdict(s: Standing) -> list[Piece]:
    word = str(s.verdict.word)
    if word == "NONE":
        return []
    pieces = [Piece(word, VERDICT_STYLES.get(words.verdict_short(s), "muted"))]
    if s.verdict.line and s.verdict.line.casefold() != word.casefold():
        pieces.append(Piece(s.verdict.line))
    first = s.verdict.first_unmet
    if first is None or (not first.needed and f"{first.text}: {first.observed}" in s.verdict.line):
        return pieces
    return pieces + _first_unmet(first, s)


def _first_unmet(first: CriterionResult, s: Standing) -> list[Piece]:
    pieces = [Piece(f"{first.state}: {first.text}")]
    pieces += [Piece(text, "muted", spare=1) for text in words.asked_and_seen(first, s.as_of)]
    if first.ask and str(first.state) != "met" and first.ask != first.text:
        pieces.append(Piece(f"record: {first.ask}"))
    return pieces


def _pain(s: Standing) -> list[Piece]:
    p = s.pain
    if p.date is None:
        return [Piece(words.spoken_scores(p), "strong")]
    return [
        Piece(words.spoken_scores(p), "strong"),
        Piece(f"{words.on_and_ago(p.date, s.as_of)}; {_baseline(s)}", "muted"),
    ]


def _next(s: Standing) -> list[Piece]:
    return [Piece(words.booked(s) or "closed", "strong"), Piece(f"review {words.review_words(s)}", "muted")]


def cautions(s: Standing) -> list[str]:
    """The cautions of the case and of its verdict, each once."""
    return list(dict.fromkeys([*s.cautions, *s.verdict.cautions]))
