"""``armrise encrypt``, ``decrypt`` and ``passphrase``: a store that a passphrase opens, made and unmade."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import say
from armrise.tui.command.reading import FILE
from armrise.tui.command.store import asking
from armrise.tui.shell.intake import existing

if TYPE_CHECKING:
    from armrise.store.database.encrypted.convert import Converted
    from armrise.store.database.encrypted.file import EncryptedFile
    from armrise.store.database.encrypted.keys import Key
    from armrise.store.database.place import Store

STORE_HELP = "A store other than your own."
LOST = "A lost passphrase opens nothing: there is no way in without it, and nobody can make a new one."
STILL_READABLE = "Still readable by anybody who gets hold of it, with the whole record:"
ON_A_DISK = (
    "A file that was deleted can often be brought back from a disk: have the machine's disk encrypted too."
)


@click.command(cls=Command)
@click.option("--store", type=FILE, metavar="FILE", help=STORE_HELP)
def encrypt(store: Path | None) -> None:
    """Encrypt the store with a passphrase, and keep the former file until you remove it.

    The copy is compared row by row and looked at page by page before it takes the place. Close armrise
    everywhere before. The passphrase is asked for twice; it is never an argument.
    """
    from armrise.store.database.driver import StoreError
    from armrise.store.database.encrypted.convert import plain_files_beside
    from armrise.store.database.encrypted.file import library

    library()
    of = existing(store, writing=True)
    if of.driver.encrypted:
        raise StoreError(f"{of.driver.name} is encrypted already: armrise passphrase sets a new passphrase")
    say(LOST)
    done = _converted(of, _new_key(of.path), "encryption")
    _tell(done, "is encrypted now, and opens by the passphrase alone")
    _tell_readable([done.aside, *(file for file in plain_files_beside(done.path) if file != done.aside)])


@click.command(cls=Command)
@click.option("--store", type=FILE, metavar="FILE", help=STORE_HELP)
def decrypt(store: Path | None) -> None:
    """Make the encrypted store a plain file again, and keep the encrypted one until you remove it."""
    of = existing(store, writing=True)
    _encrypted(of)
    done = _converted(of, None, "decryption")
    _tell(done, "is a plain file now: whoever may read it reads the record")
    say(f"The encrypted file of before is kept, and opens by its passphrase: {done.aside}")


@click.command(cls=Command)
@click.option("--store", type=FILE, metavar="FILE", help=STORE_HELP)
@click.option("--keep", is_flag=True, help="Have the operating system keep the key: nothing is asked then.")
@click.option("--forget", is_flag=True, help="Have the operating system keep the key no longer.")
def passphrase(store: Path | None, keep: bool, forget: bool) -> None:
    """Set a new passphrase, or have the operating system keep the key of the present one.

    The store is written anew under the new passphrase; backups of before open by the one of before. With the
    key kept, whoever can sign in to this account opens the store.
    """
    from armrise.store.database.encrypted import kept

    if keep and forget:
        raise click.UsageError("--keep and --forget exclude each other, give one of them")
    of = existing(store, writing=True)
    key = _encrypted(of).key
    if keep:
        kept.keep(key)
        say(f"Kept by the operating system: {of.path} opens for whoever is signed in to this account.")
    elif forget:
        gone = kept.forget(key.salt)
        say("The passphrase is asked for again." if gone else "No key was kept for this store.")
    else:
        say(LOST)
        done = _converted(of, _new_key(of.path), "new-passphrase")
        _tell(done, "opens by the new passphrase now")
        say(f"The file of before is kept, and opens by the passphrase of before: {done.aside}")
        say("So do backups taken before. Remove what nobody is to open any more.")
        if kept.forget(key.salt):
            say("The key of before is no longer kept; to have the new one kept: armrise passphrase --keep")


def _encrypted(store: Store) -> EncryptedFile:
    from armrise.store.database.driver import StoreError
    from armrise.store.database.encrypted.file import EncryptedFile

    if not isinstance(store.driver, EncryptedFile):
        raise StoreError(f"{store.driver.name} is not encrypted: armrise encrypt does it")
    return store.driver


def _new_key(path: Path) -> Key:
    from armrise.store.database.encrypted import keys

    return keys.derive(asking.ask_twice(path), keys.new_salt())


def _converted(store: Store, key: Key | None, word: str) -> Converted:
    from armrise.store.database.encrypted import keys
    from armrise.store.database.encrypted.convert import convert
    from armrise.store.record.clock import utc_now

    done = convert(store, key, store.local(utc_now()), word)
    if key is not None:
        keys.hold(key)
    return done


def _tell(done: Converted, now: str) -> None:
    say(f"{done.path} {now}.")
    cases = "1 case" if done.cases == 1 else f"{done.cases:,} cases"
    entries = "1 entry" if done.entries == 1 else f"{done.entries:,} entries"
    chain = f", the chain ends in {done.head}" if done.head else ""
    say(f"Both files hold {cases} and {entries}{chain}; compared row by row, every page looked at.")


def _tell_readable(files: list[Path]) -> None:
    say(STILL_READABLE)
    for file in files:
        say(f"  {file}")
    say(f"Open the store once, then remove them. {ON_A_DISK}")
