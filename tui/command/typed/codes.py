"""The code of a case as it is typed: in any case, and completed by the shell."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.shell_completion import CompletionItem

from armrise.tui.shell.intake import Source, opened

if TYPE_CHECKING:
    from collections.abc import Iterable

    from armrise.store.database.place import Store

MOST_COMPLETED = 200
"""Codes that a shell is given at most."""


class CaseCode(click.ParamType):  # pyright: ignore[reportMissingTypeArgument]  # none in click 8.1
    """The code of a case. Whether there is one is found out by whoever opens the store."""

    name = "code"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """The cases whose codes begin so, in the store that the command would read.

        None of a store that asks for a passphrase or lies on a server: no key pressed in a shell opens those.
        """
        begun = incomplete.casefold()
        with suppress(Exception):
            found = [(code, side) for code, side in _cases(ctx) if code.casefold().startswith(begun)]
            return [CompletionItem(code, help=side) for code, side in found[:MOST_COMPLETED]]
        return []


CODE = CaseCode()


def _cases(ctx: click.Context) -> list[tuple[str, str]]:
    """Every case of the store that is named on the line, else of one's own, with its side."""
    from armrise.store.caseload.read import heads
    from armrise.store.database.place import own_store

    typed = {**(ctx.parent.params if ctx.parent else {}), **ctx.params}
    place = typed.get("store") or own_store()
    if not isinstance(place, Path):
        return []
    with opened(Source(bool(typed.get("demo")), typed.get("caseload"), place), None) as store:
        return [(code, side) for code, _, side in heads(store)]


def meant(store: Store, code: str) -> str:
    """The code of the case that ``code`` means, in whatever case it was typed; as typed where it means none.

    One written just so comes before any other, and of several that differ in their case alone none is meant.
    """
    from armrise.store.caseload.read import codes

    return _meant(code, codes(store))


def each_meant(store: Store, typed: Iterable[str]) -> tuple[str, ...]:
    """The same of several."""
    from armrise.store.caseload.read import codes

    known = codes(store)
    return tuple(_meant(code, known) for code in typed)


def _meant(code: str, known: list[str]) -> str:
    alike = [one for one in known if one.casefold() == code.casefold()]
    return alike[0] if len(alike) == 1 and code not in known else code
