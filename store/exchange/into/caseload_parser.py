"""From decoded JSON to a checked caseload: a walk over the whole file that keeps every fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, cast

from armrise.store.entries.build import CODE_ALLOWED, HEAD, build, build_head, is_code, unknown
from armrise.store.entries.check import ahead, check_case
from armrise.store.entries.filed import Beside, CaseloadFile, FileCase
from armrise.store.entries.sheet import Place
from armrise.store.entries.values import RefusalError, day, zone
from armrise.store.entries.words import Fault, quoted, shown
from armrise.store.exchange.into.numbered import Written, out_of_order, written
from armrise.store.exchange.into.strict_json import TWICE
from armrise.store.record.case import KINDS
from armrise.store.record.clock import clinic_zone
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction, Discharge
from armrise.store.record.kinds.safety import FlagOutcome, Screen
from armrise.store.record.visible import visible
from armrise.store.rules.pathway import Rules

FORMAT = "armrise caseload 1"
FORMAT_OF_A_STORE = "armrise caseload 2"
"""What an export writes: the same with the order of writing, the actions, and every text as it stands."""
FORMATS = (FORMAT, FORMAT_OF_A_STORE)
PRINTED_FAULTS = 50
LABEL_LENGTH = 40
CLINIC_LENGTH = 120
NOTE_LENGTH = 1000
TOP = ("format", "clinic_date", "zone", "fictional", "clinic", "cases")


class CaseloadRefused(Exception):
    """The file is refused and nothing of it taken. ``faults`` holds every fault found."""

    def __init__(self, name: str, faults: Sequence[Fault]) -> None:
        self.name = name
        self.faults = tuple(faults)
        super().__init__(name, self.faults)

    def __str__(self) -> str:
        lines = [str(fault) for fault in self.faults[:PRINTED_FAULTS]]
        more = len(self.faults) - len(lines)
        if more:
            lines.append(f"and {more} more.")
        return "\n".join([f"{visible(self.name)} is refused, nothing of it was taken.", *lines])


@dataclass
class Draft:
    """One raw entry of a case: its number from 1, its name in faults, and what was built of it."""

    number: int
    name: str
    raw: Mapping[str, Any]
    kind: object
    entry: Entry | None = None
    written: Written = Written()


class Parser:
    """Walks the decoded file and keeps every fault."""

    def __init__(self, name: str, rules: Rules, beside: Beside) -> None:
        self.name = name
        self.rules = rules
        self.beside = beside
        self.of_a_store = False
        self.faults: list[Fault] = []
        self.base = date(2000, 1, 1)
        self.zone = clinic_zone("UTC")

    def fault(self, case: str, entry: str, name: str, message: str) -> None:
        self.faults.append(Fault(case, entry, name, message))

    def file(self, data: Any) -> CaseloadFile:
        """The caseload, or :class:`CaseloadRefused` with all faults."""
        top = self.mapping(data, "", "", "the file")
        if top is None:
            raise CaseloadRefused(self.name, self.faults)
        if top.get("format") not in FORMATS:
            say = f"{shown(top.get('format'))} is not allowed, allowed is one of {quoted(FORMATS)}"
            self.fault("", "", "format", say)
            raise CaseloadRefused(self.name, self.faults)
        self.of_a_store = top["format"] == FORMAT_OF_A_STORE
        known = (*TOP, "note") if self.of_a_store else TOP
        self.unknown_keys(top, known, "", "", "field of a caseload file")
        self.frame(top)
        if self.faults:
            # Without a clinic date and a zone no entry of the file can be judged.
            raise CaseloadRefused(self.name, self.faults)
        cases = self.cases(top.get("cases"))
        if self.faults:
            raise CaseloadRefused(self.name, self.faults)
        fictional, clinic = top.get("fictional", False), top.get("clinic", "")
        return CaseloadFile(self.base, self.zone.key, fictional, clinic, cases)

    def frame(self, top: Mapping[str, Any]) -> None:
        """Clinic date, zone and the rest of the top level."""
        try:
            if not isinstance(top.get("clinic_date"), str):
                raise RefusalError(f"{shown(top.get('clinic_date'))} is no ISO date such as 2026-03-02")
            self.base = day(top["clinic_date"], self.base)
        except RefusalError as refusal:
            self.fault("", "", "clinic_date", str(refusal))
        try:
            self.zone = zone(top.get("zone"))
        except RefusalError as refusal:
            self.fault("", "", "zone", str(refusal))
        if not isinstance(top.get("fictional", False), bool):
            self.fault("", "", "fictional", f"{shown(top['fictional'])} is neither true nor false")
        for name, most in (("clinic", CLINIC_LENGTH), ("note", NOTE_LENGTH)):
            text = top.get(name, "")
            if not isinstance(text, str) or len(text) > most or not text.isprintable():
                say = f"is no text of at most {most} characters on one line"
                self.fault("", "", name, f"{shown(text)} {say}")

    def cases(self, raw: Any) -> tuple[FileCase, ...]:
        """Every case of the file; afterwards what two cases have wrong together."""
        if not isinstance(raw, list):
            self.fault("", "", "cases", f"{shown(raw)} is no list of cases")
            return ()
        read: list[tuple[FileCase, list[Draft]]] = []
        numbers: dict[str, list[int]] = {}
        for number, item in enumerate(cast("list[object]", raw), 1):
            place = f"{number} of the file"
            case = self.mapping(item, place, "", "a case")
            if case is None:
                continue
            code = case.get("code")
            if isinstance(code, str):
                numbers.setdefault(code, []).append(number)
                self.case(code, place, case, read)
            else:
                say = "is missing, needed" if code is None else f"{shown(code)} is no case code, allowed"
                self.fault(place, "", "code", f"{say} is {CODE_ALLOWED}")
        self.doubled(numbers)
        self.people(read)
        if not self.faults:
            entries = [(case.head.code, [(d.name, d.written) for d in drafts]) for case, drafts in read]
            self.faults += out_of_order(entries)
        return tuple(case for case, _ in read)

    def doubled(self, numbers: Mapping[str, list[int]]) -> None:
        """A fault for every code that stands more than once, at these numbers of the file."""
        for code, given in numbers.items():
            if len(given) > 1:
                which = f"{', '.join(map(str, given[:-1]))} and {given[-1]} of the file"
                say = f"{shown(code)} is given to {len(given)} cases ({which}), each needs its own"
                self.fault("", "", "code", say)

    def case(
        self, code: str, place: str, raw: Mapping[str, Any], read: list[tuple[FileCase, list[Draft]]]
    ) -> None:
        """One case: its head, then its entries one by one. A case without a usable code goes by its place."""
        name = code if is_code(code) else place
        self.unknown_keys(raw, ("code", "entries", *HEAD), name, "", "field of a case")
        head, faults = build_head(raw, code=code, base=self.base, place=place, exact=self.of_a_store)
        self.faults += faults
        drafts = self.drafts(name, raw.get("entries", []))
        labels = self.labels(name, drafts)
        for draft in drafts:
            self.build(name, draft, labels)
        if head is not None:
            built = [d for d in drafts if d.entry is not None]
            entries = tuple(d.entry for d in built if d.entry is not None)
            numbers = tuple(d.written.number for d in built if d.written.number)
            actions = tuple(d.written.action for d in built) if numbers else ()
            read.append((FileCase(head, entries, numbers, actions), drafts))

    def drafts(self, code: str, raw: Any) -> list[Draft]:
        """The raw entries with their names."""
        if not isinstance(raw, list):
            self.fault(code, "", "entries", f"{shown(raw)} is no list of entries")
            return []
        drafts: list[Draft] = []
        for number, item in enumerate(cast("list[object]", raw), 1):
            entry = self.mapping(item, code, f"entry {number}", "an entry")
            if entry is None:
                continue
            label = entry.get("label")
            name = f"entry {number} {shown(label)}" if isinstance(label, str) else f"entry {number}"
            drafts.append(Draft(number, name, entry, entry.get("kind")))
        return drafts

    def labels(self, code: str, drafts: list[Draft]) -> dict[str, int]:
        """The position of every labelled entry."""
        found: dict[str, int] = {}
        for draft in drafts:
            label = draft.raw.get("label")
            if label is None:
                continue
            if not isinstance(label, str) or not label.strip() or len(label) > LABEL_LENGTH:
                say = f"{shown(label)} is no label, allowed is text of 1 to {LABEL_LENGTH} characters"
                self.fault(code, draft.name, "label", say)
            elif label in found:
                say = f"{shown(label)} already names entry {found[label]} of this case"
                self.fault(code, draft.name, "label", say)
            else:
                found[label] = draft.number
        return found

    def build(self, code: str, draft: Draft, labels: Mapping[str, int]) -> None:
        """The record of one raw entry."""
        raw = {key: value for key, value in draft.raw.items() if key not in ("kind", "label")}
        before = len(self.faults)
        if self.of_a_store:
            draft.written, faults = written(raw, self.base)
            self.faults += [Fault(code, draft.name, name, say) for name, say in faults]
        for name in ("corrects", "replaced_by") if draft.kind == Correction.KIND else ():
            if raw.get(name) is None:
                continue
            if not isinstance(raw[name], str) or raw[name] not in labels:
                say = f"{shown(raw[name])} is no label of an entry of this case"
                self.fault(code, draft.name, name, say)
            raw[name] = labels.get(raw[name], 1) if isinstance(raw[name], str) else 1
        entry, faults = build(
            draft.kind,
            raw,
            case=code,
            label=draft.name,
            base=self.base,
            zone=self.zone,
            rules=self.rules,
            exact=self.of_a_store,
        )
        self.faults += faults
        if entry is not None and draft.written.recorded_on is not None:
            entry = replace(entry, recorded_on=draft.written.recorded_on)
        if len(self.faults) == before:
            draft.entry = entry
        else:
            self.ahead(code, draft)

    def ahead(self, code: str, draft: Draft) -> None:
        """The future date of an entry refused for something else: all its faults are told at once."""
        try:
            on = day(draft.raw.get("on"), self.base)
        except RefusalError:
            return
        if on > self.base:
            self.fault(code, draft.name, "on", ahead(on, self.base))

    def people(self, read: list[tuple[FileCase, list[Draft]]]) -> None:
        """What only shows when all cases are read: each case's entries together, and a person's two sides.

        Of a case that the store is concerned with, whoever takes it judges both together.
        """
        for case, drafts in read:
            if self.beside.touches(case.head):
                self.check(case, drafts, [], set(KINDS))
                continue
            head = case.head
            others = [other for other, _ in read if other.head.person == head.person and other is not case]
            # A code given twice is a fault of its own, and that one is told already.
            here = [o for o in others if o.head.side == head.side and o.head.code != head.code]
            if not _ended(case) and not all(_ended(other) for other in here):
                say = f"{head.side} of person {head.person} has another case that is not discharged"
                self.fault(head.code, "", "person", f"the {say}, a shoulder has one open case")
            broken = {d.kind for d in drafts if d.entry is None and isinstance(d.kind, str)}
            self.check(case, drafts, [e for other in others for e in other.entries], broken)

    def check(self, case: FileCase, drafts: list[Draft], others: list[Entry], broken: set[str]) -> None:
        """The faults of one case's entries together; what rests on the kinds ``broken`` is not judged."""
        built = [(d, d.entry) for d in drafts if d.entry is not None]
        self.faults += check_case(
            case.head,
            [entry for _, entry in built],
            today=self.base,
            rules=self.rules,
            places=[Place(d.number, f"{d.name} ({d.kind} of {e.on.isoformat()})") for d, e in built],
            linked=[e for e in others if isinstance(e, (Screen, FlagOutcome))],
            broken=broken,
        )

    def mapping(self, value: Any, case: str, entry: str, what: str) -> Mapping[str, Any] | None:
        """``value`` as an object with its repeated keys named, or None with a fault."""
        if not isinstance(value, dict):
            self.fault(case, entry, "", f"{what} has to be an object, found {shown(value)}")
            return None
        found = cast("dict[str, Any]", value)
        for twice in (found, *(_parts(found) if entry else ())):
            for key in cast("list[str]", twice.pop(TWICE, [])):
                self.fault(case, entry, shown(key), "is given twice in one object, each field may stand once")
        return found

    def unknown_keys(
        self, raw: Mapping[str, Any], known: Sequence[str], case: str, entry: str, what: str
    ) -> None:
        """A fault for every key that is not in ``known``."""
        for key in raw:
            if key not in known:
                self.fault(case, entry, key if key.isprintable() else shown(key), unknown(what, key, known))


def _parts(entry: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The objects inside the lists of an entry (the items of a session)."""
    lists = [cast("list[Any]", value) for value in entry.values() if isinstance(value, list)]
    return [cast("dict[str, Any]", part) for parts in lists for part in parts if isinstance(part, dict)]


def _ended(case: FileCase) -> bool:
    return any(isinstance(entry, Discharge) for entry in case.entries)
