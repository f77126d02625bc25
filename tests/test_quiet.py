"""What nobody looks at is painted at the end of an application, and no error in it is lost."""

from __future__ import annotations

import pytest
from textual.app import App, ComposeResult
from textual.pilot import Pilot
from textual.widgets import Static

from tests.tui.form_store import painted, press


class Counting(Static):
    """Says how often it was painted; fails from a number on."""

    def __init__(self, fails_from: int = 99) -> None:
        super().__init__()
        self.times, self.fails_from = 0, fails_from

    def render(self) -> str:
        self.times += 1
        if self.times >= self.fails_from:
            raise ZeroDivisionError("while painting")
        return f"painted {self.times}"


class Keys(App[None]):
    """One line, to be painted anew at each key."""

    def __init__(self, line: Counting) -> None:
        super().__init__()
        self.line = line
        line.styles.width = line.styles.height = 10

    def compose(self) -> ComposeResult:
        yield self.line

    def on_key(self) -> None:
        self.line.refresh()


async def looked_at(pilot: Pilot[None], line: Counting) -> int:
    painted(pilot)
    return line.times


async def test_a_screen_is_painted_when_it_is_looked_at_and_at_the_end() -> None:
    line = Counting()
    async with Keys(line).run_test() as pilot:
        first = await looked_at(pilot, line)
        for _ in range(3):
            await press(pilot, "a")
        assert line.times == first
        assert await looked_at(pilot, line) == first + 1
        await press(pilot, "a")
    assert line.times == first + 2


async def fail_in_the_last_painting() -> None:
    line = Counting()
    async with Keys(line).run_test() as pilot:
        line.fails_from = await looked_at(pilot, line) + 1
        await press(pilot, "a")


async def test_what_fails_in_the_last_painting_fails_the_test() -> None:
    with pytest.raises(ZeroDivisionError):
        await fail_in_the_last_painting()
