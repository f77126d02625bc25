"""A little of the soak: killed in every kind of work nothing is lost, and writers at once lose nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store
from armrise.store.record.kinds.care import Contact
from tests.soak.__main__ import MARKS, README, put_into, table
from tests.soak.kills import HEAD, KINDS, NOW, TODAY, Kind, kills
from tests.soak.writers import write

SEED = 20260302
EACH = 3


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_killed_at_any_moment_nothing_is_lost_or_half_done(kind: Kind) -> None:
    assert [one.faults for one in kills(EACH, SEED, (kind,))] == [()] * EACH


def test_what_is_lost_or_half_done_is_found_out(tmp_path: Path) -> None:
    append = next(kind for kind in KINDS if kind.name == "append")
    append.lay(tmp_path)
    assert list(append.faults(tmp_path, ["4711"])) == ["entry 4711 was told and is lost"]
    ledger = Ledger(Store.open(tmp_path / "caseload.armrise"), "TK", lambda: NOW)
    (alone,) = ledger.append(
        HEAD.code, [Contact(on=TODAY, recorded_at=NOW, recorded_on=TODAY, outcome="spoke")]
    )
    assert list(append.faults(tmp_path, [f"{alone}"])) == [f"action {alone} is half there"]


def test_two_writers_at_once_lose_nothing() -> None:
    found = write(2, 5)
    assert (found.told + found.refused, found.there - 1, found.sound) == (10, found.told, True)
    assert found.seen_after < 3


def test_the_table_goes_between_its_marks(tmp_path: Path) -> None:
    page = tmp_path / "README.md"
    page.write_text(f"before\n{MARKS[0]}old\n{MARKS[1]}\nafter\n", encoding="utf-8")
    put_into(page, table([("killed in: append", 1200, "lost", 0)]))
    assert page.read_text(encoding="utf-8") == (
        f"before\n{MARKS[0]}| what | how often | counted as a fault | faults |\n|---|---|---|---|\n"
        f"| killed in: append | 1,200 | lost | 0 |\n{MARKS[1]}\nafter\n"
    )
    assert all(mark in README.read_text(encoding="utf-8") for mark in MARKS)
