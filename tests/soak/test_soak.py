"""A little of the soak: killed in every kind of work nothing is lost, and writers at once lose nothing."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

import pytest

from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store
from armrise.store.record.kinds.care import Contact
from tests.soak import damaged, kills
from tests.soak.__main__ import README, table
from tests.soak.tally import Counted, Tally
from tests.soak.works.every import KINDS
from tests.soak.works.kind import HEAD, NOW, TODAY, Kind
from tests.soak.works.writing import APPEND
from tests.soak.writers import write

SEED = 20260302


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_killed_at_any_moment_nothing_is_lost_or_half_done(kind: Kind, tmp_path: Path) -> None:
    (tmp_path / "made ready").mkdir()
    draw = kills.prepare(tmp_path / "made ready", (kind,))
    assert [trial.do().faults for trial in islice(draw(SEED, tmp_path), 2)] == [{}, {}]


def test_what_is_lost_or_half_done_is_found_out(tmp_path: Path) -> None:
    APPEND.lay(tmp_path)
    assert list(APPEND.faults(tmp_path, ["4711"])) == ["entry 4711 was told and is lost"]
    ledger = Ledger(Store.open(tmp_path / "caseload.armrise"), "TK", lambda: NOW)
    (alone,) = ledger.append(
        HEAD.code, [Contact(on=TODAY, recorded_at=NOW, recorded_on=TODAY, outcome="spoke")]
    )
    assert list(APPEND.faults(tmp_path, [f"{alone}"])) == [f"action {alone} is half there"]


def test_a_damaged_copy_that_is_to_be_restored_is_refused_or_told(tmp_path: Path) -> None:
    draw = damaged.prepare(tmp_path, ("restored",))
    assert [trial.do().faults for trial in islice(draw(SEED, tmp_path), 4)] == [{}] * 4


def test_two_writers_at_once_lose_nothing() -> None:
    found = write(2, 5)
    assert (found.told + found.refused, found.there - 1, found.sound) == (10, found.told, True)
    assert found.seen_after < 3


def test_the_tables_say_what_was_cut_short_and_how_often_and_what_else_was_done() -> None:
    tally = Tally()
    tally.add("killed", 0, {"append": Counted(1200), "load": Counted(34, 1)})
    tally.add("power cut", 0, {"append": Counted(7)})
    tally.add("written", 0, {"actions": Counted(100, 0, 0.24)})
    assert table(tally) == (
        "| work cut short | killed | power cut | lost or half done |\n"
        "|---|---:|---:|---:|\n"
        "| append | 1,200 | 7 | 0 |\n"
        "| load | 34 | 0 | 1 |\n"
        "| **in all** | **1,234** | **7** | 1 |\n\n"
        "| what | how often | counted as a fault | faults |\n|---|---:|---|---:|\n"
        "| written: actions, another's change seen after 0.2 s at most | 100 | "
        "lost, or another's change seen later than 3 s | 0 |\n"
    )
    assert "<!-- soak -->\n" in README.read_text(encoding="utf-8")
