"""Where a clinic's own words for patients lie, and the rules with them."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules

ASKED = "ARMRISE_WORDS"
FILE = "words.toml"


def words_path() -> Path:
    """The file of the clinic's own words: that of ARMRISE_WORDS, else ``words.toml`` beside its rules."""
    named = os.environ.get(ASKED)
    if named:
        return Path(named)
    from armrise.store.rules.folder.place import default_folder

    return default_folder().with_name(FILE)


def in_the_clinics_words(rules: Rules) -> Rules:
    """The rules with the clinic's own words for patients, where it has any.

    Words that are refused keep nobody from the list: what is said to a patient then says why instead.
    """
    from dataclasses import replace

    from armrise.store.rules.words.patient import WordsError

    path = words_path()
    if not os.environ.get(ASKED) and not path.exists():
        return rules
    try:
        return in_words_of(rules, path)
    except WordsError as fault:
        return rules.said_in(replace(rules.words, fault=str(fault)))


def in_words_of(rules: Rules, path: Path) -> Rules:
    """The rules with the words of a file. Raises a rule error of one sentence."""
    from armrise.store.rules.words.beside_rules import speaking
    from armrise.store.rules.words.read import read_words

    return speaking(rules, read_words(path), path.name)
