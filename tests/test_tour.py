"""The moving tour of the README: every scene is seen in its turn, and no two at once."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from tests.tour import SCENES, TOUR, Scene, joined

SHOT = '<svg viewBox="0 0 100 50" xmlns="http://www.w3.org/2000/svg"><text>{}</text></svg>'


def test_scenes_follow_one_another_without_a_gap_and_come_again() -> None:
    scenes = [Scene((), "first & last", 1), Scene(("j",), "second", 3)]
    made = joined([SHOT.format("A"), SHOT.format("B")], scenes)
    ET.fromstring(made)
    assert "@keyframes s0{0.0000%{opacity:1}25.0000%,100%{opacity:0}}" in made
    assert "@keyframes s1{0%{opacity:0}25.0000%{opacity:1}100.0000%,100%{opacity:0}}" in made
    assert made.count("4s step-end infinite") == 2
    assert "first &amp; last" in made


def test_the_tour_that_is_kept_shows_the_scenes_and_fetches_nothing() -> None:
    kept = TOUR.read_text(encoding="utf-8")
    assert re.findall(r'id="scene(\d+)"', kept) == [str(n) for n in range(len(SCENES))]
    assert set(re.findall(r"https?://[^\"' <)]*", kept)) == {"http://www.w3.org/2000/svg"}
