"""Whose rows they are, and what rows say of the case itself: alike in all of them, and in the store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from armrise.store.caseload.read import read_case
from armrise.store.caseload.whole import Stored
from armrise.store.clinic.case.view import View
from armrise.store.entries.words import CaseHead, shown
from armrise.store.exchange.sheets.asked import New
from armrise.store.exchange.sheets.reading.texts import may_be_a_name
from armrise.store.exchange.sheets.row import LEFT, REFUSED, Changed, Given, Row
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction, PatientDetails
from armrise.store.record.known import withdrawn_ids

if TYPE_CHECKING:
    from armrise.store.database.driver import Connection


@dataclass
class CaseRows:
    """The rows of one case: its head, what the store has of it, and what is new."""

    code: str
    rows: list[Row]
    there: Stored | None = None
    head: CaseHead | None = None
    new: list[New] = field(default_factory=list[New])

    @property
    def is_new(self) -> bool:
        """True for a case that the store lacks."""
        return self.there is None

    @property
    def standing(self) -> list[Row]:
        """The rows that nothing was found against yet."""
        return [row for row in self.rows if row.status not in (REFUSED, LEFT)]


def by_code(rows: Iterable[Row], connection: Connection) -> list[CaseRows]:
    """The rows by their case, in the order of the file; codes are known in any case of their letters."""
    in_store = [code for (code,) in connection.execute("SELECT code FROM cases")]
    exact, folded = set(in_store), defaultdict[str, list[str]](list)
    for code in in_store:
        folded[code.casefold()].append(code)
    here: dict[str, str] = {}
    cases: dict[str, CaseRows] = {}
    for row in rows:
        if not row.code or row.status == LEFT:
            continue
        code = row.code
        if code not in exact:
            known = folded.get(code.casefold(), [])
            if len(known) > 1:
                row.refuse("", code, f"may be {' or '.join(known)}: the store has both")
                continue
            code = known[0] if known else here.setdefault(code.casefold(), code)
        if code != row.code:
            row.changed.append(Changed("", row.code, code))
            row.code = code
        cases.setdefault(code, CaseRows(code, [])).rows.append(row)
    refuse_unknown(cases.values(), exact)
    return list(cases.values())


def refuse_unknown(cases: Collection[CaseRows], known: Collection[str]) -> None:
    """A case that the store lacks needs a row that says what it is."""
    for one in cases:
        if one.code in known:
            continue
        told = {name for row in one.standing for name in row.head}
        lacks = [words for name, words in _NEEDED if name not in told]
        if any(row.visit for row in one.standing) and lacks == ["the day it was registered"]:
            lacks = []
        if lacks:
            near = get_close_matches(one.code, known, n=2, cutoff=0.75)
            hint = f" (did you mean {' or '.join(near)}?)" if near else ""
            what = " and ".join(filter(None, (", ".join(lacks[:-1]), lacks[-1])))
            say = f"is no case of the store{hint}, and for a new one no row that is taken says {what}"
        elif may_be_a_name(one.code):
            say = "has no digit and may be a name: a new case needs a code that names nobody"
        else:
            continue
        for row in one.standing:
            row.refuse("", one.code, say)


_NEEDED = (
    ("side", "its side"),
    ("pathway", "its pathway"),
    ("registered_on", "the day it was registered"),
)


def agree_on_the_head(one: CaseRows) -> None:
    """What rows say of the case has to be the same in all of them, and in the store."""
    details = details_of(one.there) if one.there else {}
    said: defaultdict[str, dict[Any, list[Row]]] = defaultdict(dict)
    for row in one.standing:
        for name, (value, column, text) in row.head.items():
            if one.there is not None:
                has = details.get(name) or getattr(one.there.head, name)
                if name in DETAILS and not has:
                    said[name].setdefault(value, []).append(row)
                elif value != has:
                    row.refuse(column, text, f"is not what the store has, {shown(has or None)}: {PUT_RIGHT}")
            else:
                said[name].setdefault(value, []).append(row)
    for name, values in said.items():
        if len(values) > 1:
            _refuse_all(name, values)


PUT_RIGHT = "correct the sheet, or put it right in the case"
DETAILS = ("age_band", "dominance", "referrer")
"""What may be added to a case later."""


def _refuse_all(name: str, values: dict[Any, list[Row]]) -> None:
    everyone = [(value, row) for value, rows in values.items() for row in rows]
    for value, row in everyone:
        other, where = next((other, rows[0].number) for other, rows in values.items() if other != value)
        _, column, text = row.head[name]
        row.refuse(column, text, f"and row {where} says {shown(other)} of the same case")


def details_of(there: Stored) -> dict[str, str]:
    """What was added to the head since: of two entries the newer governs."""
    found: dict[str, str] = {}
    for entry in standing_of(there):
        if isinstance(entry, PatientDetails):
            found |= {name: getattr(entry, name) for name in DETAILS if getattr(entry, name)}
    return found


def new_head(one: CaseRows) -> CaseHead | None:
    """The head of a new case, from the rows that stand; None when they no longer say enough."""
    told: dict[str, Any] = {"person": one.code}
    for row in one.standing:
        told |= {name: value for name, (value, *_) in row.head.items()}
    if "registered_on" not in told:
        visits = [row.visit for row in one.standing if row.visit]
        told |= {"registered_on": min(visits)} if visits else {}
    if not {"side", "pathway", "registered_on"} <= set(told):
        return None
    return CaseHead(code=one.code, **told)


def standing_of(there: Stored) -> list[Entry]:
    gone = withdrawn_ids(entry for entry in there.entries if isinstance(entry, Correction))
    return [entry for entry in there.entries if entry.id not in gone]


def refuse_two_of_a_shoulder(cases: Collection[CaseRows], given: Given, connection: Connection) -> None:
    """A shoulder has one open case: refuse a new one beside another of the same person and side."""
    new = [one for one in cases if one.is_new and one.head]
    if not new:
        return
    held: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
    for code, person, side in connection.execute("SELECT code, person, side FROM cases"):
        held[person, side].append(code)
    here: defaultdict[tuple[str, str], list[CaseRows]] = defaultdict(list)
    for one in new:
        assert one.head is not None
        here[one.head.person, one.head.side].append(one)
    for (person, side), group in here.items():
        others = [code for code in held[person, side] if _is_open(connection, code, given)]
        if len(group) + len(others) < 2:
            continue
        for one in group:
            other = next(iter(others), "") or next(each.code for each in group if each is not one)
            for row in one.standing:
                row.refuse(
                    "",
                    one.code,
                    f"is of the shoulder of {other}, which is open: a shoulder has one open case",
                )
            one.new, one.head = [], None


def _is_open(connection: Connection, code: str, given: Given) -> bool:
    return View.of(read_case(connection, code), given.rules, given.today).closed is None
