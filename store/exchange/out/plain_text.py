"""The morning list and one case as plain text: whole sentences that a screen reader can follow, no boxes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, cast

from armrise.store.clinic.case.standing import CriterionResult, Reason, Standing, Truth, Word
from armrise.store.record.fields import Absence
from armrise.store.rules.figure import MEMORY
from armrise.store.rules.pathway import TIERS, Rules

WIDTH = 80
CAUTIONS = (
    "Local codes and licensed practice prevail; surgeon's orders prevail.",
    "This list supports clinical judgement and never replaces it.",
    "The red-flag list is a prompt, not a rule-out.",
)
OVERDUE = ("OVD1", "OVD2")
"""Reasons whose sentence says how late the review is, so that it is not said twice."""
TIER_WORDS = {TIERS[-1]: "nothing asked"}


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands above the cases.

    ``data_until`` is the newest recorded instant on the clinic's clock; ``cut`` says that entries recorded
    after ``as_of`` are left out, or after the instant ``at`` on the clinic's clock where one is given.
    """

    as_of: date
    fictional: bool
    data_until: datetime | None
    rules: Rules
    clinic: str = ""
    cut: bool = False
    at: datetime | None = None


def as_text(standings: Sequence[Standing], heading: Heading, empty: str = "") -> str:
    """The list as plain text of at most 80 columns: a heading a tier, a paragraph a case.

    ``empty`` is what an empty list says instead of its own sentence.
    """
    return "\n".join(_text(standings, heading, empty or "No case is on the list.")) + "\n"


def _text(standings: Sequence[Standing], heading: Heading, empty: str) -> Iterator[str]:
    yield from headline(heading)
    yield from counts(standings)
    if not standings:
        yield ""
        yield from wrapped(empty, "")
    for tier in TIERS:
        cases = [s for s in standings if s.tier == tier]
        if cases:
            yield ""
            yield f"{tier_word(tier).upper()} ({len(cases)})"
        for standing in cases:
            yield from case_lines(standing)
    yield ""
    yield from CAUTIONS


def headline(heading: Heading) -> Iterator[str]:
    """The lines above every listing: fictional or not, the clinic date, how new the data are, the rules."""
    if heading.fictional:
        yield "FICTIONAL CASELOAD: nobody in it exists."
    until = heading.data_until
    data = f"data as of {until:%H:%M} on {spoken_day(until.date())}" if until else "nothing recorded yet"
    if heading.cut:
        then = f"at {heading.at:%H:%M} on {spoken_day(heading.at.date())}" if heading.at else "then"
        data = f"as known {then}, what was recorded later left out"
    yield from wrapped(f"armrise, {spoken_day(heading.as_of, year=True)}, {data}", "")
    yield f"Rules version {heading.rules.version}, {heading.rules.sign_off}"


def counts(standings: Sequence[Standing]) -> Iterator[str]:
    """How many cases of each state and, on a line of its own, of each tier."""
    words = (
        ("active", "active"),
        ("on hold", "on hold"),
        ("closed", "closed and owing"),
        ("waiting", "waiting"),
    )
    states = [(sum(s.status == status for s in standings), word) for status, word in words]
    yield ", ".join(f"{number} {word}" for number, word in states if number or word in ("active", "on hold"))
    yield ", ".join(f"{sum(s.tier == tier for s in standings)} {tier_word(tier)}" for tier in TIERS)


def tier_word(tier: str) -> str:
    """A tier as the list heads it."""
    return TIER_WORDS.get(tier, tier)


def case_lines(s: Standing) -> list[str]:
    """A case in three sentences, wrapped where long: where it stands, why it is here, and the review."""
    stage = f"{s.stage} {_days(s)}" if s.stage else "not placed"
    facts = [f"{s.code} {s.side}, {stage}", pain_words(s), verdict_words(s)]
    lines = wrapped("; ".join(fact for fact in facts if fact), "  ")
    told = s.placing is not None and s.placing.code in OVERDUE
    for sentence in (why(s), "" if told else review_words(s)):
        lines += wrapped(sentence, "     ", "     ") if sentence else []
    return lines


def _days(s: Standing) -> str:
    if s.days_in_stage is None:
        return s.status
    usual = f", usual {s.usual_days}" if s.usual_days is not None else ""
    return f"day {s.days_in_stage}{usual}"


def pain_words(s: Standing) -> str:
    """The last pain triple with its age, during, later and next morning in that order."""
    triple = (s.pain.during, s.pain.later, s.pain.morning)
    if s.pain.date is None or all(score is None for score in triple):
        return "no pain scores"
    scores = " ".join("?" if score is None or isinstance(score, Absence) else str(score) for score in triple)
    return f"pain {scores}, {ago(s.pain.days_ago)}"


def ago(days: int | None) -> str:
    """An age in days, as people say it."""
    if days is None:
        return "undated"
    return "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"


def review_words(s: Standing) -> str:
    """When the review is due or how late it is, and what is booked."""
    if s.status == "closed" or s.review.due is None:
        return ""
    booked = f"booked {spoken_day(s.review.booked)}" if s.review.booked else "none booked"
    if s.review.overdue_days > 0:
        return f"{_plural(s.review.overdue_days)} overdue of {s.review.interval}, {booked}"
    left = (s.review.due - s.as_of).days
    return f"due {'today' if left <= 0 else f'in {_plural(left)}'}, {booked}"


def _plural(days: int) -> str:
    return f"{days} day" if days == 1 else f"{days} days"


def verdict_words(s: Standing) -> str:
    """The verdict word; a closed case has none and says that it is closed."""
    if s.verdict.word is not Word.NONE:
        return s.verdict.word.value
    return "CLOSED" if s.status == "closed" else ""


def why(s: Standing) -> str:
    """The sentence of the reason that places the case, and the names of the others."""
    first = s.placing or (s.reasons[0] if s.reasons else None)
    if first is None:
        return s.verdict.line
    others = [r for r in s.reasons if r is not first]
    also = f"; also {', '.join(_other(r) for r in others)}" if others else ""
    return f"{reason_words(first)}{also}"


def _other(reason: Reason) -> str:
    return f"{reason.name} (in hand)" if reason.in_hand else reason.name


def reason_words(reason: Reason) -> str:
    """A reason's name and sentence, and the answer it is in hand with."""
    sentence = reason.sentence.rstrip(".")
    words = sentence if sentence.startswith(reason.name) else f"{reason.name}: {sentence}"
    if reason.in_hand_until is None:
        return words
    action = f", {reason.in_hand_action}" if reason.in_hand_action else ""
    return f"{words}, in hand until {spoken_day(reason.in_hand_until)}{action}"


def as_case_text(details: dict[str, Any], standing: Standing, heading: Heading) -> str:
    """Everything worked out for one case as plain text: the short view first, then every part of it."""
    return "\n".join(_case_text(details, standing, heading)) + "\n"


def _case_text(details: dict[str, Any], s: Standing, heading: Heading) -> Iterator[str]:
    yield from headline(heading)
    yield ""
    name = f"{s.pathway_name}, {s.stage} {s.stage_name}" if s.stage else s.pathway_name
    yield from wrapped(f"{s.code} {s.side}, {name}", "")
    for limit in s.limits:
        yield from wrapped(limit, "  ")
    yield from case_lines(s)
    verdict = details["verdict"]
    rows = (*verdict["blocks"], *verdict["criteria"])
    for criterion, row in zip((*s.verdict.blocks, *s.verdict.criteria), rows, strict=True):
        yield from criterion_lines(criterion, row)
    if details["clocks"]["own_past_cases"]:
        yield from wrapped(details["clocks"]["own_past_cases"], "  ")
    yield from wrapped(f"Not considered: {s.verdict.not_considered}", "  ")
    yield from programme_lines(details["programme"])
    yield ""
    yield "EVERYTHING WORKED OUT"
    yield from outline(details)
    yield ""
    yield from CAUTIONS


def criterion_lines(c: CriterionResult, row: Mapping[str, Any]) -> list[str]:
    """One criterion opened: its state, what was needed and observed and when, what to ask, its source.

    ``row`` is the same as plain data, with the pace of what is not met yet.
    """
    state = c.state.value.upper() if c.state is Truth.UNKNOWN else c.state.value
    seen = f"observed {c.observed or 'nothing'}" + (
        f" on {c.observed_on.isoformat()}" if c.observed_on else ""
    )
    ask = f"record: {c.ask}" if c.ask and c.state is not Truth.MET else ""
    parts = [f"{state}: {c.text}", f"needed {c.needed}" if c.needed else "", seen, ask]
    lines = wrapped(f"{'; '.join(part for part in parts if part)} [{_trusted(c)}]", "  ")
    lines += _pace(row)
    for part, inner in zip(c.parts, row.get("parts", ()), strict=True):
        lines += [*wrapped(f"{part.state.value}: {part.text}", "    "), *_pace(inner, "  ")]
    return lines


def _pace(row: Mapping[str, Any], indent: str = "") -> list[str]:
    return wrapped(row["pace"]["line"], f"    {indent}") if "pace" in row else []


def _trusted(c: CriterionResult) -> str:
    """The source of a criterion, and how far it may be trusted where its words do not say."""
    return c.source if c.source == c.status or MEMORY in c.source else f"{c.source}; {c.status}"


def programme_lines(items: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Each exercise of the home programme with the dose proposed for it and why; nothing without one."""
    if items:
        yield ""
        yield "HOME PROGRAMME"
    for item in items:
        proposal = item["proposal"]
        dose = f" {proposal['dose']['words']}" if proposal["dose"] else ""
        first = proposal["not_before"]
        when = f", not before {spoken_day(date.fromisoformat(first))}" if first else ""
        told = f"{proposal['reason']}{when}"
        if proposal["condition"] and proposal["condition"] not in told:
            told += f"; {proposal['condition']}"
        yield from wrapped(f"{item['exercise']}, {item['dose']['words']}, {item['class_name']}", "  ")
        yield from wrapped(f"proposed: {proposal['word']}{dose}: {told}", "    ")


def outline(value: Mapping[str, Any] | Sequence[Any], indent: str = "") -> Iterator[str]:
    """Nested facts as indented lines. A numbered group begins with its bare facts on one line."""
    numbered = not isinstance(value, Mapping)
    for key, part in _members(value):
        name = key.replace("_", " ")
        groups = [inner for inner in _members(part) if _is_group(inner[1])] if _is_group(part) else []
        if not _is_group(part):
            yield from wrapped(f"{name}: {plain(part)}", indent)
        elif not groups:
            yield from wrapped(f"{name}: {_flat(_members(part), part)}", indent)
        elif numbered and isinstance(part, Mapping):
            bare = [inner for inner in _members(cast("Mapping[str, Any]", part)) if not _is_group(inner[1])]
            yield from wrapped(f"{name}: {_flat(bare, dict(bare))}", indent)
            yield from outline(dict(groups), indent + "    ")
        else:
            yield f"{indent}{name}"
            yield from outline(part, indent + "  ")


def _is_group(value: Any) -> bool:
    return isinstance(value, (dict, list, tuple)) and bool(cast("Sequence[Any]", value))


def _members(value: Mapping[str, Any] | Sequence[Any]) -> list[tuple[str, Any]]:
    if isinstance(value, Mapping):
        return list(value.items())
    return [(str(number), part) for number, part in enumerate(value, 1)]


def _flat(members: Sequence[tuple[str, Any]], of: Mapping[str, Any] | Sequence[Any]) -> str:
    """Bare facts on one line; those that are not known are named at its end, so that blank is not silent."""
    if not isinstance(of, Mapping):
        return "; ".join(plain(part) for _, part in members)
    known = ", ".join(f"{_name(key)} {plain(part)}" for key, part in members if part is not None)
    unknown = ", ".join(_name(key) for key, part in members if part is None)
    return "; ".join(part for part in (known, f"unknown: {unknown}" if unknown else "") if part)


def _name(key: str) -> str:
    return key.replace("_", " ")


def plain(value: Any) -> str:
    """A bare value as a word."""
    if value is None:
        return "unknown"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value) if value != "" and value != [] and value != {} else "none"


def wrapped(text: str, indent: str, further: str | None = None) -> list[str]:
    """``text`` in lines of at most 80 columns; later lines begin with ``further``, by default two more in."""
    later = indent + "  " if further is None else further
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=later) or [indent]


def spoken_day(day: date, *, year: bool = False) -> str:
    """A date as "Mon 2 Mar", in English whatever the machine's language."""
    weekdays = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    said = f"{weekdays[day.weekday()]} {day.day} {months[day.month - 1]}"
    return f"{said} {day.year}" if year else said
