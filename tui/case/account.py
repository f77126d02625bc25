"""One case in full as pieces of text: five seconds, what is new, what to say, every rule behind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.tui.widgets.pane import LEAD, compact, how_long
from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from armrise.store.clinic.case.standing import CriterionResult, Reason, Standing
    from armrise.store.clinic.verdict.pace import Projection
    from armrise.tui.case.reading import CaseReading

STATE = 9
STILL = "reading the record ..."


def whole(s: Standing, above: str = "", signed: str = "", reading: CaseReading | None = None) -> list[Piece]:
    """Everything that places a case and its verdict rests on; ``above``: why it stands above the next.

    ``reading`` is what the whole record adds; None while it is being read.
    """
    pieces = [*compact(s, signed, sources=True), BLANK, *_from_record(reading)]
    if above:
        pieces += [BLANK, Piece("why above the next", "head"), Piece(above)]
    pieces += [BLANK, Piece(f"all reasons ({len(s.reasons)})", "head")]
    for reason in s.reasons:
        pieces += _reason(reason, s)
    if not s.reasons:
        pieces.append(Piece("nothing asked", "muted"))
    return [*pieces, *_criteria(s, reading), *_minded(reading), *_rest(s)]


def _from_record(reading: CaseReading | None) -> list[Piece]:
    """What waits for an answer, what changed since the last look, and what to say to the patient."""
    waiting = reading.messages if reading else ()
    came = [Piece(text, "strong", "" if n else "message", LEAD) for n, text in enumerate(waiting)]
    changed = Piece(STILL if reading is None else reading.changed, lead="changed", indent=LEAD)
    said = ["..."] if reading is None else list(reading.say) or ["nothing: the case is closed"]
    lines = [Piece(text, lead="" if n else "say this", indent=LEAD) for n, text in enumerate(said)]
    return [*came, changed, *lines]


def _minded(reading: CaseReading | None) -> list[Piece]:
    """What the rule file says to mind in the stage and the pathway."""
    if reading is None or not reading.precautions:
        return []
    return [BLANK, Piece("to mind in this stage and pathway", "head"), *map(Piece, reading.precautions)]


def _reason(reason: Reason, s: Standing) -> list[Piece]:
    since = f", since {words.day(reason.since, s.as_of)}" if reason.days_open > 0 else ""
    facts = f"{reason.tier}; {how_long(reason)}{since}; severity {reason.severity}"
    return [Piece(words.reason_line(reason, s.as_of), "strong"), Piece(facts, "muted", indent=2)]


def _criteria(s: Standing, reading: CaseReading | None) -> list[Piece]:
    pieces: list[Piece] = []
    paces: Mapping[CriterionResult, Projection] = reading.paces if reading else {}
    for title, results in (("in the way", s.verdict.blocks), ("to step forward", s.verdict.criteria)):
        if results:
            pieces += [BLANK, Piece(title, "head")]
            for result in results:
                pieces += criterion(result, s, paces)
    if reading and reading.own_past_cases:
        pieces.append(Piece(reading.own_past_cases))
    return pieces


def criterion(
    result: CriterionResult, s: Standing, paces: Mapping[CriterionResult, Projection], inset: int = 0
) -> list[Piece]:
    """One criterion opened up: state, needed, observed and when, at what pace, what to record, source."""
    met = str(result.state) == "met"
    inside = inset + STATE
    pieces = [Piece(result.text, "" if met else "strong", " " * inset + str(result.state), inside)]
    pieces.append(Piece("; ".join(words.asked_and_seen(result, s.as_of)), "", indent=inside))
    if result in paces:
        pieces.append(Piece(paces[result].line, "", indent=inside))
    if result.ask and not met and result.ask != result.text:
        pieces.append(Piece(f"record: {result.ask}", "strong", indent=inside))
    if result.source:
        pieces.append(Piece(f"source: {result.source} ({result.status})", "muted", indent=inside))
    for part in result.parts:
        pieces += criterion(part, s, paces, inside)
    return pieces


def _rest(s: Standing) -> list[Piece]:
    pieces: list[Piece] = []
    if s.verdict.also_missing:
        pieces += [BLANK, Piece("also missing", "head"), *(Piece(text) for text in s.verdict.also_missing)]
    pieces += [BLANK, Piece(f"This verdict {s.verdict.not_considered}.", "muted")]
    if s.last_override:
        pieces.append(Piece(f"last override: {s.last_override}", "muted"))
    if s.linked:
        pieces.append(Piece(f"same person: {', '.join(s.linked)}", "muted"))
    return pieces + [Piece(text, "muted") for text in s.extra]
