"""One case in full as pieces of text: what has to be read at once, then everything it rests on."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from armrise.tui.case import mornings
from armrise.tui.case.table import missing_first, stands_in_table
from armrise.tui.widgets.pane import cautions, how_long
from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import CriterionResult, Reason, Standing
    from armrise.tui.case.reading import CaseReading

LEAD = 9
STATE = 9
STILL = "reading the record ..."
WEIGHT = {"REFER": "strong", "STEP BACK ADVISED": "strong", "READY": "", "UNKNOWN": ""}
"""How heavy a verdict is printed: what harms if it is missed above the good news, NOT YET quiet."""


def at_once(
    s: Standing, do: str = "", reading: CaseReading | None = None, *, charted: bool = False
) -> list[Piece]:
    """What to do, limits, why, what waits for an answer, pain, verdict; ``charted``: mornings are drawn."""
    told = [limit for limit in by_order(s.limits) if not stands_in_table(limit, s)]
    limits = [Piece(text, "strong") for text in told] or [Piece("none in force", "muted")]
    waiting = [Piece(text, "strong") for text in (reading.messages if reading else ())]
    parts = [
        ("do", [Piece(do, "strong")] if do else []),
        ("limits", limits),
        ("why", _why(s)),
        ("message", waiting),
        ("pain", _pain(s, charted=charted)),
        (
            "verdict",
            [Piece(verdict_line(s), WEIGHT.get(str(s.verdict.word), "muted"))] if verdict_line(s) else [],
        ),
    ]
    return [piece for lead, part in parts for piece in _led(lead, part)]


def further(
    s: Standing, above: str = "", signed: str = "", reading: CaseReading | None = None
) -> list[Piece]:
    """Everything else that is known of a case and its verdict; ``above``: why it stands above the next.

    ``reading`` is what the whole record adds; None while it is being read.
    """
    pieces = [*_led("caution", [Piece(text) for text in cautions(s)]), *_from_record(reading)]
    if above:
        pieces += [BLANK, Piece("why above the next", "head"), Piece(above)]
    pieces += [BLANK, Piece(f"all reasons ({len(s.reasons)})", "head")]
    pieces += [piece for reason in s.reasons for piece in _reason(reason, s)] or [
        Piece("nothing asked", "muted")
    ]
    return [*pieces, *_minded(reading), *_rest(s, signed, reading)]


def opened(result: CriterionResult, s: Standing, reading: CaseReading | None, inset: int = 0) -> list[Piece]:
    """One criterion opened up: what is observed and needed, when, its pace, what to record, source, parts."""
    met = str(result.state) == "met"
    inside = inset + STATE
    pieces = [Piece(result.text, "" if met else "strong", " " * inset + str(result.state), inside)]
    lines = [] if result.parts else [Piece("; ".join(words.asked_and_seen(result, s.as_of)))]
    if reading and result in reading.paces:
        lines.append(Piece(reading.paces[result].line))
    if result.ask and not met and result.ask != result.text:
        lines.append(Piece(f"record: {result.ask}", "strong"))
    if result.source:
        known = result.source == result.status
        lines.append(Piece(f"source: {result.source}{'' if known else f' ({result.status})'}", "muted"))
    pieces += [piece._replace(indent=inside) for piece in lines]
    for part in result.parts:
        pieces += opened(part, s, reading, inside)
    return pieces


def with_entries(result: CriterionResult, s: Standing, reading: CaseReading | None) -> list[Piece]:
    """A criterion opened up, and the entries it was judged by."""
    kept = reading.behind.get(result, ()) if reading else ()
    lines = [Piece(STILL)] if reading is None else [Piece(text, "", "-", 2) for text in kept]
    head = [BLANK, Piece("judged by, newest first", "head")] if lines else []
    return [*opened(result, s, reading), *head, *lines]


def _led(lead: str, part: Sequence[Piece]) -> list[Piece]:
    return [piece._replace(lead="" if n else lead, indent=LEAD) for n, piece in enumerate(part)]


def _why(s: Standing) -> list[Piece]:
    """The reason that places the case whole, and the names of the others."""
    placing = s.placing or next(iter(s.reasons), None)
    if placing is None:
        asked = s.status == "active" and s.verdict.criteria
        return [Piece("nothing asked", "muted") if asked else Piece(words.why(s))]
    style = "loud" if placing.tier == "today" and not placing.in_hand else "strong"
    others = ", ".join(reason.name for reason in s.reasons if reason is not placing)
    also = [Piece(f"also {others}", "muted")] if others else []
    return [Piece(words.with_attempt(placing, s), style), *also]


def _pain(s: Standing, *, charted: bool) -> list[Piece]:
    p = s.pain
    if p.date is None:
        return [Piece(words.spoken_scores(p))]
    usual = "no baseline yet" if p.baseline is None else f"baseline {p.baseline}"
    last = Piece(f"{words.spoken_scores(p)}; {words.ago(p.days_ago)}, {usual}")
    silent = p.days_ago is not None and p.days_ago >= len(s.trend) and not mornings.told(s)
    return [last] if charted or silent else [last, Piece(mornings.in_numbers(s))]


PARTS = re.compile(r"[:,] ")
"""Between the parts of a verdict's sentence."""
ORDERED = re.compile(
    r"(?P<limit>.*) \((?P<order>surgeon's order of [^()]*)\)|order of (?P<day>[^:]*): (?P<text>.*)"
)
"""A limit that an order set, and an order's own words."""


def by_order(limits: Sequence[str]) -> list[str]:
    """Limits that one order set next to each other on one line behind its name; the others as they are."""
    lines: list[str] = []
    last = ""
    for limit in limits:
        found = ORDERED.fullmatch(limit)
        order = (found["order"] or f"surgeon's order of {found['day']}") if found else ""
        said = (found["limit"] or found["text"]).rstrip(".") if found else limit
        if order and order == last:
            lines[-1] += f"; {said}"
        else:
            lines.append(f"{order}: {said}" if order else said)
        last = order
    return lines


def verdict_line(s: Standing) -> str:
    """The verdict with what it rests on beside the rows of the table, or with the one thing to see to first.

    Empty where the word alone is to be said, at the head of the table, and where there is no verdict: what
    the reason above it or the first row below it says is not said again.
    """
    word, line = str(s.verdict.word), s.verdict.line
    if word == "UNKNOWN" and s.verdict.also_missing:
        first = s.verdict.also_missing[0]
        return "" if missing_first(s)[0].text == first else f"{word}, first to settle: {first}"
    if word in ("NOT YET", "NONE") or all(part in words.why(s) for part in PARTS.split(line)):
        return ""
    return f"{word}: {line}" if line else ""


def _from_record(reading: CaseReading | None) -> list[Piece]:
    """What changed since the last look, and what to say to the patient."""
    changed = Piece(STILL if reading is None else reading.changed)
    said = ["..."] if reading is None else list(reading.say) or ["nothing: the case is closed"]
    return [*_led("changed", [changed]), *_led("say this", [Piece(text) for text in said])]


def _reason(reason: Reason, s: Standing) -> list[Piece]:
    """A reason with its tier and how long it has been true; the top one, said above, by its name."""
    since = f", since {words.day(reason.since, s.as_of)}" if reason.days_open > 0 else ""
    said = reason.name if reason is s.placing else words.reason_line(reason, s.as_of)
    return [Piece(said, "strong"), Piece(f"{reason.tier}; {how_long(reason)}{since}", "muted", indent=2)]


def _minded(reading: CaseReading | None) -> list[Piece]:
    """What the rule file says to mind in the stage and the pathway."""
    if reading is None or not reading.precautions:
        return []
    return [BLANK, Piece("to mind in this stage and pathway", "head"), *map(Piece, reading.precautions)]


def _rest(s: Standing, signed: str, reading: CaseReading | None) -> list[Piece]:
    pieces = [BLANK]
    if reading and reading.own_past_cases:
        pieces.append(Piece(reading.own_past_cases))
    if s.verdict.also_missing:
        pieces.append(Piece(f"also missing: {'; '.join(s.verdict.also_missing)}"))
    pieces.append(Piece(f"This verdict {s.verdict.not_considered}.", "muted"))
    if s.last_override:
        pieces.append(Piece(f"last override: {s.last_override}", "muted"))
    if s.linked:
        pieces.append(Piece(f"same person: {', '.join(s.linked)}", "muted"))
    return pieces + [Piece(text, "muted") for text in (*s.extra, signed) if text]
