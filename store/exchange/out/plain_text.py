"""The morning list and one case as plain text: whole sentences that a screen reader can follow, no boxes."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, cast

from armrise.store.caseload.judged import at_once
from armrise.store.caseload.recorded import newest_recorded
from armrise.store.clinic.case.standing import CriterionResult, Standing, Truth
from armrise.store.clinic.standing import words
from armrise.store.clinic.standing.do_words import doing
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import PROMPT, days_ago, full_date, near_date, time_words
from armrise.store.rules.figure import MEMORY
from armrise.store.rules.pathway import Rules
from armrise.store.rules.tiers import TIERS

if TYPE_CHECKING:
    from armrise.store.database.place import Store

WIDTH = ContextVar("columns of a listing", default=80)
"""Columns that a listing takes: 80, but on a terminal its own."""
CAUTIONS = (
    "Local codes and licensed practice prevail; surgeon's orders prevail.",
    "This list supports clinical judgement and never replaces it.",
    PROMPT,
)
FICTIONAL = "FICTIONAL CASELOAD: nobody in it exists."
NO_CASE = "No case is on the list."
DO = "do: "
OVERDUE = ("OVD1", "OVD2")
"""Reasons whose sentence says how late the review is, so that it is not said twice."""


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


def heading_of(store: Store, rules: Rules, today: date, known_at: datetime | None = None) -> Heading:
    """What stands above a listing of a store as known when (None: now). Raises a store error."""
    newest = newest_recorded(store)
    cut = newest is not None and known_at is not None and newest > known_at
    at = store.local(known_at) if known_at is not None else None
    if at is not None and known_at == store.end_of_day(at.date()) and at.date() == today:
        at = None
    return Heading(today, store.fictional, newest, rules, cut=cut, at=at)


class Part(NamedTuple):
    """The whole list that something is left out of, and what is said of that."""

    of: Sequence[Standing]
    said: str


def as_text(
    standings: Sequence[Standing],
    heading: Heading,
    empty: str = "",
    part: Part | None = None,
    pause: Callable[[], None] = at_once,
) -> str:
    """The list as plain text of at most 80 columns: a heading a tier, a paragraph a case.

    ``empty`` is what an empty list says instead of its own sentence. Of a ``part`` the whole is counted.
    ``pause`` is called before each case.
    """
    whole = part or Part(standings, "")
    return "\n".join(_text(standings, heading, empty or NO_CASE, whole, pause)) + "\n"


def _text(
    standings: Sequence[Standing], heading: Heading, empty: str, part: Part, pause: Callable[[], None]
) -> Iterator[str]:
    yield from headline(heading)
    for said in filter(None, (*counts(part.of), part.said)):
        yield from wrapped(said, "")
    if not standings:
        yield ""
        yield from wrapped(empty, "")
    for tier in TIERS:
        cases = [s for s in standings if s.tier == tier]
        if cases:
            yield ""
            yield tier_words(tier, len(cases))
        for standing in cases:
            pause()
            yield from case_lines(standing)
    yield ""
    yield from cautions()


def tier_words(tier: str, count: int) -> str:
    """The heading of a tier with how many cases are in it."""
    return f"{words.TIER_WORDS[tier].upper()} ({count})"


def cautions() -> Iterator[str]:
    """What stands below every listing."""
    for caution in CAUTIONS:
        yield from wrapped(caution, "")


def headline(heading: Heading) -> Iterator[str]:
    """The lines above every listing: fictional or not, then what it is of."""
    if heading.fictional:
        yield FICTIONAL
    for said in said_above(heading):
        yield from wrapped(said, "")


def said_above(heading: Heading) -> Iterator[str]:
    """What every listing is of: the clinic date, how new the data are, the rules. Not wrapped."""

    def clock(at: datetime) -> str:
        return f"{time_words(at)} on {near_date(at.date(), heading.as_of)}"

    until = heading.data_until
    data = f"data as of {clock(until)}" if until else "nothing recorded yet"
    if heading.cut:
        then = f"at {clock(heading.at)}" if heading.at else "then"
        data = f"as known {then}, what was recorded later left out"
    yield f"armrise, {full_date(heading.as_of)}, {data}"
    yield f"Rules version {heading.rules.version}, {heading.rules.sign_off}"


def counts(standings: Sequence[Standing]) -> Iterator[str]:
    """How many cases of each state and, on a line of its own, of each tier. Not wrapped."""
    found = words.counts(standings)
    yield words.statuses(found)
    yield ", ".join(f"{found.get(tier, 0)} {words.TIER_WORDS[tier]}" for tier in TIERS)


def case_lines(s: Standing) -> list[str]:
    """A case in sentences, each on its own lines: where it stands, why, what to do, pain, review."""
    stands = f"{s.code} {s.side}, {words.stage(s)}, {words.days_in_stage(s)}"
    verdict = words.verdict_words(s)
    lines = wrapped(f"{stands}; {verdict}" if verdict else stands, "  ")
    for sentence in (words.why(s), to_do(s), pain_words(s), review_words(s)):
        lines += wrapped(sentence, "     ", "     ") if sentence else []
    return lines


def to_do(s: Standing) -> str:
    """What to do about the case, led by the word; empty where nothing is asked beyond what is in hand."""
    found = doing(s)
    return f"{DO}{found.words()}" if found and (found.steps or found.beside) else ""


def pain_words(s: Standing) -> str:
    """The last pain scores with their age."""
    scores = words.spoken_scores(s.pain)
    age = f", {days_ago(s.pain.days_ago)}" if s.pain.days_ago is not None else ""
    return f"pain {scores}{age}" if s.pain.date else scores


def review_words(s: Standing) -> str:
    """When the review is due or how late it is, and what is booked; nothing of a closed case.

    What the reason has said already, a late review or a hold, is not said twice.
    """
    if s.status == "closed" or (s.placing is not None and s.placing.code in OVERDUE):
        return ""
    due, slot = words.review_words(s), words.booked(s)
    booked = slot if s.review.booked in (None, s.as_of) else f"booked {slot}"
    if words.why(s).startswith(due):
        return booked
    return f"{'no review due' if due == 'none due' else due}, {booked}"


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
        yield from criterion_lines(criterion, row, s.as_of)
    if details["clocks"]["own_past_cases"]:
        yield from wrapped(details["clocks"]["own_past_cases"], "  ")
    yield from wrapped(f"Not considered: {s.verdict.not_considered}", "  ")
    yield from programme_lines(details["programme"], s.as_of)
    yield ""
    yield "EVERYTHING WORKED OUT"
    yield from outline(details)
    yield ""
    yield from cautions()


def criterion_lines(c: CriterionResult, row: Mapping[str, Any], today: date) -> list[str]:
    """One criterion opened: its state, what was needed and observed and when, what to ask, its source.

    ``row`` is the same as plain data, with the pace of what is not met yet.
    """
    state = c.state.value.upper() if c.state is Truth.UNKNOWN else c.state.value
    ask = f"record: {c.ask}" if c.ask and c.state is not Truth.MET else ""
    parts = [f"{state}: {c.text}", *words.asked_and_seen(c, today), ask]
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


def programme_lines(items: Sequence[Mapping[str, Any]], today: date) -> Iterator[str]:
    """Each exercise of the home programme with the dose proposed for it and why; nothing without one."""
    if items:
        yield ""
        yield "HOME PROGRAMME"
    for item in items:
        proposal = item["proposal"]
        dose = f" {proposal['dose']['words']}" if proposal["dose"] else ""
        first = proposal["not_before"]
        when = f", not before {near_date(date.fromisoformat(first), today)}" if first else ""
        told = f"{proposal['reason']}{when}"
        if proposal["condition"] and proposal["condition"] not in told:
            told += f"; {proposal['condition']}"
        parts = (item["exercise"], item["dose"]["words"], item["way"], item["class_name"])
        yield from wrapped(", ".join(part for part in parts if part), "  ")
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
    return textwrap.wrap(text, WIDTH.get(), initial_indent=indent, subsequent_indent=later) or [indent]
