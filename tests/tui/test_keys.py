"""Keys of the user's own, the reference made from the bindings, and help for every screen.

From memory: what a clinic's keyboard or a hand needs differs; leave, help, back and blank must not.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding
from textual.screen import Screen

from armrise.tui.app.help import HelpScreen, described
from armrise.tui.app.keysheet import KeyOf, sheet
from armrise.tui.board.board import BoardScreen
from armrise.tui.case.acts import MENU
from armrise.tui.case.case import CaseScreen
from armrise.tui.firstrun.screen import FirstRunScreen
from armrise.tui.forms.decisions.hold import HoldScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.locked.screen import PassphraseScreen
from armrise.tui.shell import keys
from armrise.tui.shell.frame import BURST
from armrise.tui.shell.say import AnyKeyScreen
from armrise.tui.widgets.groups import CASE, DAY, DECIDE, MOVE
from tests.quiet import settle
from tests.tui.conftest import FakeDoor, an_app, settled
from tests.tui.form_store import burst, painted, press


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "keys.toml"
    path.touch()
    monkeypatch.setenv("ARMRISE_KEYS", str(path))
    return path


def fault_of(asked: dict[str, Any]) -> str:
    """The one sentence about what is asked."""
    keymap, (said,) = keys.accepted(asked)
    assert keymap == {}
    return said


# what may be asked


def test_the_digits_stay_what_a_number_is_typed_with() -> None:
    assert fault_of({"find.number": "f5"}) == '"find.number" keeps 0 to 9: with them a number is typed.'
    keymap, faults = keys.accepted({"case.check_in": "1"})  # as an older file may have it: that stays
    assert faults == []
    assert "(find.number, shipped on 0-9)" in keys.changed(keymap)
    assert keys.accepted({"find.number": "0,1,2,3,4,5,6,7,8,9"})[1] == []
    assert "  0-9 " in keys.as_text(keys.reference())


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
    own.unlink()
    assert keys.read(own) == ({}, [f"ARMRISE_KEYS names {own}, and no file is there: correct it."])


def test_the_shipped_keys_clash_nowhere_and_the_sample_holds_them_all() -> None:
    assert keys.clashes({}) == []
    sample = keys.as_sample(keys.reference())
    for row in keys.reference():
        assert f'# "{row.id}" = "{",".join(row.keys)}"' in sample


def test_a_keys_file_of_0_4_0_with_every_key_in_it_still_holds() -> None:
    """Nothing of it is refused; what it names keeps its key, and what now ships on such a key is told."""
    asked = tomllib.loads((Path(__file__).parent / "keys-0.4.0.toml").read_text())["keys"]
    keymap, faults = keys.accepted(asked)
    assert faults == []
    assert {name: keymap[name] for name in asked} == asked
    given_up = keymap.keys() - asked.keys()
    now = {row.id: ",".join(row.keys) for row in keys.reference()}
    assert all(name in keys.changed(keymap) for name in given_up)
    assert given_up <= set(keys.NEW_KEYS)
    for name in now:
        on_list = name.startswith(("app.", "case.", "list."))
        new = {*now[name].split(",")} - {*asked.get(name, "").split(",")}  # one given up is none
        if on_list and now[name] and new:
            assert name in {*keys.NEW_KEYS, "app.leave_anywhere"}, f"{name} has a new key: NEW_KEYS names it"


def test_a_key_given_to_something_else_stays_and_the_new_action_is_told() -> None:
    keymap, faults = keys.accepted({"case.charts": "a", "case.hold": "H", "case.refer": ""})
    assert faults == []
    assert keymap == {"case.charts": "a", "case.hold": "H", "case.acts": "nokey:case.acts"}
    assert "act, from a menu (case.acts, shipped on a)" in keys.changed(keymap)
    assert keys.changed({"case.charts": "z"}) == ""


def unlike_twins(screen: type[Screen[Any]]) -> list[str]:
    """The letters of which one case decides something and the other does not."""
    decides: dict[str, set[bool]] = {}
    for of in (screen, *getattr(screen, "KEYED", ()), *keys.applications()):
        for key, bindings in of._merge_bindings().key_to_bindings.items():  # type: ignore[attr-defined]
            if len(key) == 1:
                decides.setdefault(key, set()).update(b.group is DECIDE and b.id != MENU for b in bindings)
    twins = [key for key in decides if key.islower() and key.upper() in decides]
    return [key for key in twins if decides[key] != decides[key.upper()]]


def test_no_slip_of_the_shift_key_does_something_weighty() -> None:
    """Of the two cases of a letter either both decide something or neither does; the menu itself does not."""
    unlike = {screen.__name__: unlike_twins(screen) for screen in keys.screens()}
    assert {name: found for name, found in unlike.items() if found} == {}


def test_every_screen_has_a_way_back() -> None:
    """Esc, which q follows; what any key leaves and the first run, with nothing beneath, need none.

    From what asks for a passphrase no way but the passphrase leads back.
    """
    need_none = AnyKeyScreen | FirstRunScreen | PassphraseScreen
    shown = [s for s in keys.screens() if s.compose is not Screen.compose and not issubclass(s, need_none)]
    assert len(shown) > 50
    shut = [s.__name__ for s in shown if "escape" not in s._merge_bindings().key_to_bindings]
    assert shut == []


# in force


async def test_own_keys_work_and_are_shown_at_the_foot_in_help_and_palette(own: Path) -> None:
    own.write_text('[keys]\n"case.why_above" = "f9"\n"case.check_in" = "f7"')
    app = an_app(FakeDoor())
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        shown = {found.action.name: found.keys for found in described(app.screen)}
        assert shown["why_above"] == ["F9"]
        assert "F7 check-in" in painted(pilot)
        await pilot.press("w")
        assert len(app.screen_stack) == 1
        await pilot.press("f9")
        assert len(app.screen_stack) == 2
        commands = {c.title: c.help for c in app.get_system_commands(app.screen_stack[0])}
        assert commands["Why above the next"] == "F9"


async def test_weighty_acts_stand_behind_one_key_and_q_goes_one_level_back(own: Path) -> None:
    """Without the menu the letters do nothing, one of the opening burst chooses nothing."""
    own.write_text('[keys]\n"case.hold" = "H"')
    app = an_app(FakeDoor())
    async with app.run_test(size=(60, 20)) as pilot:
        await settled(pilot)
        await press(pilot, "D")
        assert len(app.screen_stack) == 1
        await burst(pilot, "a", "h")
        assert "NV-110 LEFT f forward b back h hold r refer d discharge Esc" in painted(pilot)
        await press(pilot, "q")
        await pilot.pause(2 * BURST)
        assert len(app.screen_stack) == 1
        for keys_to_it in (("a", "h"), ("H",)):
            for key in keys_to_it:
                await press(pilot, key)
                await pilot.pause(2 * BURST)
            assert isinstance(app.screen, HoldScreen)
            await press(pilot, "escape")
            await pilot.pause(2 * BURST)
        await press(pilot, "enter", "w", "f8", "q")
        await pilot.pause(2 * BURST)  # as long as a hand takes at least
        await press(pilot, "q")
        assert isinstance(app.screen, CaseScreen)
        await press(pilot, "q", "slash", "q")
        assert app.screen_stack[0].listing.filter == "q"  # type: ignore[attr-defined]
        await press(pilot, "enter", "q", "q")
    assert not app.is_running


async def test_ctrl_c_copies_what_is_selected_and_else_says_how_to_leave(own: Path) -> None:
    app = an_app(FakeDoor())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "ctrl+c")
        assert "To leave: q on the list" in painted(pilot)
        await press(pilot, "escape", "slash", "r", "c", "2", "ctrl+c")
        assert app.clipboard == ""
        await press(pilot, "space", "shift+home", "ctrl+c")
        assert app.clipboard == "rc2"
        await press(pilot, "ctrl+q")
    assert not app.is_running


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


def test_every_screen_has_a_reading_and_every_binding_an_id_and_words() -> None:
    """What shows nothing of its own only lays a ground for others."""
    for screen in keys.screens():
        if screen.compose is not Screen.compose:
            told = getattr(screen, "READING", ())
            assert told, f"{screen.__name__} needs a class attribute READING: how to read this screen"
            assert all(isinstance(text, str) and len(text) > 10 for text in told), screen.__name__
        for binding in screen.__dict__.get("BINDINGS", ()):
            assert isinstance(binding, Binding), screen.__name__
            assert binding.id, (screen.__name__, binding.key)
            assert binding.description, (screen.__name__, binding.key)


def test_an_id_means_one_thing() -> None:
    found: dict[str, set[str]] = {}
    for of in keys.classes():
        for binding in keys.own(of):
            found.setdefault(str(binding.id), set()).add(binding.description)
    assert {name: told for name, told in found.items() if len(told) > 1} == {}


@pytest.mark.parametrize("screen", [BoardScreen, CaseScreen])
def test_every_key_of_the_list_and_the_case_stands_under_a_heading(screen: type[Screen[Any]]) -> None:
    """Said with the binding itself, so that a new key is not left over at the end of the help."""
    merged = screen._merge_bindings().key_to_bindings  # type: ignore[attr-defined]
    left = {b.id for bindings in merged.values() for b in bindings if b.id and b.group is None}
    assert left == set()


FRAMEWORK = re.compile(r"binding|widget|focus|maximi[sz]e|command palette|screen library|textual", re.I)


@pytest.mark.parametrize("start", [[], ["enter"]], ids=["list", "case"])
async def test_every_key_is_seen_at_once_in_help_at_80_by_24_without_words_of_the_framework(
    start: list[str], own: Path
) -> None:
    app = an_app(FakeDoor())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in start:
            await press(pilot, key)
        beneath = app.screen
        told = [(found.does, key) for found in described(beneath) for key in found.keys]
        titles = [command.title for command in app.get_system_commands(beneath)]
        await press(pilot, "question_mark")
        shown = painted(pilot)
    assert len(told) > 35
    assert [(does, key) for does, key in told if does not in shown or key not in shown] == []
    assert "find an action" in shown
    assert not FRAMEWORK.search(" ".join([shown, *titles]))


@pytest.mark.parametrize("width", [30, 75, 100, 160])
def test_no_key_of_the_sheet_is_cut_and_none_parted_from_its_words(width: int) -> None:
    given = [KeyOf(g.description, k, f"does {k}") for g in (DAY, CASE, DECIDE, MOVE) for k in "abcdefgh"]
    rows = ["".join(span.text for span in line) for line in sheet(given, width)]
    assert max(len(row.rstrip()) for row in rows) <= width
    for key in given:
        assert any(re.search(rf"{key.keys} +{key.does}( |$)", row) for row in rows)


async def test_the_palette_names_the_key_of_an_action_on_its_line_and_does_it(own: Path) -> None:
    app = an_app(FakeDoor())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "ctrl+p", *"step")
        await pilot.pause(0.1)
        await settled(pilot)
        assert "Step forward F" in painted(pilot)
        assert "Step back a b" in painted(pilot)
        await press(pilot, "down", "enter")
        await settled(pilot)
        assert type(app.screen).__name__ == "StepScreen"


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
