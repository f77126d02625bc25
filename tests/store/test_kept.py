"""The kept list: what is shown from it is what is judged anew, whatever became of store and file since."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import stat
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import NamedTuple

import pytest

from armrise.store.caseload.judged import Judged, judged
from armrise.store.caseload.read import standings
from armrise.store.caseload.write import Ledger
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.triage import on_list, order
from armrise.store.database import sqlite
from armrise.store.database.encrypted import convert, keys
from armrise.store.database.place import Store
from armrise.store.exchange.backup import leftovers, restore
from armrise.store.exchange.backup.make import back_up
from armrise.store.files import throwaway
from armrise.store.files.beside import kept_beside
from armrise.store.kept.anew import differing
from armrise.store.kept.corrected import corrections, note
from armrise.store.kept.file import Doubt, KeptFile
from armrise.store.kept.kept import KeptLists
from armrise.store.kept.said import Said
from armrise.store.record.kinds.care import Contact, Visit
from armrise.store.rules.folder.versions import load_in_force
from armrise.store.rules.pathway import Rules
from tests.encrypted import PASSPHRASE, cheap_keys, encrypt, needs_the_extra, readable  # noqa: F401
from tests.store.drafts import TODAY, Clock, head

pytestmark = pytest.mark.usefixtures("worked_out_once")
SAID = Said("3", "NOT SIGNED OFF", 60)
TOMORROW = TODAY + timedelta(days=1)


class Own(NamedTuple):
    """A store of one's own, and the rules in force."""

    store: Store
    rules: Rules

    def again(self) -> Own:
        """As another process opens it."""
        return Own(Store.open(self.store.path), self.rules)


@pytest.fixture(scope="module")
def in_force() -> Rules:
    return load_in_force()


@pytest.fixture
def own(made: Path, tmp_path: Path, in_force: Rules) -> Own:
    return Own(Store.open(shutil.copy(made, tmp_path / "caseload.armrise")), in_force)


def keep(own: Own, day: date = TODAY, days: tuple[date, ...] = (TODAY, TOMORROW)) -> Judged:
    made = judged(own.store, own.rules, day)
    assert made.mark is not None
    assert KeptLists(own.store).keep(made.mark, made.standings, SAID, days)
    return made


def shown(own: Own, day: date = TODAY) -> tuple[list[Standing], bool]:
    """What is shown of a day by whoever starts now, and whether the file had a part in it.

    The same steps as the door takes.
    """
    kept = KeptLists(own.store).look(own.rules.digest, day)
    if kept is None:
        return list(judged(own.store, own.rules, day).standings), False
    try:
        rows = order([*kept.rows(), *kept.off()])
    except Doubt:
        return list(judged(own.store, own.rules, day).standings), False
    if not kept.news:
        return rows, True
    return list(judged(own.store, own.rules, day, Judged(kept.page.mark, tuple(rows))).standings), True


def anew(own: Own, day: date = TODAY) -> list[Standing]:
    return standings(own.store, own.rules, day)


def ledger(own: Own, at: datetime | None = None) -> Ledger:
    return Ledger(own.store, "TK", Clock(at or datetime(2026, 3, 2, 21, tzinfo=UTC)), own.rules)


# What is shown


def test_what_was_kept_is_shown_and_is_what_is_judged(own: Own) -> None:
    made = keep(own)
    kept = KeptLists(own.again().store).look(own.rules.digest, TODAY)
    assert kept is not None
    assert not kept.news
    assert kept.page.said == SAID
    assert kept.page.mark == made.mark
    assert kept.rows() == on_list(made.standings)
    assert order([*kept.rows(), *kept.off()]) == list(made.standings) == anew(own)
    assert kept.rows(3) == on_list(made.standings)[:3]
    counted = dict(kept.page.counts)
    assert counted["active"] == sum(s.status == "active" for s in kept.rows())
    assert counted["waiting"] == sum(s.status == "waiting" for s in kept.off())


def test_the_file_is_private_and_no_store(own: Own) -> None:
    keep(own)
    path = kept_beside(own.store.path)
    assert path.name == "caseload.armrise.kept"
    assert os.name != "posix" or stat.S_IMODE(path.stat().st_mode) == 0o600
    assert restore.look(path).fault


ACTS: dict[str, Callable[[Ledger, Random], object]] = {
    "a visit": lambda ledger, _: ledger.append("BY-003", [_visit()]),
    "a call": lambda ledger, _: ledger.append("BY-018", [_call()]),
    "an undo": lambda ledger, _: (ledger.append("BY-007", [_call()]), ledger.undo("BY-007")),
    "a case registered": lambda ledger, dice: ledger.register(head(f"N-{dice.randrange(10**6)}")),
    "a second case of a person": lambda ledger, _: ledger.register(
        head("N-2", person=_person(ledger), side="LEFT" if _side(ledger) == "RIGHT" else "RIGHT")
    ),
    "a withdrawal": lambda ledger, _: ledger.correct(
        ledger.append("BY-015", [_call()])[0], "another patient was meant"
    ),
}


def _visit() -> Visit:
    return Visit(on=TODAY, recorded_at=datetime(2026, 3, 2, 20, tzinfo=UTC), recorded_on=TODAY, author="TK")


def _call() -> Contact:
    at = datetime(2026, 3, 2, 20, tzinfo=UTC)
    return Contact(on=TODAY, recorded_at=at, recorded_on=TODAY, author="TK", outcome="spoke")


def _person(ledger: Ledger) -> str:
    return _of_003(ledger, "person")


def _side(ledger: Ledger) -> str:
    return _of_003(ledger, "side")


def _of_003(ledger: Ledger, what: str) -> str:
    with ledger.store.reading() as connection:
        return connection.execute(f"SELECT {what} FROM cases WHERE code = 'BY-003'").fetchone()[0]


@pytest.mark.parametrize("what", ACTS)
def test_after_a_write_what_is_shown_is_what_is_judged_anew(own: Own, what: str) -> None:
    keep(own)
    before = anew(own)
    ACTS[what](ledger(own), Random(1))
    found, used = shown(own.again())
    assert used
    assert found == anew(own)
    assert what in ("an undo", "a withdrawal", "a case registered") or found != before


@pytest.mark.parametrize("seed", range(6))
def test_after_random_writes_corrections_and_midnights_it_is_the_same(own: Own, seed: int) -> None:
    """Writing, keeping again, and the lists of the day after, in any order."""
    dice, day = Random(seed), TODAY
    keep(own)
    clock = datetime(2026, 3, 2, 21, tzinfo=UTC)
    for number in range(5):
        match dice.choice(("write", "write", "keep", "ahead", "midnight")):
            case "write":
                name = dice.choice([one for one in ACTS if one != "a second case of a person"])
                ACTS[name](ledger(own, clock), dice)
            case "keep":
                keep(own, day, (day, day + timedelta(days=1)))
            case "ahead":
                keep(own, day + timedelta(days=1), (day, day + timedelta(days=1)))
            case _:
                day += timedelta(days=1)
        clock += timedelta(minutes=number + 1)
        found, _ = shown(own.again(), day)
        assert found == anew(own, day)


def test_the_list_made_ahead_is_that_of_the_next_day(own: Own) -> None:
    keep(own)
    keep(own, TOMORROW)
    assert shown(own.again(), TOMORROW) == (anew(own, TOMORROW), True)
    assert shown(own.again()) == (anew(own), True)
    ledger(own).append("BY-003", [_visit()])
    assert shown(own.again(), TOMORROW) == (anew(own, TOMORROW), True)


def test_lists_of_other_days_go(own: Own) -> None:
    keep(own)
    keep(own, TOMORROW, (TOMORROW, TOMORROW + timedelta(days=1)))
    assert shown(own) == (anew(own), False)


# When it is not used


def test_under_other_rules_it_is_not_used_and_cleared(own: Own) -> None:
    keep(own)
    assert KeptLists(own.store).look("0" * 64, TODAY) is None
    assert not kept_beside(own.store.path).exists()


def test_rules_of_no_digest_keep_and_use_nothing(own: Own) -> None:
    """Numbers changed in memory are rules that no file holds."""
    made = judged(own.store, own.rules, TODAY)
    assert made.mark is not None
    other = made.mark._replace(rules="")
    assert not KeptLists(own.store).keep(other, made.standings, SAID)
    keep(own)
    assert KeptLists(own.store).look("", TODAY) is None


def test_another_program_uses_nothing(own: Own, monkeypatch: pytest.MonkeyPatch) -> None:
    keep(own)
    monkeypatch.setattr("armrise.store.caseload.mark.program", lambda: "another")
    assert shown(own) == (anew(own), False)
    assert not kept_beside(own.store.path).exists()


def test_another_zone_uses_nothing(own: Own) -> None:
    keep(own)
    with contextlib.closing(sqlite3.connect(own.store.path)) as raw:
        for verb in ("update", "delete", "replace"):
            raw.execute(f"DROP TRIGGER setting_no_{verb}")
        raw.execute("UPDATE setting SET value = 'Pacific/Auckland' WHERE name = 'zone'")
        raw.commit()
    assert shown(own.again()) == (anew(own), False)


def test_an_older_copy_put_back_uses_nothing(own: Own, tmp_path: Path) -> None:
    """By hand, so that nothing cleared the file; and written on until it is as long as it was."""
    copy = tmp_path / "copy.armrise"
    with contextlib.closing(own.store.connect()) as connection:
        connection.execute(f"VACUUM INTO '{copy}'")
    ledger(own).append("BY-003", [_visit()])
    keep(own)
    for end in ("-wal", "-shm"):
        own.store.path.with_name(own.store.path.name + end).unlink(missing_ok=True)
    os.replace(copy, own.store.path)
    other = own.again()
    ledger(other).append("BY-018", [_call()])
    assert shown(other) == (anew(other), False)


@pytest.mark.parametrize(
    "other", ["read only", "as known", "thrown away"], ids=lambda name: name.replace(" ", "_")
)
def test_nothing_is_kept_of_such_a_store(own: Own, tmp_path: Path, other: str) -> None:
    if other == "thrown away":
        store = Store.create(tmp_path / "a.armrise", zone="Europe/London", lasting=False)
    elif other == "read only":
        store = Store.open(own.store.path, read_only=True)
    else:
        store = own.store.as_known(datetime(2026, 3, 2, tzinfo=UTC))
    lists = KeptLists(store)
    made = judged(own.store, own.rules, TODAY)
    assert made.mark is not None
    assert lists.file is None
    assert not lists.keep(made.mark, made.standings, SAID)
    assert lists.look(own.rules.digest, TODAY) is None
    assert not kept_beside(store.path).exists()


def test_nothing_is_kept_on_a_server(on_server: Store) -> None:
    assert KeptLists(on_server).file is None


def test_what_came_meanwhile_is_not_lost_by_keeping_an_older_list(own: Own) -> None:
    made = judged(own.store, own.rules, TODAY)
    assert made.mark is not None
    ledger(own).append("BY-003", [_visit()])
    assert KeptLists(own.store).keep(made.mark, made.standings, SAID)
    assert shown(own.again()) == (anew(own), True)


def test_a_list_of_another_store_is_not_kept(own: Own, tmp_path: Path) -> None:
    store = Store.create(tmp_path / "other.armrise", zone="Europe/London")
    made = judged(own.store, own.rules, TODAY)
    assert made.mark is not None
    assert not KeptLists(store).keep(made.mark, made.standings, SAID)
    assert not kept_beside(store.path).exists()


# Damage


def _pieces(path: Path) -> list[int]:
    size = path.stat().st_size
    return [0, 1, 100, 4096, size // 2, size - 1]


@pytest.mark.parametrize("piece", range(6))
def test_a_truncated_file_is_never_shown_as_truth(own: Own, piece: int) -> None:
    keep(own)
    path = kept_beside(own.store.path)
    os.truncate(path, _pieces(path)[piece])
    assert shown(own)[0] == anew(own)
    keep(own)
    assert shown(own) == (anew(own), True)


@pytest.mark.parametrize("seed", range(12))
def test_flipped_bytes_are_never_shown_as_truth(own: Own, seed: int) -> None:
    """Anywhere in the file, and inside the texts themselves."""
    keep(own)
    path, dice = kept_beside(own.store.path), Random(seed)
    raw = bytearray(path.read_bytes())
    for _ in range(1 + seed % 4):
        raw[dice.randrange(len(raw))] ^= 1 << dice.randrange(8)
    path.write_bytes(bytes(raw))
    assert shown(own)[0] == anew(own)


@pytest.mark.parametrize(
    "harm",
    [
        """UPDATE row SET text = replace(text, 'LEFT', 'RIGHT')""",
        """UPDATE list SET text = replace(text, 'LEFT', 'RIGHT') || ' '""",
        """UPDATE list SET digest = 'x'""",
        """DELETE FROM row WHERE digest = (SELECT min(digest) FROM row)""",
        """UPDATE row SET text = 7""",
        """UPDATE list SET day = '2026-03-03'""",
        """DROP TABLE row""",
        """PRAGMA user_version = 99""",
        """PRAGMA application_id = 0""",
    ],
)
def test_a_file_that_was_changed_is_cleared_and_not_used(own: Own, harm: str) -> None:
    keep(own)
    path = kept_beside(own.store.path)
    with contextlib.closing(sqlite3.connect(path)) as raw:
        raw.execute(harm)
        raw.commit()
    day = TOMORROW if "day" in harm else TODAY
    assert shown(own, day) == (anew(own, day), False)
    assert not path.exists()


def test_texts_that_are_no_list_though_their_digests_are_right_are_not_used(own: Own) -> None:
    keep(own)
    file = KeptFile(own.store.driver)  # pyright: ignore[reportArgumentType]
    assert file.put(TODAY, json.dumps(["no", "list"]), [], lambda one: one, (TODAY,))
    assert shown(own) == (anew(own), False)
    assert not file.path.exists()


def test_what_is_no_file_is_left_alone(own: Own) -> None:
    kept_beside(own.store.path).mkdir()
    made = judged(own.store, own.rules, TODAY)
    assert made.mark is not None
    assert not KeptLists(own.store).keep(made.mark, made.standings, SAID)
    assert shown(own) == (anew(own), False)


def test_somebody_else_writing_there_is_waited_for_by_nobody(own: Own) -> None:
    made = keep(own)
    path = kept_beside(own.store.path)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        assert made.mark is not None
        before = time.monotonic()
        assert not KeptLists(own.store).keep(made.mark, made.standings, SAID)
        assert shown(own) == (anew(own), False)
        assert time.monotonic() - before < sqlite.BUSY_SECONDS
        other.execute("ROLLBACK")
    assert shown(own) == (anew(own), True)


def test_a_program_killed_while_it_keeps_leaves_the_list_before_or_none(own: Own) -> None:
    keep(own)
    before = anew(own)
    code = """
        import os, sys
        from datetime import date
        from pathlib import Path
        from armrise.store.database.place import Store
        from armrise.store.kept import file
        store = Store.open(Path(sys.argv[1]))
        def written(connection, *_):
            connection.execute("DELETE FROM row")
            connection.execute("PRAGMA cache_spill = 1")
            connection.execute("INSERT INTO row VALUES ('2026-03-02', 'x', hex(zeroblob(4000000)))")
            os.kill(os.getpid(), 9)
        file._write = written
        file.KeptFile(store.driver).put(date(2026, 3, 2), "", [], str, [])
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(own.store.path)], capture_output=True, check=False
    )
    assert done.returncode == -9
    found, _ = shown(own)
    assert found == before
    keep(own)
    assert shown(own) == (before, True)


# What clears it


def test_a_restore_clears_it(own: Own, tmp_path: Path) -> None:
    now = datetime(2026, 3, 2, 22, tzinfo=UTC)
    made = back_up(own.store, [tmp_path / "backups"], now, lambda: False)
    keep(own)
    copies = list((tmp_path / "backups").iterdir())
    assert made
    assert not [copy for copy in copies if ".kept" in copy.name]
    copy = next(path for path in copies if path.suffix == ".armrise")
    restore.put_back(restore.plan(copy, own.store.path), now)
    assert not kept_beside(own.store.path).exists()


def test_that_of_a_store_that_is_gone_is_cleared_with_the_leftovers(own: Own, tmp_path: Path) -> None:
    keep(own)
    gone = tmp_path / "old.armrise.kept"
    for end in ("", "-journal"):
        shutil.copy(kept_beside(own.store.path), gone.with_name(gone.name + end))
    later = datetime.now(UTC).timestamp() + 2 * throwaway.UNTOUCHED_SECONDS
    leftovers.clear(own.store.path, later)
    assert not gone.exists()
    assert not gone.with_name(gone.name + "-journal").exists()
    assert shown(own) == (anew(own), True)


# Encrypted


@needs_the_extra
def test_beside_an_encrypted_store_nothing_can_be_read(
    own: Own,
    tmp_path: Path,
    cheap_keys: None,  # noqa: F811
) -> None:
    sealed = Own(Store.open(encrypt(own.store.path)), own.rules)
    keep(sealed)
    path = kept_beside(sealed.store.path)
    assert path.is_file()
    assert readable(tmp_path, "BY-003", "red flag", "SQLite format", "CREATE TABLE") == {}
    assert shown(sealed.again()) == (anew(sealed), True)
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 1
    path.write_bytes(bytes(raw))
    assert shown(sealed)[0] == anew(sealed)


@needs_the_extra
def test_a_list_kept_in_plain_goes_when_the_store_is_encrypted(
    own: Own,
    tmp_path: Path,
    cheap_keys: None,  # noqa: F811
) -> None:
    """And whoever had the store open in plain keeps no list of it any more."""
    made = keep(own)
    lists = KeptLists(own.store)
    encrypt(own.store.path)
    assert not kept_beside(own.store.path).exists()
    assert made.mark is not None
    with contextlib.suppress(Exception):
        lists.keep(made.mark, made.standings, SAID)
    assert readable(tmp_path, "BY-003", "CREATE TABLE") == {}


@needs_the_extra
def test_a_new_passphrase_clears_it(own: Own, cheap_keys: None) -> None:  # noqa: F811
    sealed = Own(Store.open(encrypt(own.store.path)), own.rules)
    keep(sealed)
    key = keys.derive(PASSPHRASE + " more", keys.new_salt())
    convert.convert(sealed.store, key, datetime(2026, 3, 2, 8), "passphrase")
    assert not kept_beside(own.store.path).exists()


# Judged anew


def test_judged_anew_in_slices_is_the_list_and_can_be_stopped(own: Own) -> None:
    looked: list[int] = []
    found = judged(own.store, own.rules, TODAY, pause=lambda: looked.append(1))
    assert found == judged(own.store, own.rules, TODAY)
    assert len(looked) > len(found.standings)

    def stop() -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        judged(own.store, own.rules, TODAY, pause=stop)


def test_what_differs_is_named_without_a_code_and_without_a_word_of_a_case(own: Own) -> None:
    found = judged(own.store, own.rules, TODAY)
    one, two, *others = found.standings
    wrong = one._replace(tried="x")
    kept = Judged(found.mark, (wrong, *others))
    told = differing(own.store, kept, found)
    assert told == {one.code: ("tried",), two.code: ("code",)}
    assert differing(own.store, found, found) == {}
    note(own.store, told, datetime(2026, 3, 2, 8, tzinfo=UTC))
    (noted,) = corrections(own.store)
    assert noted == ("2026-03-02T08:00:00+00:00", 2, ("code", "tried"))
    for _ in range(30):
        note(own.store, told, datetime(2026, 3, 3, 8, tzinfo=UTC))
    assert len(corrections(own.store)) == 20


def test_what_came_in_between_is_no_difference(own: Own) -> None:
    kept = judged(own.store, own.rules, TODAY)
    ledger(own).append("BY-003", [_visit()])
    found = judged(own.store, own.rules, TODAY)
    assert found.standings != kept.standings
    assert differing(own.store, kept, found) == {}
