"""The list as it is printed, from what is kept: no rule is read for it, and no command line."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from armrise.tui.command.printing import at_a_terminal, say, tell_text

if TYPE_CHECKING:
    from armrise.store.caseload.judged import Judged
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where


def kept_text(name: str, named: Where | None = None) -> str | None:
    """What is printed of the list of a store, one's own unless named; None where it is to be judged.

    ``name`` by :func:`name_here`. Raises a store error.
    """
    from armrise.store.database.place import own_store
    from armrise.store.kept.printed import printed
    from armrise.store.rules.folder.place import default_folder, digest_in_force
    from armrise.tui.shell.intake import existing, rules_folder

    if not isinstance(named or own_store(), Path):  # on a server nothing is kept
        return None
    store = existing(named, writing=False)
    rules = digest_in_force(rules_folder() or default_folder())
    return printed(store, rules, store.today(), name)


def tell_made(text: str, *, as_json: bool) -> None:
    """Print a list that was made, or kept."""
    if as_json:
        say(text, nl=False)
    else:
        tell_text(text)


def keep_made(name: str, text: str, store: Store, made: Judged, *, own: bool) -> None:
    """Keep what was printed where every case was judged; what is disposable fails without a word.

    ``own``: the store is one's own, and not one that is only looked at, as a copy is: beside that nothing new
    is left. Nor is anything kept where the window was made wider meanwhile.
    """
    from armrise.store.kept.file import file_beside
    from armrise.store.kept.printed import JSON, keep_printed

    file = file_beside(store)
    if file is None or name != name_here(as_json=name == JSON):
        return
    if made.mark is not None and made.whole and (own or file.path.is_file()):
        with suppress(Exception):
            keep_printed(store, made.mark, {name: text})


def name_here(*, as_json: bool) -> str:
    """Under which name what is printed here is kept: text by its width."""
    from armrise.store.kept.printed import JSON, TEXT, WIDE

    if as_json or not at_a_terminal():
        return JSON if as_json else TEXT
    from armrise.tui.command.typed.terminal import columns

    return TEXT if columns() == WIDE else f"{TEXT} {columns()}"
