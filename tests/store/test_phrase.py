"""One sentence an entry: no fact dropped, its day said once, the same words before and after writing."""

import re
from dataclasses import MISSING, fields, replace
from datetime import date
from pathlib import Path

import pytest

from armrise.store.entries.build import field_rules
from armrise.store.record.case import KINDS
from armrise.store.record.kinds.head import Entry
from armrise.store.record.phrase import dated, phrase
from armrise.store.record.words import full_date, near_date, words_date
from armrise.store.rules.read import load
from tests.golden.samples import samples

RULES = load()
SILENT = {
    ("correction", "replaced_by"): "what stands instead is named beside it",
    ("irritability", "proposed"): "said only where another level was confirmed",
    ("visit", "anything_new"): "said only once it was asked",
}
"""Fields that a sentence leaves out, and when; each stands on the pane of the history."""


def full(kind: str) -> Entry:
    """An entry of ``kind`` with every field stated."""
    (entry,) = (made for said, made in samples(kind) if said == "every field" and isinstance(made, Entry))
    return entry


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_field_left_out_changes_the_sentence(kind: str) -> None:
    entry = full(kind)
    defaults = {spec.name: spec.default for spec in fields(entry) if spec.default is not MISSING}
    for spec in field_rules(type(entry)):
        other = defaults.get(spec.name, MISSING)
        if other is MISSING or other == getattr(entry, spec.name) or (kind, spec.name) in SILENT:
            continue
        assert phrase(replace(entry, **{spec.name: other}), RULES) != phrase(entry, RULES), spec.name


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_day_is_added_once_and_nothing_else(kind: str) -> None:
    entry = replace(full(kind), on=date(2025, 11, 3))
    said, bare = dated(entry, RULES), phrase(entry, RULES)
    assert said.count("Mon 3 Nov 2025") == 1
    assert "Mon 3 Nov 2025" in dated(entry, RULES, year=2026)
    assert "Mon 3 Nov 2025" not in dated(entry, RULES, year=2025)
    words = set(re.findall(r"\w+", said)) - {"of", "on", "from", "told", "Mon", "3", "Nov", "2025"}
    assert words <= set(re.findall(r"\w+", bare))


def test_a_date_does_not_follow_the_machine() -> None:
    """From memory: 2 March 2026 is a Monday; names in English, as the clinic writes them."""
    assert words_date(date(2026, 3, 2)) == "Mon 2 Mar"
    assert full_date(date(2026, 3, 2)) == "Mon 2 Mar 2026"
    assert near_date(date(2026, 3, 2), date(2026, 12, 31)) == "Mon 2 Mar"
    assert near_date(date(2027, 1, 4), date(2026, 12, 31)) == "Mon 4 Jan 2027"
    for source in (*Path("store").rglob("*.py"), *Path("tui").rglob("*.py")):
        assert not re.search(r"%[aAbB]\b", source.read_text(encoding="utf-8")), source
