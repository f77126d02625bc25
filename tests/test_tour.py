"""The moving tour of the README: every scene is seen in its turn, and no two at once."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.pictures import FOLDER, words_of
from tests.tour import SCENES, TOUR, Scene, filmed, in_words, joined

SHOT = '<svg viewBox="0 0 100 50" xmlns="http://www.w3.org/2000/svg"><text>{}</text></svg>'


def test_scenes_follow_one_another_without_a_gap_and_come_again() -> None:
    scenes = [Scene((), "first & last", 1), Scene(("j",), "second", 3)]
    made = joined([SHOT.format("A"), SHOT.format("B")], scenes)
    ET.fromstring(made)
    assert "@keyframes s0{0.0000%{opacity:1}25.0000%,100%{opacity:0}}" in made
    assert "@keyframes s1{0%{opacity:0}25.0000%{opacity:1}100.0000%,100%{opacity:0}}" in made
    assert made.count("4s step-end infinite") == 2
    assert "first &amp; last" in made


def test_the_readme_tells_the_tour_in_words() -> None:
    readme = (FOLDER.parents[1] / "README.md").read_text(encoding="utf-8")
    told = f"<!-- tour -->\n{in_words(SCENES)}<!-- /tour -->"
    assert told in readme, "make it anew: python -m tests.tour"


async def test_the_tour_shows_what_the_program_shows_and_fetches_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for variable in ("NO_COLOR", "LC_ALL", "ARMRISE_ASCII", "ARMRISE_AUTHOR"):
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setenv("LANG", "C.UTF-8")
    kept = TOUR.read_text(encoding="utf-8")
    now = joined(await filmed(SCENES, tmp_path), SCENES)
    assert words_of(kept) == words_of(now), "make it anew: python -m tests.tour"
    assert set(re.findall(r"https?://[^\"' <)]*", kept)) == {"http://www.w3.org/2000/svg"}
