"""The list as known then, why a case stood there, and the report of a trial run, at fixed size and date."""

from __future__ import annotations

import pytest

from armrise.tui.pages.trial import TrialScreen
from tests.tui.case_store import at_case, press
from tests.tui.form_store import app_on, type_in
from tests.tui.test_trial import changed


@pytest.mark.parametrize(
    ("name", "keys", "colour"),
    [("list", [], True), ("case", ["enter"], True), ("why", ["w"], True), ("list-plain", [], False)],
)
def test_picture_of_then(snap_compare, door, monkeypatch, name, keys, colour):
    if not colour:
        monkeypatch.setenv("NO_COLOR", "1")

    async def before(pilot):
        await at_case(pilot, "BY-018", "Z")
        await type_in(pilot, "1 Mar 08:05")
        await press(pilot, "enter", *keys)

    assert snap_compare(app_on(door), terminal_size=(80, 24), run_before=before)


def test_picture_of_a_trial(snap_compare, app, door):

    async def before(pilot):
        await at_case(pilot, "BY-018")
        await pilot.app.push_screen(TrialScreen(door, changed()))
        await press(pilot, "j")

    assert snap_compare(app, terminal_size=(80, 24), run_before=before)
