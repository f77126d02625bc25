"""What stands on the screen when there is no list: it must stay there after the first moments."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.store.database.place import Store
from armrise.tui.app.app import ArmriseApp
from armrise.tui.board.reader import PROGRESS_AFTER
from armrise.tui.shell.opening import Opening


def damaged(path: Path) -> None:
    """A store file cut short."""
    Store.create(path, zone="UTC")
    path.write_bytes(path.read_bytes()[:3000])


@pytest.mark.parametrize(
    ("make", "said"),
    [(lambda path: Store.create(path, zone="UTC"), "No cases yet"), (damaged, "restore a backup")],
    ids=["empty", "damaged"],
)
async def test_the_words_for_no_list_are_not_painted_over(tmp_path: Path, make, said: str) -> None:
    """The note of what is being read comes a moment later, and only if something still is."""
    path = tmp_path / "caseload.armrise"
    make(path)
    app = ArmriseApp(Opening(path, False, None, None))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(PROGRESS_AFTER * 3)
        await app.workers.wait_for_complete()
        await pilot.pause(PROGRESS_AFTER * 2)
        assert said in app.screen_stack[0].state
