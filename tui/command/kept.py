"""The list as it is printed: from what is kept, where no rule is read and no command line, or judged."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from armrise.tui.command.printing import say

if TYPE_CHECKING:
    from armrise.store.caseload.judged import Judged
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where
    from armrise.tui.command.reading import Seen


def kept_text(name: str, named: Where | None = None) -> str | None:
    """What is printed of the list of a store, one's own unless named; None where it is to be judged.

    ``name``: one of :mod:`armrise.store.kept.printed`. Raises a store error.
    """
    from armrise.store.database.place import own_store
    from armrise.store.kept.printed import printed
    from armrise.store.rules.folder.place import default_folder, digest_in_force
    from armrise.tui.shell.intake import existing, rules_folder

    if not isinstance(named or own_store(), Path):  # on a server nothing is kept
        return None
    store = existing(named, writing=False)
    return printed(store, digest_in_force(rules_folder() or default_folder()), store.today(), name)


def is_printed(name: str) -> bool:
    """Print the list of one's own store where it is kept; False where the command has to be read and run.

    What is amiss is then said by that.
    """
    text = None
    with suppress(Exception):
        text = kept_text(name)
    if text is not None:
        say(text, nl=False)
    return text is not None


def judged_text(name: str, of: Seen, *, now: bool, own: bool) -> str:
    """What is printed of the list of a store, judged.

    ``now``: as things are now, under the rules in force; then it is kept for the next time. ``own``: the
    store is one's own, and not one that is only looked at, as a copy is: beside that nothing new is left.
    """
    from armrise.store.caseload.judged import judged
    from armrise.store.caseload.read import codes, standings
    from armrise.store.exchange.out.listing import on_list, text_of
    from armrise.tui.shell.intake import LOAD_A_FILE

    made = judged(of.store, of.rules, of.today) if now else None
    listed = on_list(made.standings if made else standings(of.store, of.rules, of.today, of.known_at))
    empty = "" if listed or codes(of.store) else f"No cases yet. Next: {LOAD_A_FILE}"
    text = text_of(name, listed, of.heading, empty)
    if made is not None and listed:
        _keep(name, text, of.store, made, own=own)
    return text


def _keep(name: str, text: str, store: Store, made: Judged, *, own: bool) -> None:
    """Keep it where every case of it was judged; what is disposable fails without a word."""
    from armrise.store.kept.file import file_beside
    from armrise.store.kept.printed import keep_printed

    file = file_beside(store)
    if file is not None and made.mark is not None and made.whole and (own or file.path.is_file()):
        with suppress(Exception):
            keep_printed(store, made.mark, {name: text})
