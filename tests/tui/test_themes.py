"""The colours of a terminal that has sixteen: what each becomes there is worked out by rich."""

from __future__ import annotations

import pytest
from rich.color import Color, ColorSystem
from textual.theme import Theme

from armrise.tui.app.themes import FEW_DARK, FEW_LIGHT

FEW = pytest.mark.parametrize("theme", [FEW_DARK, FEW_LIGHT], ids=lambda theme: theme.name)


def of_sixteen(theme: Theme, name: str) -> int | None:
    """The number of the colour that stands for one of the theme."""
    told = theme.variables.get(name) or getattr(theme, name)
    return Color.parse(told).downgrade(ColorSystem.STANDARD).number


@FEW
def test_what_to_act_on_today_looks_like_nothing_else(theme: Theme) -> None:
    others = [
        of_sixteen(theme, name) for name in ("foreground", "text-muted", "background", "panel", "error")
    ]
    assert of_sixteen(theme, "act-today") not in others


@FEW
def test_the_row_under_the_cursor_stands_out_and_its_texts_can_be_read_on_it(theme: Theme) -> None:
    ground = of_sixteen(theme, "panel")
    assert ground != of_sixteen(theme, "background")
    for name in ("foreground", "text-muted", "act-today", "error", "side-left", "side-right"):
        assert of_sixteen(theme, name) not in (ground, of_sixteen(theme, "background")), name
