"""A store that a passphrase opens: its key, what can be read in its files, and how it is made and unmade."""

from __future__ import annotations

import contextlib
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from armrise.store.database import chain, desk, sqlite
from armrise.store.database.driver import KeyNeeded, StoreError
from armrise.store.database.encrypted import asker, convert, file, kept, keys, unlock
from armrise.store.database.place import Store
from armrise.store.exchange.backup.make import back_up
from armrise.store.exchange.backup.restore import plan, put_back
from tests.demo_store import NOW
from tests.encrypted import PASSPHRASE, cheap_keys, encrypt, needs_the_extra, readable

pytestmark = needs_the_extra
__all__ = ["cheap_keys"]

WORDS = ("BY-018", "rotator", "CREATE TABLE", "Europe/London", "SQLite format", "left half written")
"""Of the record, of the schema, of the settings, and of a form that was left."""
AT = datetime(2026, 3, 2, 8, 5, 9)


@pytest.fixture
def plain(made: Path, tmp_path: Path) -> Store:
    """The demo caseload in a plain file of the test's own, with a form that was left."""
    store = Store.open(shutil.copy(made, tmp_path / "caseload.armrise"))
    desk.keep_draft(store, "TK", "BY-018", "CheckInScreen", {"note": "left half written"}, NOW)
    return store


@pytest.fixture
def encrypted(plain: Store, cheap_keys: None) -> Store:
    """The same, encrypted, with the plain file gone."""
    return Store.open(encrypt(plain.path))


# the key

RFC_7914 = [
    (
        ("", "", 16, 1, 1),
        "77d6576238657b203b19ca42c18a0497f16b4844e3074ae8dfdffa3fede21442"
        "fcd0069ded0948f8326a753a0fc81f17e8d3e0fb2e0d3628cf35e20c38d18906",
    ),
    (
        ("password", "NaCl", 1024, 8, 16),
        "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"
        "2eaf30d92e22a3886ff109279d9830dac727afb94a83ee6d8360cbdfa2cc0640",
    ),
    (
        ("pleaseletmein", "SodiumChloride", 16384, 8, 1),
        "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"
        "d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887",
    ),
]
"""Test vectors of scrypt: RFC 7914, section 12."""


@pytest.mark.parametrize(("given", "expected"), RFC_7914)
def test_a_key_is_scrypt_of_the_passphrase(
    given: tuple[Any, ...], expected: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    passphrase, salt, cost, block, lanes = given
    for name, value in (("COST", cost), ("BLOCK", block), ("LANES", lanes), ("KEY_BYTES", 64)):
        monkeypatch.setattr(keys, name, value)
    assert keys.derive(passphrase, salt.encode()).hex == expected


def test_the_figures_are_the_published_ones_and_never_others() -> None:
    # OWASP Password Storage Cheat Sheet, scrypt: at least N = 2^17 (128 MiB), r = 8, p = 1.
    assert (keys.COST, keys.BLOCK, keys.LANES, keys.KEY_BYTES) == (131072, 8, 1, 32)
    assert 128 * keys.COST * keys.BLOCK == 128 * 2**20
    assert keys.LEAST_LETTERS == 15  # NIST SP 800-63B-4, section 3.1.1.2


def test_a_key_says_nothing_of_itself(cheap_keys: None) -> None:
    key = keys.derive(PASSPHRASE, b"s" * 16)
    assert key.hex not in f"{key!r} {key} {key!s}"
    assert key == keys.derive(PASSPHRASE, b"s" * 16)
    assert key != keys.derive(PASSPHRASE, b"t" * 16)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Fünf schlichte Worte", "Fu\u0308nf schlichte Worte"),
        ("four words and more", "  four words and more "),
    ],
)
def test_one_passphrase_typed_at_two_keyboards_is_one(one: str, other: str, cheap_keys: None) -> None:
    assert keys.derive(one, b"s" * 16) == keys.derive(other, b"s" * 16)


@pytest.mark.parametrize(
    ("typed", "again", "said"),
    [
        ("fourteen chars", "fourteen chars", "at least 15 characters, 14 typed"),
        ("fifteen letters", "fifteen letters", ""),
        ("fifteen letters", "fifteen lettert", "the two are not the same"),
        ("x" * 201, "x" * 201, "at most 200 characters, 201 typed"),
    ],
)
def test_a_passphrase_is_long_enough_and_typed_twice_alike(typed: str, again: str, said: str) -> None:
    fault = keys.passphrase_fault(typed, again)
    assert said in fault if said else fault == ""
    assert typed not in fault


# what can be read


def test_nothing_can_be_read_in_any_file(
    encrypted: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not readable(tmp_path, *WORDS)
    with encrypted.reading() as connection:  # which keeps the log from being written back
        connection.execute("SELECT count(*) FROM cases").fetchone()
        desk.keep_draft(encrypted, "TK", "BY-019", "CheckInScreen", {"note": "left half written"}, NOW)
        assert (tmp_path / "caseload.armrise-wal").stat().st_size
        assert not readable(tmp_path, *WORDS)
    seen: list[str] = []
    look = sqlite.damage

    def looked(connection: Any) -> tuple[str, ...]:
        seen.extend(path.name for path in tmp_path.iterdir())
        if not any(tmp_path.glob("*.txt")):  # the card, which tells the zone, lies there once the copy counts
            assert not readable(tmp_path, *WORDS)
        return look(connection)

    monkeypatch.setattr(sqlite, "damage", looked)
    (copy,) = back_up(encrypted, [tmp_path], NOW).good
    assert copy.file is not None
    assert len(set(seen) - {path.name for path in tmp_path.iterdir()}) >= 1  # the draft of the copy
    assert not readable(tmp_path, *(word for word in WORDS if "/" not in word))  # the card names the zone
    assert "opens by the passphrase its store had then" in copy.file.with_suffix(".txt").read_text()
    assert Store.open(copy.file).driver.encrypted


def test_the_same_words_are_found_in_a_plain_store(plain: Store, tmp_path: Path) -> None:
    assert readable(tmp_path, *WORDS) == {"caseload.armrise": list(WORDS)}


def test_a_form_given_up_leaves_no_word_in_a_plain_store(plain: Store, tmp_path: Path) -> None:
    desk.drop_draft(plain, "TK", "BY-018", "CheckInScreen")
    assert not readable(tmp_path, "left half written")


def test_a_store_made_encrypted_is_one_from_its_first_byte(tmp_path: Path, cheap_keys: None) -> None:
    made = Store.create(
        unlock.new_file(tmp_path / "new.armrise", PASSPHRASE), zone="Europe/London", author="TK"
    )
    assert (made.driver.encrypted, made.author) == (True, "TK")
    assert not readable(tmp_path, *WORDS)
    assert [path.name for path in tmp_path.iterdir()] == ["new.armrise"]
    assert made.path.stat().st_mode & 0o777 == 0o600


def test_a_backup_is_put_back_by_its_passphrase_over_whatever_lies_there(
    encrypted: Store, tmp_path: Path
) -> None:
    rows = rows_of(encrypted)
    (copy,) = back_up(encrypted, [tmp_path], NOW).good
    assert copy.file is not None
    keys._held.clear()
    with pytest.raises(KeyNeeded):
        plan(copy.file, encrypted.path)
    unlock.unlock(copy.file, PASSPHRASE)
    done = put_back(plan(copy.file, encrypted.path), AT)
    again = Store.open(done.path)
    assert again.driver.encrypted
    assert rows_of(again)["cases"] == rows["cases"]
    assert Store.open(done.kept[0]).driver.encrypted
    other = keys.derive("words that nobody knows any more", keys.new_salt())
    convert.convert(again, other, AT, "new-passphrase")  # as if it were lost
    asker.ask_by(lambda path, fault: "whatever is remembered of it")
    lost = plan(copy.file, encrypted.path)
    assert lost.present.held is None
    assert "wrong passphrase, or the file is damaged" in lost.present.fault
    assert rows_of(Store.open(put_back(lost, AT).path))["cases"] == rows["cases"]
    assert not readable(tmp_path, "BY-018")


# opening


def test_it_opens_by_its_passphrase_and_by_no_other(encrypted: Store) -> None:
    keys._held.clear()
    with pytest.raises(KeyNeeded, match="is encrypted"):
        Store.open(encrypted.path)
    with pytest.raises(StoreError, match=r"wrong passphrase, or the file is damaged: .*nobody can open it"):
        unlock.unlock(encrypted.path, "four plain words hers")
    unlock.unlock(encrypted.path, PASSPHRASE)
    assert Store.open(encrypted.path).fictional
    assert unlock.is_opened_by(encrypted.driver, PASSPHRASE)
    assert not unlock.is_opened_by(encrypted.driver, "four plain words hers")


def test_a_copy_elsewhere_opens_by_the_same_passphrase_alone(encrypted: Store, tmp_path: Path) -> None:
    elsewhere = shutil.copy(encrypted.path, tmp_path / "renamed")
    keys._held.clear()
    unlock.unlock(elsewhere, PASSPHRASE)
    assert Store.open(elsewhere, read_only=True).zone == "Europe/London"


def test_whoever_asks_is_told_what_was_wrong_and_asks_three_times(encrypted: Store) -> None:
    told: list[str] = []

    def ask(path: Path, fault: str) -> str:
        told.append(fault)
        return PASSPHRASE if len(told) == 3 else "no such words at all"

    keys._held.clear()
    asker.ask_by(ask)
    try:
        assert Store.open(encrypted.path).driver.encrypted
        keys._held.clear()
        told[:] = ["before"] * 3  # so that none is right
        with pytest.raises(StoreError, match="wrong passphrase"):
            Store.open(encrypted.path)
    finally:
        asker.ask_by(None)
    assert told[3] == ""
    assert all("wrong passphrase" in fault for fault in told[4:])
    assert len(told) == 6


def test_a_damaged_file_is_said_to_be_that_or_the_wrong_passphrase(encrypted: Store) -> None:
    content = bytearray(encrypted.path.read_bytes())
    content[100] ^= 1
    encrypted.path.write_bytes(content)
    with pytest.raises(StoreError, match="wrong passphrase, or the file is damaged"):
        Store.open(file.EncryptedFile(encrypted.path, keys._held[bytes(content[:16])]))


def test_damage_further_in_is_named_without_a_word_of_the_record(encrypted: Store) -> None:
    with encrypted.reading() as connection:
        sql = "SELECT rootpage FROM sqlite_master WHERE name = 'session_item'"
        page = connection.execute(sql).fetchone()[0]
    content = bytearray(encrypted.path.read_bytes())
    content[4096 * (page - 1) + 7] ^= 1
    encrypted.path.write_bytes(content)
    with contextlib.closing(encrypted.connect()) as connection:
        assert sqlite.damage(connection)[0].startswith(f"Tree {page} page {page}")


def test_without_the_extra_one_sentence_says_what_to_install(
    encrypted: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(file, "_library", lambda: None)
    with pytest.raises(StoreError, match=r"^encrypted stores need one more package: pip install '\S+'$"):
        Store.open(encrypted.path)


@pytest.mark.parametrize(
    "content", [b"", b"a letter\n" * 455 + b"x", b"{}" * 2048, bytes(8192), bytes(range(256)) * 17]
)
def test_what_is_no_encrypted_store_is_not_asked_about(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "caseload.armrise"
    path.write_bytes(content)
    assert not sqlite.looks_encrypted(path)
    with pytest.raises(StoreError, match="is not a"):
        Store.open(path)


# kept by the operating system


class Keeper:
    """What stands for the operating system's keeper of keys."""

    def __init__(self) -> None:
        self.kept: dict[tuple[str, str], str] = {}

    def get_password(self, service: str, name: str) -> str | None:
        return self.kept.get((service, name))

    def set_password(self, service: str, name: str, value: str) -> None:
        self.kept[service, name] = value

    def delete_password(self, service: str, name: str) -> None:
        del self.kept[service, name]


def test_a_key_kept_by_the_machine_opens_until_it_is_forgotten(
    encrypted: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper = Keeper()
    monkeypatch.setattr(kept, "_library", lambda: keeper)
    assert isinstance(encrypted.driver, file.EncryptedFile)
    kept.keep(encrypted.driver.key)
    assert PASSPHRASE not in str(keeper.kept)
    keys._held.clear()
    assert Store.open(encrypted.path).driver.encrypted
    assert kept.forget(encrypted.driver.key.salt)
    assert not kept.forget(encrypted.driver.key.salt)
    keys._held.clear()
    with pytest.raises(KeyNeeded):
        Store.open(encrypted.path)


def keyring_that(monkeypatch: pytest.MonkeyPatch, fails: str = "", at: str = "") -> None:
    """The library itself, over a keyring in memory that fails at one of its acts by an error of the library.

    "no backend" is the one it takes where the operating system has none, "null" one that keeps nothing.
    """
    library = pytest.importorskip("keyring")
    from keyring import core, errors
    from keyring.backends import fail, null

    class Failing(Keeper):
        def __getattribute__(self, name: str) -> Any:
            if fails and name == f"{at}_password":
                raise getattr(errors, fails)("0a1b2c")
            return super().__getattribute__(name)

    special = {"no backend": fail.Keyring, "null": null.Keyring}
    monkeypatch.setattr(core, "_keyring_backend", special.get(fails, Failing)())
    monkeypatch.setattr(kept, "_library", lambda: library)


@pytest.mark.parametrize(
    ("fails", "at", "why"),
    [
        ("no backend", "", "there is no keyring"),
        ("null", "", "it took the key and has none"),
        ("KeyringLocked", "set", "its keyring is locked"),
        ("PasswordSetError", "set", "its keyring refused"),
        ("InitError", "get", "its keyring cannot be opened"),
        ("KeyringError", "set", "its keyring fails by KeyringError"),
    ],
)
def test_a_key_that_is_not_kept_is_said_not_to_be_and_the_passphrase_asked_for(
    fails: str, at: str, why: str, encrypted: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each way in which the library ``keyring`` can fail, by its own errors."""
    keyring_that(monkeypatch, fails, at)
    assert isinstance(encrypted.driver, file.EncryptedFile)
    with pytest.raises(StoreError) as refused:
        kept.keep(encrypted.driver.key)
    assert str(refused.value) == f"this machine keeps no key ({why}): the passphrase is asked for instead"
    keys._held.clear()
    with pytest.raises(KeyNeeded):
        Store.open(encrypted.path)


@pytest.mark.parametrize(
    ("fails", "at", "why"),
    [
        ("KeyringLocked", "get", "its keyring is locked"),
        ("InitError", "get", "its keyring cannot be opened"),
        ("PasswordDeleteError", "delete", "its keyring refused"),
    ],
)
def test_a_key_that_may_still_be_kept_is_said_to_be(
    fails: str, at: str, why: str, encrypted: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A locked keyring is no empty one."""
    assert isinstance(encrypted.driver, file.EncryptedFile)
    key = encrypted.driver.key
    keyring_that(monkeypatch)
    kept.keep(key)
    held = kept._library().get_keyring().kept
    keyring_that(monkeypatch, fails, at)
    kept._library().get_keyring().kept = held
    with pytest.raises(StoreError) as refused:
        kept.forget(key.salt)
    assert str(refused.value) == (
        f"the operating system may still keep the key ({why}): "
        f"unlock its keyring and take armrise {key.salt.hex()} out of it"
    )


def test_where_nothing_keeps_keys_none_is_kept(encrypted: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    keyring_that(monkeypatch, "no backend")
    assert isinstance(encrypted.driver, file.EncryptedFile)
    assert not kept.forget(encrypted.driver.key.salt)


# plain into encrypted, and back


def rows_of(store: Store) -> dict[str, list[Any]]:
    """Every row of every table."""
    with store.reading() as connection:
        names = [
            name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return {name: sorted(connection.execute(f'SELECT * FROM "{name}"'), key=repr) for name in names}


def head_of(store: Store) -> chain.Link | None:
    with store.reading() as connection:
        return chain.head_of(connection)


def test_there_and_back_every_row_and_the_chain_are_the_same(
    plain: Store, tmp_path: Path, cheap_keys: None
) -> None:
    rows, head = rows_of(plain), head_of(plain)
    key = keys.derive(PASSPHRASE, keys.new_salt())
    there = convert.convert(plain, key, AT, "encryption")
    keys.hold(key)
    encrypted = Store.open(there.path)
    assert (there.cases, head is not None and head.short) == (36, there.head)
    assert rows_of(encrypted) == rows
    assert there.aside.name == "caseload.before-encryption-2026-03-02-080509.armrise"
    assert rows_of(Store.open(there.aside)) == rows
    assert convert.plain_files_beside(there.path) == [there.aside]
    back = convert.convert(encrypted, None, AT, "decryption")
    assert rows_of(Store.open(back.path)) == rows
    assert head_of(Store.open(back.path)) == head
    assert not readable(tmp_path / back.aside.name, "BY-018")
    assert Store.open(back.aside).driver.encrypted
    assert {path.name for path in tmp_path.iterdir()} == {
        "caseload.armrise",
        there.aside.name,
        back.aside.name,
    }
    with contextlib.closing(Store.open(back.path).connect()) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_second_conversion_within_a_second_takes_no_name(plain: Store, cheap_keys: None) -> None:
    asides = []
    for number in range(2):
        key = keys.derive(f"{PASSPHRASE} {number}", keys.new_salt())
        asides.append(convert.convert(Store.open(plain.path), key, AT, "new-passphrase").aside)
        keys.hold(key)
    assert len(set(asides)) == 2
    assert all(aside.exists() for aside in asides)


def test_somebody_else_at_the_store_is_waited_for_and_nothing_changes(
    plain: Store, tmp_path: Path, cheap_keys: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "BUSY_SECONDS", 0.01)
    before = rows_of(plain)
    key = keys.derive(PASSPHRASE, keys.new_salt())
    # By the library that converts: within one process the other's locks do not hold against it.
    other = file.opened_by(None, plain.path, sqlite.address(plain.path))
    with pytest.raises(StoreError, match=r"another armrise has .* open: close it there"):
        convert.convert(plain, key, AT, "encryption")
    other.close()
    assert rows_of(Store.open(plain.path)) == before
    assert [path.name for path in tmp_path.iterdir()] == ["caseload.armrise"]


def test_where_a_file_has_one_name_only_the_former_one_is_copied(
    encrypted: Store, cheap_keys: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object, **__: object) -> None:
        raise PermissionError

    monkeypatch.setattr(convert.os, "link", none)
    rows = rows_of(encrypted)
    there = convert.convert(encrypted, None, AT, "decryption")
    assert rows_of(Store.open(there.aside)) == rows
    assert rows_of(Store.open(there.path)) == rows
    assert Store.open(there.aside).driver.encrypted
    back = convert.convert(Store.open(there.path), keys.derive(PASSPHRASE, keys.new_salt()), AT, "encryption")
    assert rows_of(Store.open(back.aside)) == rows
    assert not Store.open(back.aside).driver.encrypted


def test_whoever_has_it_open_meanwhile_is_told_to_open_it_again(plain: Store, cheap_keys: None) -> None:
    key = keys.derive(PASSPHRASE, keys.new_salt())
    convert.convert(plain, key, AT, "encryption")
    keys.hold(key)
    with pytest.raises(StoreError, match="is encrypted now: leave armrise and open it again"):
        desk.marks(plain, "TK")
    encrypted = Store.open(plain.path)
    convert.convert(encrypted, None, AT, "decryption")
    with pytest.raises(StoreError, match=r"is another file than it was.*open it again"):
        desk.marks(encrypted, "TK")


@pytest.mark.parametrize("what", ["_compare", "_name_twice", "_holds"])
def test_whatever_goes_wrong_the_store_is_as_it_was(
    what: str, plain: Store, tmp_path: Path, cheap_keys: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = rows_of(plain)
    monkeypatch.setattr(convert, what, fails)
    with pytest.raises(StoreError, match=r"no space left on device.*the store is as it was"):
        convert.convert(plain, keys.derive(PASSPHRASE, keys.new_salt()), AT, "encryption")
    assert rows_of(Store.open(plain.path)) == before
    assert [path.name for path in tmp_path.iterdir()] == ["caseload.armrise"]
    with contextlib.closing(Store.open(plain.path).connect()) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_copy_that_lacks_a_row_is_not_taken(
    plain: Store, tmp_path: Path, cheap_keys: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    compare = convert._compare

    def lacking(connection: Any) -> None:
        connection.execute("DELETE FROM made.draft")
        compare(connection)

    monkeypatch.setattr(convert, "_compare", lacking)
    with pytest.raises(StoreError, match="not what the store is: nothing was changed"):
        convert.convert(plain, keys.derive(PASSPHRASE, keys.new_salt()), AT, "encryption")
    assert [path.name for path in tmp_path.iterdir()] == ["caseload.armrise"]


def test_what_is_refused_in_a_plain_store_is_refused_in_an_encrypted_one(encrypted: Store) -> None:
    with pytest.raises(StoreError, match="never changed or deleted"), encrypted.writing() as connection:
        connection.execute("UPDATE cases SET side = 'LEFT'")
    with pytest.raises(StoreError, match="the store refused a value"), encrypted.writing() as connection:
        connection.execute("INSERT INTO look (author, code, at_utc) VALUES (NULL, 'BY-018', 1)")
    with pytest.raises(StoreError, match="refused a value"), encrypted.session(writing=True) as session:
        session.connection().exec_driver_sql("INSERT INTO look (author, code, at_utc) VALUES (NULL, 'X', 1)")
