"""``armrise views``: what it prints, keeps and refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from armrise.store.database.place import Store
from armrise.tui.command import main as command

SHIPPED = "1  all\n2  coming in today\n3  none booked\n4  ready\n5  my marks\n"


def test_views_are_printed_added_and_dropped(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(Store.create(tmp_path / "own.armrise", zone="UTC").path)

    def views(*asked: str) -> tuple[int, str, str]:
        code = command.run(["views", "--store", path, *asked])
        out, err = capsys.readouterr()
        return code, out, err

    assert views() == (0, SHIPPED, "")
    assert views("--add", 'TK = tk "none booked"') == (0, f'{SHIPPED}6  TK = tk "none booked"\n', "")
    code, out, said = views("--add", "my marks = x")
    assert (code, out) == (1, "")
    assert said == 'armrise: view "my marks": there is one of that name, choose another\n'
    assert views("--drop", "nobody")[2] == (
        'armrise: view "nobody": there is none of your own by that name, there are: TK\n'
    )
    assert views("--drop", "tk") == (0, SHIPPED, "")
    code, _, said = views("--drop", "tk", "--add", "a = b")
    assert code == 2
    assert "--add and --drop exclude each other, give one of them" in said
    assert command.run(["views", "--store", str(tmp_path / "none")]) == 1
