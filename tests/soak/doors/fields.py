"""Fields and lines read by themselves: every field of every kind of entry, every line that is typed."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import fields
from datetime import UTC, date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

from armrise.store.clinic.actions.strip import understood
from armrise.store.clinic.case.view import View
from armrise.store.database.place import Store, StoreError
from armrise.store.database.server.address import where
from armrise.store.entries import strip, summary_line
from armrise.store.entries.build import COMMON, build, build_head, field_rules, is_code
from armrise.store.entries.values import RefusalError
from armrise.store.record.case import KINDS
from armrise.store.record.phrase import phrase
from armrise.tui.command.ending import refusal
from armrise.tui.earlier.instants import read_then
from armrise.tui.firstrun import words as first_run
from armrise.tui.forms.kit.entry_text import form_fields, read_texts
from armrise.tui.forms.measures import range_line_parse
from armrise.tui.forms.paged.read import read_total, read_when
from armrise.tui.forms.programme.sets import also_done
from armrise.tui.shell.store_door import StoreDoor
from tests.soak.batches import Result
from tests.soak.doors.files import Drawn, judged, value
from tests.soak.hostile import text, typed
from tests.soak.works.kind import NOW, TODAY, rules
from tests.store.landed import ENTRIES, ENTRIES_2, ENTRIES_3

EXAMPLES = [*ENTRIES, *ENTRIES_2, *ENTRIES_3]
SIDES = ("LEFT", "RIGHT")
LINES = ("-7: 221/231*2/-2/?/322; whole", "9/14 4 3 2 w s", "150 90 45 T7 | 170 110 60 T5", "-3", "27 Feb",
         "12w", "43.1", "2026-03-01 08:05", "band row R1 3x10", "Europe/London", "TK", "y",
         "3, whole: row")  # fmt: skip
"""What lines that are typed look like; a sign of each is replaced, taken away or put in."""


def entries(draw: random.Random, _room: Path, _small: Path) -> Drawn:
    """Entries of every kind as a file or a program states them, with hostile values in their fields."""
    kinds = list(KINDS)
    while True:
        if draw.random() < 0.7:
            kind, stated = draw.choice(EXAMPLES)
        else:
            kind, stated = draw.choice(kinds), {}
        raw_values: dict[str, Any] = {"on": TODAY, "author": "TK", **stated}
        names = [*COMMON, "recorded", *(rule.name for rule in field_rules(KINDS[kind]))]
        for _ in range(draw.choice((1, 1, 2, 3))):
            raw_values[draw.choice(names) if draw.random() < 0.95 else text(draw)] = value(draw)
        given: Any = kind if draw.random() < 0.97 else value(draw)
        about = f"{kind}: {raw_values!a}"
        yield about, partial(_build, given, raw_values, exact=draw.random() < 0.3)


def _build(kind: Any, stated: dict[str, Any], *, exact: bool) -> Result:
    """It is refused in sentences; or made, says itself in words, and holds nothing that no entry may hold."""
    entry, faults = build(
        kind, stated, case="BY-003", label="entry 1", base=TODAY, zone=UTC, rules=rules(), exact=exact
    )
    if entry is None:
        return judged(refusal(StoreError("; ".join(map(str, faults))))) if faults else _nothing_said()
    texts = [getattr(entry, f.name) for f in fields(entry)]
    held = "".join(one for one in texts if isinstance(one, str))
    wrong = [sign for sign in held if not (sign.isprintable() or sign.isspace()) or sign in "\n\r\t"]
    if wrong:
        return Result({"a raw sign": f"U+{ord(wrong[0]):04X} was taken into an entry"})
    phrase(entry, rules())
    return Result({})


def _nothing_said() -> Result:
    return Result({"traceback": "no entry and no sentence why"})


def forms(draw: random.Random, _room: Path, _small: Path) -> Drawn:
    """Texts in every field of the form of every kind."""
    kinds = list(KINDS)
    while True:
        kind = draw.choice(kinds)
        lines = form_fields(kind)
        texts = {one.name: line(draw) for one in lines if draw.random() < 0.5}
        yield f"form of {kind}: {texts!a}", partial(_read_form, kind, texts)


def _read_form(kind: str, texts: dict[str, str]) -> Result:
    found = read_texts(kind, texts, TODAY, rules())
    if found.values is None and not found.faults:
        return _nothing_said()
    return judged(refusal(StoreError(" ".join(found.faults.values()))))


def line(draw: random.Random) -> str:
    """A line as somebody types it, with a hostile sign in it; or nothing but hostile signs."""
    if draw.random() < 0.4:
        return typed(draw)
    told = draw.choice(LINES)
    for _ in range(draw.choice((1, 1, 2))):
        place = draw.randrange(len(told) + 1)
        told = told[:place] + draw.choice(("", text(draw, longest=4))) + told[place + draw.randint(0, 1) :]
    return told


def lines(draw: random.Random, room: Path, small: Path) -> Drawn:
    """Each reader of a typed line by turns, the diary line of a case among them."""
    readers = _readers(Store.open(small, read_only=True))
    while True:
        name = draw.choice(list(readers))
        told = line(draw)
        yield f"{name}: {told!a}", partial(_read_line, readers[name], told)


def _read_line(read: Callable[[str], Any], told: str) -> Result:
    try:
        found = read(told)
    except (RefusalError, StoreError, summary_line.LineError, range_line_parse.WrongValueError) as refused:
        return judged(refusal(StoreError(str(refused))))
    return judged(refusal(StoreError(found))) if isinstance(found, str) else Result({})


def _readers(store: Store) -> dict[str, Callable[[str], Any]]:
    door = StoreDoor(store, rules(), "TK", TODAY, lambda: NOW)
    view = View.of(door.open("BY-003").record, rules(), TODAY)
    asked = [
        range_line_parse.Asked("a", "flexion", Decimal(0), Decimal(180), "degrees"),
        range_line_parse.Asked("b", "behind the back", Decimal(0), Decimal(19), "level"),
        range_line_parse.Asked("c", "strength", Decimal(0), Decimal(60), "kg", places=1),
    ]

    def diary(told: str) -> str:
        found, _ = understood(told, view)
        return str(found)

    def ranges(told: str) -> str:
        return "\n".join(range_line_parse.words(range_line_parse.read(told, asked, SIDES), asked, SIDES))

    return {
        "diary": diary,
        "diary line": lambda told: str(strip.read(told, TODAY, 60)),
        "diary line kept": lambda told: strip.from_date(told, TODAY),
        "summary": lambda told: summary_line.read_line(told, 14) and None,
        "range line": ranges,
        "instant": lambda told: read_then(told, store, TODAY) and None,
        "date behind": lambda told: read_when(told, TODAY)[1],
        "date ahead": lambda told: read_when(told, TODAY, ahead=True)[1],
        "total": lambda told: read_total(told, "OSS", Decimal(0), Decimal(48))[1],
        "done too": lambda told: also_done(told) and None,
        "zone": first_run.zone_fault,
        "initials": lambda told: first_run.initials_fault(told) or first_run.initials_warning(told),
        "passphrase": lambda told: first_run.passphrase_fault(told, told),
        "address": lambda told: where(f"postgresql://{told}") and None,
        "code": lambda told: (is_code(told) and None) or _head(told),
    }


def _head(told: str) -> str:
    raw_head = {"person": told, "side": told, "pathway": told, "registered": told}
    return "; ".join(map(str, build_head(raw_head, code=told, base=date(2026, 3, 2))[1]))
