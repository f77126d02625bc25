"""In what a kept list differs from the list judged anew as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.store.caseload.judged import Judged, codes_of
from armrise.store.caseload.mark import news_since

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.place import Store


def differing(store: Store, kept: Judged, anew: Judged) -> dict[str, tuple[str, ...]]:
    """The cases of which a kept list says something else than the list judged anew, and in which fields.

    Where something came between the two, what it is about does not count. By codes; a case that only one of
    them has differs in its code.
    """
    with store.reading() as connection:
        news = news_since(connection, kept.mark, anew.mark) if kept.mark and anew.mark else None
        if news is None:
            return {}
        told = codes_of(connection, news)
    before = {standing.code: standing for standing in kept.standings}
    after = {standing.code: standing for standing in anew.standings}
    return {
        code: _fields(before.get(code), after.get(code))
        for code in sorted({*before, *after} - told)
        if before.get(code) != after.get(code)
    }


def _fields(before: Standing | None, after: Standing | None) -> tuple[str, ...]:
    if before is None or after is None:
        return ("code",)
    parts = zip(after._fields, before, after, strict=True)
    return tuple(name for name, was, now in parts if was != now)
