"""The kept list behind the list: shown before rules are read, corrected where wrong, kept on leaving."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import textwrap
from datetime import date, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot

from armrise.store.caseload.judged import Judged
from armrise.store.database.place import Store
from armrise.store.exchange.out.formats import stamped
from armrise.store.exchange.out.listing import as_json
from armrise.store.exchange.out.plain_text import as_text, heading_of
from armrise.store.files.beside import kept_beside
from armrise.store.kept import printed as kept_texts
from armrise.store.kept.corrected import corrections
from armrise.store.kept.printed import NAMES
from armrise.tui.app import leaving
from armrise.tui.app.app import ArmriseApp
from armrise.tui.board import keeping as behind
from armrise.tui.shell import keeping as keepings
from armrise.tui.shell import opening
from armrise.tui.shell.opening import Opening
from armrise.tui.shell.store_door import StoreDoor
from tests.tui.conftest import settled
from tests.tui.form_store import painted


@pytest.fixture
def path(demonstration: Path, tmp_path: Path) -> Path:
    """The fictional caseload in a store of one's own."""
    return Path(shutil.copy(demonstration, tmp_path / "caseload.armrise"))


def opened(path: Path, **asked: object) -> StoreDoor:
    door = Opening(path, author="TK", **asked).door(lambda _: None)  # pyright: ignore[reportArgumentType]
    assert isinstance(door, StoreDoor)
    return door


def read_and_kept(path: Path) -> StoreDoor:
    """A door through which the list was read and kept."""
    door = opened(path)
    assert opening.kept(door) is None
    opening.read(door)
    assert door.keeping is not None
    assert door.keeping.keep()
    return door


def printed(door: StoreDoor) -> tuple[str | None, ...]:
    return tuple(kept_texts.printed(door.store, door.rules.digest, door.today, name) for name in NAMES)


def without_desk(reading: opening.Reading) -> opening.Reading:
    return reading._replace(off=(), head={**reading.head, "backup_age": None})


def test_what_is_shown_at_once_is_what_is_read(path: Path) -> None:
    door = read_and_kept(path)
    again = opened(path)
    shown = opening.kept(again)
    assert shown is not None
    assert again.held is None
    assert without_desk(shown) == without_desk(opening.read(door))
    whole = opening.rest(again, shown)
    assert whole == shown
    assert again.held == door.held
    assert opening.read(again).off == opening.read(door).off
    assert opening.blank_after(again) == opening.blank_after(door)


def test_before_the_kept_list_stands_no_rule_and_no_record_type_is_read(path: Path) -> None:
    """Nor any of the libraries that are large."""
    read_and_kept(path)
    code = """
        import sys, json
        from pathlib import Path
        from armrise.tui.app.app import ArmriseApp
        from armrise.tui.shell import opening
        door = opening.Opening(Path(sys.argv[1]), author="TK").door(lambda _: None)
        assert opening.kept(door) is not None
        assert opening.blank_after(door) == 60
        print(json.dumps(sorted(sys.modules)))
    """
    told = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(path)], capture_output=True, text=True, check=True
    )
    found = set(json.loads(told.stdout))
    heavy = {"tomllib", "ssl", "hashlib", "sqlmodel", "sqlalchemy", "pydantic", "pendulum", "click", "numpy"}
    ours = {"rules.pathway", "rules.read", "record.case", "caseload.read", "clinic.standing.stand"}
    assert not found & (heavy | {f"armrise.store.{name}" for name in ours})


def test_after_warming_the_first_check_in_imports_and_compiles_nothing(path: Path) -> None:
    code = """
        import sys
        from pathlib import Path
        from armrise.tui.shell.opening import Opening, read
        door = Opening(Path(sys.argv[1]), author="TK").door(lambda _: None)
        first = read(door).standings[0].code
        door.warm()
        opened, before, compiled = door.open(first), set(sys.modules), []
        sys.addaudithook(lambda event, told: compiled.append(told) if event == "compile" else None)
        door.append(first, [door.draft("session", during=3, later=2)], seen=opened.seen)
        door.forget_unwritten(first, "CheckInScreen")
        read(door)
        assert set(sys.modules) == before, set(sys.modules) - before
        assert not compiled, len(compiled)
    """
    subprocess.run([sys.executable, "-c", textwrap.dedent(code), str(path)], check=True)


def test_of_a_long_list_the_first_rows_stand_first(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keepings, "WHOLE", 20)
    monkeypatch.setattr(keepings, "FIRST", 10)
    every = opening.read(read_and_kept(path))
    again = opened(path)
    shown = opening.kept(again)
    assert shown is not None
    assert shown.standings == every.standings[:10]
    assert shown.more == len(every.standings) - 10
    assert shown.counts is not None
    assert shown.counts["active"] == sum(s.status == "active" for s in every.standings)
    assert without_desk(opening.rest(again, shown)) == without_desk(every)


@pytest.mark.parametrize("asked", [{"as_of": date(2026, 3, 2)}, {"rules": Path("nowhere")}], ids=str)
def test_another_date_or_other_rules_asked_for_use_and_keep_nothing(
    path: Path, asked: dict[str, object]
) -> None:
    read_and_kept(path)
    assert opened(path, **asked).keeping is None


def test_what_came_since_is_judged_before_anything_is_shown(path: Path) -> None:
    door = read_and_kept(path)
    code = opening.read(door).standings[0].code
    door.append(code, [door.draft("contact", outcome="no answer")], confirmed=True)
    again = opened(path)
    assert opening.kept(again) is None
    assert opening.read(again).standings == tuple(opening.read(opened(path, as_of=door.today)).standings)
    assert again.keeping is not None
    assert again.keeping.unproved
    assert again.keeping.keep()
    assert not again.keeping.keep_printed(), "one case alone was judged"
    assert printed(again) == (None, None)
    assert again.keeping.judge_anew(lambda: None) == {}
    assert not again.keeping.unproved
    assert again.keeping.keep_printed()
    text, told = printed(again)
    rows = as_json(opening.read(again).standings)
    assert told == json.dumps(stamped("list", {"cases": rows}), indent=2) + "\n"
    assert text == as_text(opening.read(again).standings, heading_of(again.store, again.rules, again.today))


def test_the_next_days_are_made_ahead_over_a_weekend(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    door = read_and_kept(path)
    keeping = door.keeping
    assert keeping is not None
    monkeypatch.setattr(StoreDoor, "today", date(2026, 3, 6))  # a Friday
    friday, *ahead = keeping.days()
    assert [day.weekday() for day in (friday, *ahead)] == [4, 5, 6, 0]
    opening.read(door)
    assert keeping.keep()
    assert keeping.make_ahead(lambda: None)
    monkeypatch.setattr(StoreDoor, "today", friday + timedelta(days=3))
    monday = opened(path)
    shown = opening.kept(monday)
    assert shown is not None
    assert shown.standings == opening.read(opened(path, as_of=monday.today)).standings


def test_leaving_keeps_the_list_and_the_next(path: Path) -> None:
    door = opened(path)
    opening.read(door)
    leaving.keep(door)
    assert door.keeping is not None
    assert opening.kept(opened(path)) is not None
    assert all(door.keeping.of(day) for day in door.keeping.days())
    assert all(printed(door))


async def comes(pilot: Pilot[None], words: str) -> bool:
    """True once the words are on the screen, by the worker that judges anew."""
    for _ in range(100):
        await settled(pilot)
        if words in painted(pilot):
            return True
        await pilot.pause(0.05)
    return False


async def test_a_list_kept_wrongly_is_corrected_and_the_head_says_so(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row is kept as it never was, under digests that are right: only judging anew can find that."""
    door = read_and_kept(path)
    assert door.held is not None
    first, *others = door.held.standings
    door.held = Judged(door.held.mark, (first._replace(stage_name="Never so"), *others))
    assert door.keeping is not None
    door.keeping._kept = None
    assert door.keeping.keep()
    monkeypatch.setattr(behind, "ANEW_AFTER", 0.01)
    app = ArmriseApp(Opening(path, author="TK"))
    async with app.run_test(size=(120, 40)) as pilot:
        assert await comes(pilot, "The list was corrected: 1 case")
        assert "Never so" not in painted(pilot)
    (noted,) = corrections(Store.open(path))
    assert noted.fields == ("stage_name",)


async def test_what_could_not_be_judged_anew_is_after_the_next_reading(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As while an earlier list is looked at, through which nothing is kept."""
    read_and_kept(path)
    judged: list[object] = []
    monkeypatch.setattr(keepings.Keeping, "judge_anew", lambda self, pause: judged.append(self) or {})
    monkeypatch.setattr(behind, "ANEW_AFTER", 0.01)
    monkeypatch.setattr(behind.ListKeeper, "_keeping", property(lambda board: keeping.get(board.app.door)))
    keeping: dict[object, keepings.Keeping] = {}
    app = ArmriseApp(Opening(path, author="TK"))
    async with app.run_test() as pilot:
        await settled(pilot)
        assert isinstance(app.door, StoreDoor)
        board = app.screen_stack[0]
        assert isinstance(board, behind.ListKeeper)
        found = app.door.keeping
        assert found is not None
        board._judging = True
        board.judge_anew()
        await app.workers.wait_for_complete()
        assert judged == []
        keeping[app.door] = found
        board.keep_soon()
        await pilot.pause(0.05)
        await app.workers.wait_for_complete()
        assert judged == [found]


async def test_a_store_damaged_since_is_said_though_the_kept_list_stood(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_and_kept(path)

    def fails(*_: object) -> None:
        raise OSError("the disk cannot be read")

    monkeypatch.setattr(keepings.Keeping, "judge_anew", fails)
    monkeypatch.setattr(behind, "ANEW_AFTER", 0.01)
    app = ArmriseApp(Opening(path, author="TK"))
    async with app.run_test(size=(120, 40)) as pilot:
        assert await comes(pilot, "The caseload cannot be shown.")


def test_of_a_store_for_reading_only_nothing_is_kept(path: Path) -> None:
    path.chmod(0o400)
    store = Store.open(path, read_only=True)
    door = Opening(prepare=lambda: store).door(lambda _: None)
    opening.read(door)
    leaving.keep(door)
    assert not kept_beside(path).exists()
