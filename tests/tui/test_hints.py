"""The foot of a form in the dialect of the foot of a list: keys bold, words not."""

from __future__ import annotations

import re

import pytest

from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.shell import keys
from armrise.tui.widgets.hints import hinted


def bold(text: str) -> list[str]:
    """What is bold."""
    told = hinted(text)
    assert told.plain == text
    return [told.plain[s.start : s.end] for s in told.spans if "bold" in str(s.style) and s.start < s.end]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("F2 write   Esc leave, nothing written", ["F2", "Esc"]),
        ("Enter, y or F2 write", ["Enter, y or F2"]),
        ("0-9 and on, x is 10   d declined   Backspace empties: not asked", ["0-9", "d", "Backspace"]),
        ("PgDn PgUp blocks   F10 end", ["PgDn PgUp", "F10"]),
        ("Enter: write\n. repeat  - not measured", ["Enter", ".", "-"]),
        ("total and Enter   empty: not asked", []),
    ],
)
def test_keys_are_bold_and_words_are_not(text: str, found: list[str]) -> None:
    assert bold(text) == found


FORMS = [
    screen for screen in keys.screens() if issubclass(screen, FormScreen) and isinstance(screen.keys, str)
]


@pytest.mark.parametrize("form", FORMS, ids=lambda f: f.__name__)
def test_every_form_spells_its_keys_alike(form: type[FormScreen]) -> None:
    """A key of the foot is bold, so that none is missed as a word, and spelled as everywhere."""
    parts = re.split(r" {2,}|\n", form.keys)
    assert len(bold(form.keys)) == len(parts)
    assert not re.search(r"\b(esc|left|right|enter|pgdn|f\d)\b", form.keys)
