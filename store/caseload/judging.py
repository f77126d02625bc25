"""A record that the rules fail at because it was damaged: said as a row that cannot be read."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from armrise.store.database.unreadable import Unreadable

if TYPE_CHECKING:
    from datetime import date

    from armrise.store.record.case import CaseRecord
    from armrise.store.rules.pathway import Rules


@contextmanager
def judging(record: CaseRecord, rules: Rules, today: date) -> Generator[None, None, None]:
    """Around what works a record out: a fault that a row brought about comes as :class:`Unreadable`.

    Any other fault goes on as it is.
    """
    from armrise.store.clinic.standing.stand import NeedsFullHistory

    try:
        yield
    except NeedsFullHistory:
        raise
    except Exception:
        _name_what_is_wrong(record, rules, today)
        raise


def _name_what_is_wrong(record: CaseRecord, rules: Rules, today: date) -> None:
    """Raise for the first entry that holds what it may not hold, or stands where it may not."""
    from armrise.store.database.columns import table_name
    from armrise.store.entries.check import check_case
    from armrise.store.entries.held import unfit_fields
    from armrise.store.entries.sheet import Place
    from armrise.store.entries.words import CaseHead
    from armrise.store.record.case import FIELD_OF_KIND

    entries = [entry for name in FIELD_OF_KIND.values() for entry in getattr(record, name)]
    for entry in entries:
        if fields := unfit_fields(entry):
            raise Unreadable(
                f"{table_name(entry.KIND)} {entry.id}", f"{fields[0]} holds what it may not hold"
            )
    head = CaseHead(**{name: getattr(record, name) for name in CaseHead.__dataclass_fields__})
    places = [Place(entry.id, f"{table_name(entry.KIND)} {entry.id}") for entry in entries]
    for fault in check_case(head, entries, today=today, rules=rules, places=places):
        where = fault.entry or f"case {record.code}"
        raise Unreadable(where, f"{fault.field or 'what stands there'} holds what it may not hold")
