"""The name card of a backup: what a copy is, in plain text beside it, for whoever finds it years later."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from armrise.store.exchange.backup.contents import Contents, holds, instant_words
from armrise.store.exchange.out.private_file import write_private

MARK = "armrise: the card of a backup\n"


PLAIN = "is not encrypted: keep it as you keep the record"
ENCRYPTED = "opens by the passphrase its store had then, by nothing else"


def card_of(copy: Path) -> Path:
    """Where the card of a copy lies."""
    return copy.with_suffix(".txt")


def card(copy: Path, store: Path, taken: datetime, held: Contents, *, encrypted: bool = False) -> str:
    """The text of a card; ``taken`` is on the clinic's clock."""
    return (
        f"{MARK}"
        f"file:    {copy.name}\n"
        f"of:      {store}\n"
        f"taken:   {instant_words(taken)} ({held.zone})\n"
        f"holds:   {holds(held)}{', FICTIONAL' if held.fictional else ''}\n"
        f"chain:   {held.head or 'none yet'}\n"
        f"checked: every page, row and reference, when it was taken\n"
        f"back:    armrise restore {copy.name}\n"
        f"It holds what is recorded about patients, and {ENCRYPTED if encrypted else PLAIN}.\n"
    )


def write_card(copy: Path, text: str) -> None:
    """Write the card beside the copy. Raises :class:`~armrise.store.database.place.StoreError`."""
    write_private(card_of(copy), text, "card of the backup", MARK)


def remove_card(copy: Path) -> None:
    """Take away the card of a copy that is gone; any other file of that name stays. Raises OSError."""
    path = card_of(copy)
    if path.is_file() and not path.is_symlink() and path.read_bytes().startswith(MARK.encode()):
        path.unlink()
