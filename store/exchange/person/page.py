"""Everything kept of one person as one page for paper."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any, cast

from armrise.store.exchange.out.plain_text import CAUTIONS, FICTIONAL, WIDTH, outline
from armrise.store.exchange.paper.page import Lines, Page, Part, Table, Text
from armrise.store.exchange.person.gather import Kept
from armrise.store.record.kinds.paperwork import lines_of
from armrise.store.record.words import full_date, time_words

KIND = "everything kept of one person"
FARTHER_IN = "\u00a0"
"""A space that stands at the beginning of a line: what belongs to the line above stands farther in."""
UNBROKEN = 100_000
PLAIN_NAMES = {
    "registered_on": "registered on",
    "dominance": "preferred hand",
    "age_band": "age",
    "referrer": "referred by",
}


def person_page(kept: Kept) -> Page:
    """Each case with its entries and what is worked out, then what lies beside the record."""
    data, title = kept.data, f"Everything kept of {kept.person}"
    day, rules = full_date(date.fromisoformat(data["as_of"])), data["rules"]
    above = (f"On {day}. Rules version {rules['version']}, {rules['signed_off']}.", *CAUTIONS)
    return Page(
        KIND,
        title,
        (
            *(part for case in data["cases"] for part in _case(case)),
            _desk(data["beside_the_record"]),
            Part("What is not in it, and what to look at", (Lines(tuple(data["not_in_it"])),)),
        ),
        top=tuple(map(Text, above)),
        foot=(f"{title}, {day}",),
        fictional=FICTIONAL if data["fictional"] else "",
    )


def _case(case: Mapping[str, Any]) -> Iterator[Part]:
    head = cast("Mapping[str, Any]", case["head"])
    told = (
        f"{PLAIN_NAMES.get(name, name)} {value}" for name, value in head.items() if name != "side" and value
    )
    recorded = Table(
        ("happened", "what was recorded", "recorded, by whom"),
        tuple(_entry(entry) for entry in case["entries"]),
        widths=(18, 54, 28),
    )
    yield Part(f"Case {case['code']} {head['side']}", (Text(", ".join(told)), recorded))
    rows = tuple(_worked_out(case["worked_out"]))
    yield Part("What is worked out from it", (Table(("", ""), rows, widths=(35, 65)),))


def _entry(entry: Mapping[str, Any]) -> tuple[str, ...]:
    """When it happened, what it says, who recorded it; of one withdrawn that stands before what it said."""
    says = [entry["says"]]
    if gone := entry["withdrawn"]:
        on = full_date(date.fromisoformat(gone["on"]))
        by = f" by {gone['author']}" if gone["author"] else ""
        says.insert(0, f"WITHDRAWN {on}{by}: {gone['reason']}. It said:")
    # The sentence of a letter counts its lines; here, where everything kept is told, they stand below it.
    says += lines_of(str(entry["fields"].get("body", "")))
    who = f" by {entry['author']}" if entry["author"] else ""
    return (
        full_date(date.fromisoformat(entry["on"])),
        "\n".join(says),
        f"{_instant(entry['recorded'])}{who}, {entry['source']}",
    )


def _worked_out(facts: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Nested facts, a name and what it says; what belongs to a name stands farther in."""
    before = WIDTH.set(UNBROKEN)
    try:
        lines = list(outline(facts))
    finally:
        WIDTH.reset(before)
    for line in lines:
        name, _, said = line.strip().partition(": ")
        yield FARTHER_IN * (len(line) - len(line.lstrip())) + name, said


def _instant(text: str) -> str:
    at = datetime.fromisoformat(text)
    return f"{full_date(at.date())} {time_words(at)}"


def _desk(desk: Mapping[str, Any]) -> Part:
    lines = [
        *(
            f"{one['case']}: last opened by {one['author']}, {_instant(one['at'])}"
            for one in desk["last_opened"]
        ),
        *(f"{one['case']}: marked by {one['author']}" for one in desk["marked"]),
        *(
            f"{one['case']}: form not written ({one['form']}) by {one['author']}, {_instant(one['at'])}: "
            + ", ".join(f"{name} {typed}" for name, typed in one["typed"].items())
            for one in desk["forms_not_written"]
        ),
    ]
    return Part("Beside the record", (Lines(tuple(lines or ["Nothing."])),))
