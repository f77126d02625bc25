"""A search finds what the rows show: every word printed on every row of the demonstration, at every width."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from armrise.tui.case.act_keys import act_keys
from armrise.tui.shell.door import Door
from armrise.tui.widgets import search
from armrise.tui.widgets.rows import Look, case_lines
from tests.tui.form_store import open_copy
from tests.tui.planned import plan
from tests.tui.test_board_filter import matches

KEY = re.compile(r"\(\S( \S)?\)")
"""The key behind an action, which is not searched for."""


@pytest.fixture(scope="module")
def standings(made: Path, tmp_path_factory: pytest.TempPathFactory):
    door: Door = open_copy(made, tmp_path_factory.mktemp("words") / "demo.armrise")
    return door.standings()


@pytest.mark.parametrize("ascii_only", [False, True], ids=["utf", "plain letters"])
@pytest.mark.parametrize("by_hour", [False, True], ids=["list", "by hour"])
def test_every_word_printed_on_a_row_finds_it(standings, by_hour: bool, ascii_only: bool) -> None:
    missing: list[str] = []
    about = {case.code: search.about(case) for case in standings}
    for width in (60, 79, 119, 159, 200):
        columns = plan(standings, width, by_hour=by_hour, ascii_only=ascii_only)
        for case in standings:
            for opened in (False, True):
                look = Look(case.tier, opened, keys=act_keys({}))
                spans = (s for line in case_lines(case, columns, look) for s in line)
                text = KEY.sub("", " ".join(" ".join(s.text for s in spans if s.style != "trend").split()))
                printed = (word.strip(",;") for word in text.split())
                words = [word for word in printed if word and not word.endswith(("…", "~"))]
                missing += [
                    f"{case.code} at {width}: {word}"
                    for word in words
                    if not matches(about[case.code], f'"{word}"')
                ]
    assert sorted(set(missing)) == []


def test_the_words_together_find_the_row_that_says_them(standings) -> None:
    about = {case.code: search.about(case) for case in standings}

    def found(text: str) -> set[str]:
        return {code for code, told in about.items() if matches(told, text)}

    def said(text: str) -> set[str]:
        return {
            case.code
            for case in standings
            if any(
                text in " ".join(" ".join(s.text for s in line).casefold().split())
                for opened in (False, True)
                for line in case_lines(case, plan(standings, 200), Look(case.tier, opened))
            )
        }

    for text in ("none booked", "here 09:20", "on hold", "base load", "overdue", "step forward"):
        assert found(f'"{text.title()}"') >= said(text) > set(), text
    referrers = {case.referrer for case in standings if case.referrer}
    assert all(found(f'"{name}"') for name in referrers)
