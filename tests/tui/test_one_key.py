"""One outcome, one key: every choice of every form, compared by the closed list of the record."""

from __future__ import annotations

import pkgutil
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import fields
from importlib import import_module

import pytest
from textual.widget import Widget

import armrise.tui.forms
from armrise.store.entries.build import HEAD
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Choice
from armrise.store.record.kinds.care import ATTENDANCES, CONTACT_OUTCOMES
from armrise.store.record.kinds.head import AGE_BANDS, ANSWERS, NEWS, SIDES
from armrise.tui.forms.decisions.booking import SlotPick
from armrise.tui.forms.first_visit.screen import FirstVisitScreen
from armrise.tui.forms.kit.asked import field_for, override_fields
from armrise.tui.forms.kit.entry_text import Unreadable, chosen
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.measures.screen import MeasuresScreen
from armrise.tui.forms.paged.fields import Letters
from armrise.tui.forms.programme.way import way_rows
from armrise.tui.forms.red_flags.rows import ANSWER, FlagRow
from armrise.tui.forms.visit.register import RegisterScreen
from armrise.tui.forms.visit.review import ReviewScreen
from armrise.tui.words.choices import LETTERS, in_words, keys_of
from tests.clinic.build import TODAY, case, standing_of
from tests.tui.form_fakes import FakeDoor

for found in pkgutil.walk_packages(armrise.tui.forms.__path__, "armrise.tui.forms."):
    import_module(found.name)


def all_below(kind: type[RecordForm]) -> Iterator[type[RecordForm]]:
    """The forms of one kind, those of the sweep among them."""
    for below in kind.__subclasses__():
        yield below
        yield from all_below(below)


def widgets() -> Iterator[tuple[str, Widget]]:
    """Every field of every form, by the form that asks it."""
    built = case("RC2", day=40)
    door = FakeDoor(built.record(), standing_of(built))
    for form in set(all_below(RecordForm)):
        yield from ((form.__name__, field_for(ask, form.kind, TODAY)) for ask in form.asks)
    yield from (("override", row) for row in override_fields(TODAY))
    yield from (("programme", row) for row in way_rows(TODAY))
    yield "booking ahead", SlotPick(TODAY, None, ATTENDANCES[3:], "")
    paged = (FirstVisitScreen(door), FirstVisitScreen(door, door.given))
    for form in (*paged, ReviewScreen(door, door.given), MeasuresScreen(door, door.given)):
        yield from ((type(form).__name__, row) for block in form.blocks() for row in block)
    yield from (("RegisterScreen", row) for row in RegisterScreen(door).rows())


def keys_in(row: Widget) -> dict[str, str]:
    """The words a field offers by their keys."""
    match row:
        case Pick():
            return row.by_key
        case Letters():
            return row.options
        case FlagRow():
            return ANSWER
        case YesNo():
            return {"y": "yes", "n": "no"}
        case _:
            return {}


def closed_lists() -> Iterable[tuple[str, ...]]:
    """Every closed list of the record."""
    rules = [field.metadata.get("rule") for kind in KINDS.values() for field in fields(kind)]
    return {rule.words for rule in (*rules, *HEAD.values()) if isinstance(rule, Choice)}


def test_the_same_word_of_the_same_list_has_the_same_key_in_every_form() -> None:
    asked = [(form, keys) for form, row in widgets() if len(keys := keys_in(row)) > 1]
    assert len(asked) > 80
    compared = 0
    for words in closed_lists():
        by_word: defaultdict[str, defaultdict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
        for form, keys in asked:
            if set(keys.values()) <= set(words):
                for key, word in keys.items():
                    by_word[word][key].add(form)
        for word, keys in by_word.items():
            assert len(keys) == 1, (word, {key: sorted(forms) for key, forms in keys.items()})
            compared += sum(map(len, keys.values())) > 1
    print(f"{len(asked)} choices compared, {compared} words asked in more than one form")
    assert compared > 30


@pytest.mark.parametrize("words", LETTERS, ids=lambda words: words[0])
def test_letters_are_one_for_each_word_and_mean_the_same_where_words_are_typed(
    words: tuple[str, ...],
) -> None:
    keys = keys_of(words)
    assert tuple(keys.values()) == words
    for key, word in keys.items():
        assert chosen(words, key) == word
    if not set(keys) & set("123"):  # no digit is a place in a list that has letters
        with pytest.raises(Unreadable, match=r'"1" is not [a-z], '):
            chosen(words, "1")


def test_keys_in_words() -> None:
    assert in_words(keys_of(CONTACT_OUTCOMES)) == "s, a, n, w, m, r"
    assert in_words("123456789abc") == "1 to 9, a to c"
    assert in_words("1245") == "1 to 2, 4 to 5"
    assert (keys_of(AGE_BANDS)["5"], keys_of(SIDES)["l"]) == ("50s", "LEFT")
    assert keys_of(ANSWERS)["n"] == keys_of(NEWS)["n"] == "no"
