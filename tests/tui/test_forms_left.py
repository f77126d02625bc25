"""Every form left with something typed: nothing is written, the typing is kept, and the foot says so before.

Common practice, no source: what somebody typed is lost only on purpose, and in every form alike.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

import tests.tui.test_one_key  # noqa: F401  # imports every form there is
from armrise.store.record.kinds.safety import SCREEN_ITEMS
from armrise.tui.app.screens import SCREENS, screen_named
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.correct import CorrectScreen
from armrise.tui.forms.kit.fields import Field, Write
from armrise.tui.forms.kit.keeping import KeepingScreen, foot
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.red_flags.screen import RedFlagScreen
from armrise.tui.shell.door import Door
from tests.clinic.build import case, standing_of
from tests.quiet import settle
from tests.tui.form_fakes import FakeDoor, FormApp
from tests.tui.form_store import painted

NOT_TYPED_IN = {"AcceptScreen", "CatalogueScreen", "ConfirmScreen", "ProgrammeScreen", "UndoScreen"}
"""Forms without a field."""
WRITES_NOTHING = {"SupposeScreen"}
ABOUT = {"EntryScreen": "contact", "DoseScreen": "band row", "StopItemScreen": "band row"}
BY_NAME = sorted(name for name in SCREENS if issubclass(screen_named(name) or Door, FormScreen))
LEFT = [name for name in BY_NAME if name not in NOT_TYPED_IN | WRITES_NOTHING]
TYPED = "n1z"
"""Keys that any field takes one of."""


def a_door() -> FakeDoor:
    """One case with a possible red flag, in memory."""
    built = case("RC2", day=40).session(-2, 3).screen(-1, SCREEN_ITEMS[0], "yes", severity=3)
    return FakeDoor(built.record(), standing_of(built))


def every_form() -> set[str]:
    """Each form that is no mere part of others: those opened by a name, and those a form opens itself."""
    found, todo = set[type[Any]](), [KeepingScreen]
    while todo:
        below = todo.pop().__subclasses__()
        todo += below
        found |= {form for form in below if form.__module__.startswith("armrise.")}
    return {form.__name__ for form in found}


def opened(name: str, door: FakeDoor) -> KeepingScreen[Any]:
    """The form ``name`` about the case."""
    if name == "RedFlagScreen":
        return RedFlagScreen(door, door.given, "CheckInScreen")
    if name == "CorrectScreen":
        return CorrectScreen(door, door.given, door.held.sessions[0])
    form = screen_named(name)
    assert form is not None
    assert issubclass(form, FormScreen)
    return form.again(door, door.given, ABOUT.get(name, ""))


async def type_something(pilot: Any, screen: KeepingScreen[Any]) -> None:
    """Type one key into the first field that takes it."""
    rows = [r for r in screen.query("*") if isinstance(r, Field | Line) and not isinstance(r, Write)]
    for row in rows:
        for key in TYPED:
            if screen.is_current and row.display and not screen.something_typed:
                row.focus()
                await pilot.press(key)
                await pilot.pause()
    assert screen.something_typed, "no field took anything"


@pytest.mark.parametrize("name", [*LEFT, "RedFlagScreen"])
async def test_a_form_left_is_kept_and_said_so_at_its_foot(name: str) -> None:
    door = a_door()
    screen = opened(name, door)
    app = FormApp(screen)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "F6 drop" not in painted(pilot)
        await type_something(pilot, screen)
        assert re.search("Esc (leave|back) unwritten F6 drop", painted(pilot))
        await pilot.press("escape")
        await settle(pilot)
        assert app.result is None
        assert [*door.kept] == [(screen.kept_code(), screen.kept_as())]
    assert door.written == []


def test_every_form_there_is_was_left() -> None:
    """No form escapes: what is no form of its own is named as a part of others."""
    parts = {"AsksNews", "AsksWeeks", "EntryForm", "FormScreen", "PagedForm", "PainAsked", "RecordForm"}
    parts |= {"CallForm", "ScreenSeen", "SeenForm", "Swept", "WithSecondPage"}
    tried = {*LEFT, "RedFlagScreen"} | NOT_TYPED_IN | WRITES_NOTHING
    assert every_form() - parts == tried


def test_no_form_has_an_end_of_its_own() -> None:
    """Whatever way a form is left, it goes by the one that keeps."""
    for form in (screen_named(name) for name in LEFT):
        assert form is not None
        assert issubclass(form, FormScreen)
        assert form.dismiss is FormScreen.dismiss
        assert form.action_leave is FormScreen.action_leave
        assert form.put_away is FormScreen.put_away
        if isinstance(form.keys, str):
            assert "unwritten   F6 drop" in foot(form.keys, typed=True), form


def test_the_foot_says_it_of_whatever_words_a_form_has_for_leaving() -> None:
    assert foot("F2 write   Esc leave, nothing written   F8 blank", typed=True) == (
        "F2 write   Esc leave unwritten   F6 drop   F8 blank"
    )
    assert foot("PgDn PgUp blocks   Esc leave", typed=True).endswith("Esc leave unwritten   F6 drop")
    assert foot("Esc leave, nothing withdrawn", typed=True) == "Esc leave, nothing withdrawn"
    for keys in ("F2 write   Esc leave, nothing written", "Esc back   F8 blank"):
        assert foot(keys, typed=False) == keys
