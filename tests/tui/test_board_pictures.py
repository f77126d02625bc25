"""The screens as pictures, at fixed size and date; and that no fact hangs on colour or on more than ASCII."""

from __future__ import annotations

import pytest

from tests.tui.conftest import FakeDoor, an_app, settled
from tests.tui.test_board import painted, press

WHAT = ["list", "second-case", "account", "help"]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
@pytest.mark.parametrize("keys", [[], ["down"], ["down", "enter"], ["question_mark"]], ids=WHAT)
def test_board_pictures(snap_compare, size, keys, monkeypatch):
    monkeypatch.setattr("armrise.tui.case.case.why_above", lambda a, b: f"{a.code} is above {b.code}: rank")

    async def before(pilot):
        await settled(pilot)
        await press(pilot, *keys)

    assert snap_compare(an_app(), terminal_size=size, run_before=before)


def test_empty_store_picture(snap_compare):
    assert snap_compare(an_app(FakeDoor([])), terminal_size=(80, 24), run_before=settled)


@pytest.mark.parametrize("theme", ["armrise-dark", "armrise-light"])
async def test_without_colour_every_word_is_still_there_and_can_be_read(monkeypatch, theme):
    app = an_app()
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        coloured = painted(app)
    monkeypatch.setenv("NO_COLOR", "1")
    app = an_app()
    async with app.run_test(size=(120, 40)) as pilot:
        app.theme = theme
        await settled(pilot)
        assert app.no_color
        assert painted(app) == coloured
        for strip in app.screen._compositor.render_strips():
            for segment in strip.apply_filter(app._filters[-1], app.screen.styles.background):
                seen = segment.style and segment.style.color and segment.style.bgcolor
                if seen and any(map(str.isalnum, segment.text)):
                    ink, paper = (c.get_truecolor() for c in (segment.style.color, segment.style.bgcolor))
                    assert ink.red == ink.green == ink.blue
                    assert abs(ink.red - paper.red) > 40, segment.text


async def test_an_ascii_terminal_loses_no_fact(monkeypatch):
    monkeypatch.setenv("LC_ALL", "C")
    app = an_app()
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        screen = painted(app)
        assert screen.isascii(), {character for character in screen if ord(character) > 127}
        assert "3.." in screen
        assert "60 deg" in screen  # a row of more than one line breaks where it must
        for keys in (["question_mark"], ["escape", "down", "enter"], ["escape", "slash", "r"], ["f8"]):
            await press(pilot, *keys)
            assert painted(app).isascii(), {c for c in painted(app) if ord(c) > 127}
