"""What changed in a case between two looks: what was recorded, which reasons came and went, the verdict."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime

from armrise.store.clinic.case.standing import Standing
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.words import full_date, time_words, words_date

NEVER = "you have not opened this case before"
NOUNS = {
    "session": ("check-in", "check-ins"),
    "morning": ("morning score", "morning scores"),
    "screen": ("safety answer", "safety answers"),
    "finding": ("finding", "findings"),
    "measure": ("measurement", "measurements"),
    "score": ("outcome score", "outcome scores"),
    "contact": ("call or message", "calls or messages"),
    "appointment": ("booking", "bookings"),
    "attendance": ("attendance", "attendances"),
    "programme item": ("exercise change", "exercise changes"),
    "event": ("new event", "new events"),
    "in hand": ("answer in hand", "answers in hand"),
    "orders": ("surgeon's order", "surgeon's orders"),
    "medicine": ("injection or painkiller", "injections or painkillers"),
    "onset": ("surgery or injury date", "surgery or injury dates"),
    "flag outcome": ("red-flag outcome", "red-flag outcomes"),
    "home loads": ("list of home weights", "lists of home weights"),
    "irritability": ("irritability level", "irritability levels"),
}
"""Kinds of entry as they are counted; the others by their own name."""


def entries_between(before: CaseRecord, after: CaseRecord) -> tuple[list[Entry], int]:
    """(what came between two readings of a case, oldest first; how many entries were withdrawn since)."""
    old, new = _by_id(before), _by_id(after)
    return [e for key, e in sorted(new.items()) if key not in old], sum(key not in new for key in old)


def _by_id(record: CaseRecord) -> dict[int, Entry]:
    return {entry.id: entry for name in FIELD_OF_KIND.values() for entry in getattr(record, name)}


def what_changed(
    before: Standing, after: Standing, entries: Iterable[Entry], since: datetime, withdrawn: int = 0
) -> str:
    """One line: "since Fri 27 Feb 08:10: 2 check-ins; came: flare not settling; verdict NOT YET -> READY".

    ``before`` is the standing as known at the last look, on the clinic date it had; ``since`` that instant on
    the clinic's clock. The calendar alone may bring a reason.
    """
    counted = counts(entries)
    if withdrawn:
        counted.append(f"{withdrawn} withdrawn")
    parts = [", ".join(counted)] if counted else []
    parts += differences(before, after)
    at = _instant(since, after)
    return f"since {at}: {'; '.join(parts)}" if parts else f"nothing new since {at}"


def differences(before: Standing, after: Standing) -> list[str]:
    """What reads differently: "came: flare not settling", "verdict NOT YET -> READY"; empty when nothing."""
    changed = [f"{word} {was} -> {now}" for word, was, now in _words(before, after) if was != now]
    return _reasons(before, after) + changed


def counts(entries: Iterable[Entry]) -> list[str]:
    """ "2 check-ins", "1 measurement": how many of each kind, in the order of :data:`NOUNS`."""
    found = Counter(entry.KIND for entry in entries)
    order: Sequence[str] = [*NOUNS, *(kind for kind in found if kind not in NOUNS)]
    return [f"{found[kind]} {_noun(kind, found[kind])}" for kind in order if found[kind]]


def _noun(kind: str, count: int) -> str:
    one, many = NOUNS.get(kind, (kind, f"{kind}s"))
    return one if count == 1 else many


def _reasons(before: Standing, after: Standing) -> list[str]:
    """Reasons that came and went, and those put in hand or let out of it."""
    was, now = ({r.name: r for r in s.reasons} for s in (before, after))
    told = {
        "came": [name for name in now if name not in was],
        "gone": [name for name in was if name not in now],
        "now in hand": [n for n, r in now.items() if r.in_hand and not (n in was and was[n].in_hand)],
        "no longer in hand": [n for n, r in now.items() if n in was and was[n].in_hand and not r.in_hand],
    }
    return [f"{word}: {', '.join(names)}" for word, names in told.items() if names]


def _words(before: Standing, after: Standing) -> list[tuple[str, str, str]]:
    """What has one value at a time: the state of the case, its stage, its verdict."""
    return [
        ("case", before.status, after.status),
        ("stage", before.stage or "not placed", after.stage or "not placed"),
        ("verdict", _verdict(before), _verdict(after)),
    ]


def _verdict(standing: Standing) -> str:
    word = str(standing.verdict.word)
    return "none" if word == "NONE" else word


def _instant(since: datetime, after: Standing) -> str:
    """ "Fri 27 Feb 08:10", with the year when it is not this year's."""
    day = since.date()
    said = words_date(day) if day.year == after.as_of.year else full_date(day)
    return f"{said} {time_words(since)}"
