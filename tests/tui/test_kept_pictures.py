"""The pictures that are kept: each is what some test compares."""

from __future__ import annotations

from pathlib import Path

from tests.tui.conftest import COMPARED

KEPT = Path(__file__).with_name("__snapshots__")


def test_no_picture_is_kept_that_no_test_compares() -> None:
    """The picture plugin does not say so when several workers share the tests."""
    assert list(KEPT.glob("*/*.svg"))
    for picture in KEPT.glob("*/*.svg"):
        file = picture.parent.name
        assert KEPT.with_name(f"{file}.py").exists(), picture
        assert file not in COMPARED or picture.stem in COMPARED[file], picture
