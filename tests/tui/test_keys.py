"""Keys of the user's own, the reference made from the bindings, and help for every screen.

From memory: what a clinic's keyboard or a hand needs differs; leave, help, back and blank must not.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding
from textual.screen import Screen

from armrise.tui.app.help import HelpScreen, described
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.shell import keys
from tests.quiet import settle
from tests.tui.conftest import FakeDoor, an_app, settled
from tests.tui.form_store import painted


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "keys.toml"
    monkeypatch.setenv("ARMRISE_KEYS", str(path))
    return path


def fault_of(asked: dict[str, Any]) -> str:
    """The one sentence about what is asked."""
    keymap, (said,) = keys.accepted(asked)
    assert keymap == {}
    return said


# what may be asked


def test_keys_are_taken_by_letter_by_name_and_several() -> None:
    asked = {
        "case.check_in": "k2"[0] + ",f9",
        "list.filter": "?"[:0] + "ctrl+f",
        "case.up": "up",
        "list.previous": "up",
    }
    keymap, faults = keys.accepted(asked)
    assert faults == []
    assert keymap["case.check_in"] == "k,f9"
    assert keymap["list.filter"] == "ctrl+f"


def test_two_actions_may_change_places() -> None:
    keymap, faults = keys.accepted({"case.check_in": "p", "case.contact": "c"})
    assert faults == []
    assert keymap == {"case.check_in": "p", "case.contact": "c"}


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"case.chekin": "k"}, '"case.chekin" is no action; near it: case.check_in'),
        ({"zzz": "k"}, '"zzz" is no action; armrise keys lists them all'),
        ({"case.check_in": "p"}, "p is given to both case.check_in and case.contact"),
        ({"list.sort": "j"}, "j is given to both list.next and list.sort"),
        ({"case.check_in": "q"}, '"case.check_in" cannot have q'),
        ({"case.check_in": "?"}, '"case.check_in" cannot have ?'),
        ({"app.leave": "z"}, '"app.leave" keeps q'),
        ({"form.leave": "f9"}, '"form.leave" keeps Esc'),
        ({"app.blank_anywhere": "f9"}, '"app.blank_anywhere" keeps F8'),
        ({"form.write": "w"}, "is typed as text there; take a function key"),
        ({"case.check_in": "hyper+k"}, "'hyper+k' is no key"),
        ({"case.check_in": "f99"}, "'f99' is no key"),
        ({"case.check_in": ""}, "'' is no key"),
        ({"case.check_in": 3}, "3 is no key"),
    ],
)
def test_what_is_refused_is_said_in_one_sentence(asked: dict[str, Any], said: str) -> None:
    assert said in fault_of(asked)


def test_a_file_that_is_no_table_of_keys_is_refused(own: Path) -> None:
    for text in ('[key]\n"case.check_in" = "k"', "keys = 3", "[keys", '[keys]\n"a" = "b"\n"a" = "c"'):
        own.write_text(text)
        keymap, faults = keys.read(own)
        assert keymap == {}
        assert len(faults) == 1
    assert keys.read(own.with_name("none.toml")) == ({}, [])


def test_the_shipped_keys_clash_nowhere_and_the_sample_holds_them_all() -> None:
    assert keys.clashes({}) == []
    sample = keys.as_sample(keys.reference())
    for row in keys.reference():
        assert f'# "{row.id}" = "{",".join(row.keys)}"' in sample


# in force


async def test_own_keys_work_and_are_shown_at_the_foot_in_help_and_palette(own: Path) -> None:
    own.write_text('[keys]\n"case.why_above" = "f9"\n"case.check_in" = "f7"')
    app = an_app(FakeDoor())
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        shown = {action: printed for _, printed, (_, action) in described(app.screen)}
        assert shown["why_above"] == ["f9"]
        assert "f7 check-in" in painted(pilot)
        await pilot.press("w")
        assert len(app.screen_stack) == 1
        await pilot.press("f9")
        assert len(app.screen_stack) == 2
        commands = {c.title: c.help for c in app.get_system_commands(app.screen_stack[0])}
        assert commands["Why above the next"] == "key f9"


async def test_a_faulty_file_is_said_and_the_shipped_keys_hold(own: Path) -> None:
    own.write_text('[keys]\n"case.why_abov" = "f9"')
    app = an_app(FakeDoor())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "is no action; near it: case.why_above" in app.screen.words  # type: ignore[attr-defined]
        await pilot.press("enter", "w")
        assert len(app.screen_stack) == 2


def test_the_hints_of_a_form_tell_the_own_key() -> None:
    class App:
        own_keys = {"form.write": "f10", "checkin.day": "f9"}

    said = keys.in_words(App(), CheckInScreen, CheckInScreen.keys)  # type: ignore[arg-type]
    assert said.startswith("F10 write   F9 other day   Esc leave")


# help


@pytest.mark.parametrize("screen", keys.screens(), ids=lambda s: s.__name__)
def test_every_screen_has_a_reading_and_every_binding_an_id_and_words(screen: Any) -> None:
    """What shows nothing of its own only lays a ground for others."""
    if screen.compose is not Screen.compose:
        told = getattr(screen, "READING", ())
        assert told, f"{screen.__name__} needs a class attribute READING: how to read this screen"
        assert all(isinstance(text, str) and len(text) > 10 for text in told)
    for binding in screen.__dict__.get("BINDINGS", ()):
        assert isinstance(binding, Binding)
        assert binding.id, (screen.__name__, binding.key)
        assert binding.description, (screen.__name__, binding.key)


def test_an_id_means_one_thing() -> None:
    found: dict[str, set[str]] = {}
    for of in keys.classes():
        for binding in keys.own(of):
            found.setdefault(str(binding.id), set()).add(binding.description)
    assert {name: told for name, told in found.items() if len(told) > 1} == {}


async def test_help_is_one_key_away_in_a_form_too(tmp_path: Path) -> None:
    from armrise.tui.app.app import ArmriseApp
    from armrise.tui.shell.intake import demo_store
    from armrise.tui.shell.opening import Opening

    app = ArmriseApp(Opening(None, True, None, lambda: demo_store(tmp_path, None)))
    async with app.run_test(size=(100, 50)) as pilot:
        await settled(pilot)
        await pilot.press("c")
        await settle(pilot)
        await pilot.press("n", "4", "f1")
        await settle(pilot)
        assert isinstance(app.screen, HelpScreen)
        shown = painted(pilot)
        assert "FICTIONAL CASELOAD" in shown
        assert "What the patient reports of one day" in shown
        assert "Write" in shown
        await pilot.press("f1")
        await settle(pilot)
        assert isinstance(app.screen, CheckInScreen)
        assert app.screen.query_one("#during").value == "4"  # type: ignore[attr-defined]
