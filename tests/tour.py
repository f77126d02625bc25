"""The short tour at the top of the README, made from the demo: ``python -m tests.tour``.

One session of the demo is driven by keys. What the screen shows after each is a picture of the tour, with a
line below it that names the key and says what is seen. All of them lie in one SVG that shows one after the
other by its style sheet alone; a reader who has asked for no moving pictures sees the first.
"""

from __future__ import annotations

import asyncio
import html
import re
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from tests.between import put_between
from tests.pictures import FOLDER, opened, plain_terminal, still, tidied

SIZE = (100, 30)
TOUR = FOLDER / "tour.svg"


class Scene(NamedTuple):
    """Keys pressed one after the other, what is said of the screen then, and for how many seconds."""

    keys: tuple[str, ...]
    said: str
    seconds: float


SCENES = (
    Scene((), "08:00. Whom must somebody act on today who is not already coming in?", 4),
    Scene(("0",), "A number goes to a case.", 0.7),
    Scene(("2",), "A number goes to a case.", 0.7),
    Scene(("7",), "A number goes to a case.", 1.6),
    Scene(("enter",), "Enter: what to do, the limits, why it stands there, what is missing to step.", 4),
    Scene(("g", "2"), "g: the range of both sides, with the error of whoever measured.", 4),
    Scene(("escape", "escape"), "Esc: back on the list, where it was.", 1.5),
    Scene(("0", "6", "9", "enter"), "BY-069 is ready to step forward.", 2.5),
    Scene(("F",), "F: the criteria first, then exactly what will be written.", 4),
    Scene(("f2",), "F2 writes it.", 2.5),
    Scene(("escape",), "The row stays where it was, with its mark; U would take the step back.", 3.5),
    Scene(("W",), "W: the weekly sweep, one decision for each overdue case.", 3.5),
    Scene(("escape", "M"), "M: the audit of a month, every count with its denominator.", 3.5),
)


async def filmed(scenes: Sequence[Scene], folder: Path) -> list[str]:
    """The screen after the keys of each scene, as SVG."""
    shots: list[str] = []
    async with opened(SIZE, folder) as pilot:
        for scene in scenes:
            for key in scene.keys:
                await pilot.press(key)
                await still(pilot)
            shot = tidied(pilot.app.export_screenshot(title="armrise demo"))
            shots.append(re.sub("<!--.*?-->", "", shot))
    return shots


def joined(shots: Sequence[str], scenes: Sequence[Scene]) -> str:
    """One SVG that shows each shot for its scene's seconds, its words below it, again and again."""
    width, height = (float(found) for found in _found(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', shots[0]))
    whole = sum(scene.seconds for scene in scenes)
    styles, frames, begins = [], [], 0.0
    for number, (shot, scene) in enumerate(zip(shots, scenes, strict=True)):
        styles.append(_shown(number, begins / whole, (begins + scene.seconds) / whole, whole))
        words = f'<text class="said" x="{width / 2}" y="{height + 30}">{html.escape(scene.said)}</text>'
        frames.append(f'<g id="scene{number}" class="scene">{shot}{words}</g>')
        begins += scene.seconds
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height + 50}">'
        "<style>.scene{opacity:0}.said{font:22px sans-serif;text-anchor:middle;fill:#888}"
        f"{''.join(styles)}"
        "@media (prefers-reduced-motion:reduce){.scene{animation:none!important}#scene0{opacity:1}}</style>"
        f"{''.join(frames)}</svg>\n"
    )


def _found(pattern: str, text: str) -> Iterable[str]:
    found = re.search(pattern, text)
    assert found, pattern
    return found.groups()


def _shown(number: int, begins: float, ends: float, whole: float) -> str:
    """The rule by which a scene is seen between two shares of the tour, and not before or after."""
    at = [f"{begins:.4%}{{opacity:1}}", f"{ends:.4%},100%{{opacity:0}}"]
    before = "0%{opacity:0}" if begins else ""
    return (
        f"@keyframes s{number}{{{before}{''.join(at)}}}"
        f"#scene{number}{{animation:s{number} {whole:g}s step-end infinite}}"
    )


def in_words(scenes: Sequence[Scene]) -> str:
    """The tour for whoever sees no moving picture: a line for everything that is said, once."""
    said = dict.fromkeys(scene.said for scene in scenes)
    return "".join(f"{number}. {words}\n" for number, words in enumerate(said, 1))


async def make() -> None:
    """Make the tour anew, and its words in the README."""
    with tempfile.TemporaryDirectory() as folder:
        shots = await filmed(SCENES, Path(folder))
    TOUR.write_text(joined(shots, SCENES), encoding="utf-8")
    put_between(FOLDER.parents[1] / "README.md", "tour", in_words(SCENES))
    print(f"{TOUR.name}: {len(shots)} scenes, {TOUR.stat().st_size // 1000} KB")


if __name__ == "__main__":
    plain_terminal()
    asyncio.run(make())
