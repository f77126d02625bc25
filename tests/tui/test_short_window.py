"""Forms in a window of 60 by 15: the field that takes the next key is in sight, and no style is lost.

Expected behaviour: nothing that is typed goes where nobody sees it; no source beyond that.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import pytest
from textual.dom import DOMNode
from textual.widget import Widget

import armrise.tui
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.forms.visit.review import ReviewScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import painted, press


@pytest.mark.parametrize(
    ("form", "keys"),
    [(ReviewScreen, "n3241"), (CheckInScreen, "n3321"), (ContactScreen, "sy546yn"), (StepScreen, "n2")],
)
async def test_the_field_of_the_next_key_is_in_sight(door: Door, form: type[FormScreen], keys: str) -> None:
    """However much is to be written by now; and what the one question names is read whole."""
    app = FormApp(form(door, door.standing("BY-018")))
    async with app.run_test(size=(60, 15)) as pilot:
        await settle(pilot)
        named = False
        for key in keys:
            await press(pilot, key)
            await settle(pilot)
            assert app.screen.focused is not None
            seen = app.screen.find_widget(app.screen.focused)
            assert seen.visible_region.height == seen.region.height > 0, f"after {key}"
            named = named or "fever, numbness, fall, weight loss, unsteady" in painted(pilot)
        assert named


def _widgets(of: type[Widget] = Widget) -> Iterator[type[Widget]]:
    for cls in of.__subclasses__():
        yield cls
        yield from _widgets(cls)


def test_no_style_is_lost_where_a_class_has_several_bases() -> None:
    """Styles come down the first base alone: those of another would hold for nothing."""
    for module in pkgutil.walk_packages(armrise.tui.__path__, "armrise.tui."):
        importlib.import_module(module.name)
    lost = [
        f"{cls.__name__} lacks what {base.__name__} looks like"
        for cls in {c for c in _widgets() if c.__module__.startswith("armrise.")}
        for base in cls.__mro__
        if base.__module__.startswith("armrise.")
        and issubclass(base, DOMNode)
        and "DEFAULT_CSS" in vars(base)
        and base not in set(cls._css_bases(cls))
    ]
    assert lost == []
