"""The pictures of the README, made from the demo: ``python -m tests.pictures``.

The demo is opened on one fixed date at fixed sizes and driven by the keys a reader would press, so that a
picture shows what the program shows. The links to a font that the pictures come with are taken out: whoever
looks at one fetches nothing from a network.
"""

from __future__ import annotations

import asyncio
import html
import os
import re
import sys
import tempfile
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

from textual.pilot import Pilot

from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.opening import Opening, demonstration
from armrise.tui.widgets.caselist import CaseList
from tests.quiet import settle

FOLDER = Path(__file__).with_name("pictures")
TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 8, 1, tzinfo=UTC)
"""When the pictures are taken, by the clock of the demo."""
WIDE, SMALL, FORM = (120, 40), (80, 24), (100, 34)


class Picture(NamedTuple):
    """A screen: its size in cells, the case under the cursor (empty: the first), the keys pressed on it."""

    size: tuple[int, int]
    case: str = ""
    keys: tuple[str, ...] = ()


PICTURES = {
    "list-wide": Picture(WIDE),
    "list-small": Picture(SMALL),
    "why": Picture(WIDE, "BY-003", ("enter",)),
    "step": Picture(FORM, "BY-069", ("F",)),
    "override": Picture(FORM, "BY-003", ("F",)),
    "chart-range": Picture(WIDE, "BY-027", ("g", "2")),
    "programme": Picture(FORM, "BY-018", ("d",)),
    "review": Picture(SMALL, "BY-084", ("v", "n", "3", "2", "2")),
    "sweep": Picture(SMALL, "", ("W",)),
    "history": Picture(WIDE, "BY-027", ("h",)),
    "patient": Picture(SMALL, "BY-018", ("t",)),
    "audit": Picture(SMALL, "", ("M",)),
    "check-in": Picture(FORM, "BY-018", ("c", "n", "3", "2", "4")),
}


@asynccontextmanager
async def opened(size: tuple[int, int], folder: Path) -> AsyncIterator[Pilot[Any]]:
    """The demo as it stands on :data:`TODAY`, its list read and painted, its store kept in ``folder``."""

    def prepare() -> Any:
        return demonstration(folder, TODAY)

    app = ArmriseApp(Opening(None, True, TODAY, prepare))
    with patch("armrise.store.record.clock.utc_now", lambda: NOW):
        async with app.run_test(size=size) as pilot:
            await still(pilot)
            yield pilot


async def shoot(picture: Picture, folder: Path) -> str:
    """The picture as SVG, the demo's store kept in ``folder`` meanwhile."""
    async with opened(picture.size, folder) as pilot:
        await _go_to(pilot, picture.case)
        for key in picture.keys:
            await pilot.press(key)
            await still(pilot)
        return tidied(pilot.app.export_screenshot(title="armrise demo"))


async def still(pilot: Pilot[Any]) -> None:
    """Wait until the caseload is there, nothing is being read any more and the screen is painted."""
    board = pilot.app.screen_stack[0]
    for _ in range(1000):
        await pilot.pause(0.01)
        if not getattr(board, "state", "").startswith("Reading"):
            break
    await settle(pilot)
    await pilot.pause()


async def _go_to(pilot: Pilot[Any], code: str) -> None:
    cases = pilot.app.screen_stack[0].query_one(CaseList)
    for _ in range(len(cases.codes)):
        if code in ("", cases.cursor):
            return
        await pilot.press("down")
    raise LookupError(f"{code} is not on the list of the demo")


def tidied(svg: str) -> str:
    """The picture without the fonts it would fetch, and with every piece of text standing where it begins.

    The reader's own fixed-width font is taken instead. Some viewers drop the spaces before and after a piece.
    """
    alone = re.sub(r"@font-face\s*\{[^}]*\}\s*", "", svg)
    alone = alone.replace("Fira Code, monospace", "DejaVu Sans Mono, Menlo, Consolas, monospace")
    return _PIECE.sub(_trimmed, alone)


CELL = 12.2
"""Width of a character in the units of the picture."""
SPACE = "&#160;"
_PIECE = re.compile(
    r'x="([\d.]+)" (y="[\d.]+") textLength="([\d.]+)"([^>]*)>((?:&#160;)*)([^<]*?)((?:&#160;)*)</text>'
)


def _trimmed(found: re.Match[str]) -> str:
    left, y, width, rest, before, text, after = found.groups()
    lead, trail = before.count(SPACE), after.count(SPACE)
    x, length = float(left) + lead * CELL, float(width) - (lead + trail) * CELL
    return f'x="{x:.1f}" {y} textLength="{length:.1f}"{rest}>{text}</text>'


def words_of(svg: str) -> list[str]:
    """The words painted in a picture, line by line."""
    painted = re.sub(r"<(?:style|defs)\b.*?</(?:style|defs)>", "", svg, flags=re.DOTALL)
    found = re.findall(r"<text[^>]*>(.*?)</text>", painted, flags=re.DOTALL)
    lines = (html.unescape(text).replace("\xa0", " ").split() for text in found)
    return [" ".join(line) for line in lines if line]


def plain_terminal() -> None:
    """A terminal with colours and all letters, whatever this one is."""
    for name in [n for n in os.environ if n.startswith(("LC_", "ARMRISE_")) or n in ("NO_COLOR", "LANG")]:
        del os.environ[name]
    os.environ["LANG"], os.environ["COLORTERM"] = "C.UTF-8", "truecolor"


async def make(names: Sequence[str]) -> None:
    """Make these pictures, the whole list when none is named."""
    FOLDER.mkdir(exist_ok=True)
    for name in names or PICTURES:
        with tempfile.TemporaryDirectory() as folder:
            svg = await shoot(PICTURES[name], Path(folder))
        (FOLDER / f"{name}.svg").write_text(svg, encoding="utf-8")
        print(f"{name}.svg")


if __name__ == "__main__":
    plain_terminal()
    asyncio.run(make(sys.argv[1:]))
