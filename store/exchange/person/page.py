"""Everything kept of one person as one page that fetches nothing, for paper (A4 and Letter) and screen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, cast
from xml.etree.ElementTree import Element

from armrise.store.exchange.out.plain_text import CAUTIONS, FICTIONAL, outline
from armrise.store.exchange.paper.tree import as_document, element, mark_of, style_sheet
from armrise.store.exchange.person.gather import Kept
from armrise.store.record.kinds.paperwork import lines_of
from armrise.store.record.words import full_date, time_words

KIND = "everything kept of one person"
MARK = mark_of(KIND)
PLAIN_NAMES = {
    "registered_on": "registered on",
    "dominance": "preferred hand",
    "age_band": "age",
    "referrer": "referred by",
}


def as_person_html(kept: Kept) -> str:
    """The page: each case with its entries and what is worked out, then what lies beside the record."""
    data = kept.data
    body = element("body")
    if data["fictional"]:
        body.append(element("p", FICTIONAL, class_="fictional"))
    body.append(element("h1", f"Everything kept of {kept.person}"))
    day = full_date(date.fromisoformat(data["as_of"]))
    rules = data["rules"]
    body.append(
        element("p", f"On {day}. Rules version {rules['version']}, {rules['signed_off']}.", class_="soft")
    )
    body.extend(element("p", said) for said in CAUTIONS)
    for case in data["cases"]:
        body.extend(_case(case))
    body.extend(_desk(data["beside_the_record"]))
    body.append(element("h2", "What is not in it, and what to look at"))
    body.extend(element("p", said) for said in data["not_in_it"])
    title = f"Everything kept of {kept.person}"
    return as_document(KIND, title, style_sheet("person", "person.css"), body)


def _case(case: Mapping[str, Any]) -> Iterator[Element]:
    head = cast("Mapping[str, Any]", case["head"])
    yield element("h2", f"Case {case['code']} {head['side']}")
    told = (
        f"{PLAIN_NAMES.get(name, name)} {value}" for name, value in head.items() if name != "side" and value
    )
    yield element("p", ", ".join(told))
    yield element("h3", "What was recorded")
    rows = [_entry(entry) for entry in case["entries"]]
    yield _table(("happened", "what", "recorded, by whom"), rows)
    yield element("h3", "What is worked out from it")
    worked_out = element("div", class_="worked-out")
    worked_out.extend(element("p", line) for line in outline(case["worked_out"]))
    yield worked_out


def _entry(entry: Mapping[str, Any]) -> tuple[Element, ...]:
    what = element("td")
    says = element("s" if entry["withdrawn"] else "span", entry["says"])
    what.append(says)
    # The sentence of a letter counts its lines; here, where everything kept is told, they stand below it.
    what.extend(element("p", line) for line in lines_of(str(entry["fields"].get("body", ""))))
    if gone := entry["withdrawn"]:
        on = full_date(date.fromisoformat(gone["on"]))
        by = f" by {gone['author']}" if gone["author"] else ""
        what.append(element("span", f" Withdrawn {on}{by}: {gone['reason']}", class_="soft"))
    who = f" by {entry['author']}" if entry["author"] else ""
    return (
        element("td", full_date(date.fromisoformat(entry["on"])), class_="short"),
        what,
        element("td", f"{_instant(entry['recorded'])}{who}, {entry['source']}"),
    )


def _instant(text: str) -> str:
    at = datetime.fromisoformat(text)
    return f"{full_date(at.date())} {time_words(at)}"


def _desk(desk: Mapping[str, Any]) -> Iterator[Element]:
    yield element("h2", "Beside the record")
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
    for line in lines or ["Nothing."]:
        yield element("p", line)


def _table(head: Sequence[str], rows: Sequence[tuple[Element, ...]]) -> Element:
    made, top, body = element("table"), element("thead"), element("tbody")
    row = element("tr")
    row.extend(element("th", name, scope="col") for name in head)
    top.append(row)
    for cells in rows:
        line = element("tr")
        line.extend(cells)
        body.append(line)
    made.extend([top, body])
    return made
