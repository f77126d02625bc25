"""The caseload file in plain text: every kind of entry and its fields, and what no single field says."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files

from armrise.store.entries.build import COMMON, HEAD, HEAD_REQUIRED, field_rules
from armrise.store.entries.words import allowed
from armrise.store.exchange.into.caseload_parser import FORMAT_OF_A_STORE
from armrise.store.exchange.out.plain_text import wrapped
from armrise.store.exchange.out.schema import flat, meanings
from armrise.store.exchange.out.schema_caseload import (
    ITEM,
    SAY_CODE,
    SAY_LABEL,
    SAY_NUMBER,
    SAY_ON,
    SAY_RECORDED,
    SAY_RECORDED_ON,
    SAY_WRITTEN_WITH,
    said_of,
)
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.programme import DoneItem


def names() -> tuple[str, ...]:
    """What can be asked for alone: each kind of entry, and the item of a session."""
    return (*KINDS, ITEM)


def as_text(name: str = "") -> str:
    """The fields of one kind, or everything a caseload file may hold."""
    lines = _part(name) if name else _whole()
    return "\n".join(lines).rstrip() + "\n"


def _whole() -> Iterator[str]:
    yield (files("armrise.store.exchange.out") / "caseload_file.txt").read_text(encoding="utf-8")
    yield "A CASE"
    yield from _line("code", True, SAY_CODE)
    for name, rule in HEAD.items():
        yield from _line(name, name in HEAD_REQUIRED, allowed(rule))
    yield from ("", "EVERY ENTRY")
    yield from _line("kind", True, "one of those below")
    for name, rule in COMMON.items():
        yield from _line(name, name == "on", f"{SAY_ON}, {allowed(rule)}" if name == "on" else allowed(rule))
    yield from _line("recorded", False, SAY_RECORDED)
    yield from _line("label", False, SAY_LABEL)
    yield ""
    yield f'EVERY ENTRY OF A FILE OF "{FORMAT_OF_A_STORE}"'
    yield from _line("number", False, SAY_NUMBER)
    yield from _line("written_with", False, SAY_WRITTEN_WITH)
    yield from _line("recorded_on", False, SAY_RECORDED_ON)
    for kind in names():
        yield ""
        yield from _part(kind)


def _part(name: str) -> Iterator[str]:
    """One kind: what it is, then its fields."""
    of = KINDS.get(name, DoneItem)
    yield name.upper()
    yield from wrapped(flat(of.__doc__ or ""), "  ", "  ")
    for spec in field_rules(of):
        yield from _line(spec.name, spec.required, " ".join(said_of(spec, meanings(of))))


def _line(name: str, needed: bool, say: str) -> list[str]:
    """A field, whether it is needed, what it may hold."""
    return wrapped(f"{name}{' (needed)' if needed else ''}: {say.rstrip('.')}.", "  ", "      ")
