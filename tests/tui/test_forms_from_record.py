"""A form says nothing again that a rule of the record says: closed lists, lengths, ranges.

Common practice, no source: one statement of a fact, read wherever it counts.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import Field, fields
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from armrise.store.entries.build import HEAD
from armrise.store.record.case import KINDS
from armrise.store.record.fields import Choice, Flag, Number, Rule, Series, Whole, Words
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Decision
from armrise.store.record.kinds.plan import Clearance
from armrise.store.record.kinds.programme import DoneItem
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.forms.decisions.clearance import ClearanceScreen
from armrise.tui.forms.decisions.decision import DecisionScreen
from armrise.tui.forms.decisions.discharge import DischargeScreen
from armrise.tui.forms.decisions.event import EventScreen
from armrise.tui.forms.decisions.flag_outcome import FlagOutcomeScreen
from armrise.tui.forms.decisions.hold import HoldScreen
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.forms.decisions.letter import LetterScreen
from armrise.tui.forms.decisions.orders import OrdersScreen
from armrise.tui.forms.decisions.refer import ReferScreen
from armrise.tui.forms.decisions.reopen import ReopenScreen
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.forms.sweep.forms import SweepPhone
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import TODAY, new_entries, newest, painted, press, type_in

SOURCES = Path(__file__).parents[2] / "tui" / "forms"

OWN_FORMS = (
    BookingScreen,
    ClearanceScreen,
    ContactScreen,
    DecisionScreen,
    DischargeScreen,
    EventScreen,
    FlagOutcomeScreen,
    HoldScreen,
    InHandScreen,
    LetterScreen,
    OrdersScreen,
    ReferScreen,
    ReopenScreen,
)

ALLOWED: dict[tuple[str, str], str] = {
    ("decisions/discharge.py", "Words(120,)"): "shares the one note of a discharge with two other texts",
    ("decisions/discharge.py", "Words(80,)"): "shares the one note of a discharge with two other texts",
    ("programme/small.py", "longest=120"): "weights as one text, which is read into a series",
    ("programme/small.py", "longest=40"): "bands as one text, which is read into a series",
    ("visit/checkin.py", "0 to 10"): "help in prose: every pain score there is",
    ("visit/checkin.py", "longest=80"): "an exercise with its dose as one text, which is read into a part",
    ("measures/range_line.py", "longest=80"): "a line of measurements, which is read into several entries",
    ("kit/weeks.py", "longest=40"): "a summary as one text, which is read into its fields",
    ("visit/diary.py", "LONGEST"): "days of a diary as one text, which is read into several entries",
    ("first_visit/screen.py", "RIGHT, LEFT"): "the other side of a side",
    ("first_visit/screen.py", "LEFT, RIGHT"): "the other side of a side",
    ("paged/fields.py", "yes, no, declined"): "a key for each answer; not asked is no key",
    ("red_flags/rows.py", "yes, no, declined"): "a key for each answer; not asked is no key",
    ("measures/range_line_parse.py", "SHORTEST_LEVEL"): "how much of the name of a spinal level is typed",
    ("measures/items_fields.py", "LONGEST"): "digits of one answer of a questionnaire",
}
"""(file, what is said again): why it may be."""


def rules() -> Iterator[Rule]:
    """Every rule of the record."""
    for of in (*KINDS.values(), DoneItem):
        yield from (one.metadata["rule"] for one in fields(of) if "rule" in one.metadata)
    yield from HEAD.values()


LISTS = {rule.words for rule in rules() if isinstance(rule, Choice)} - {("yes", "no")}
"""Yes and no alone (ruling 93) are the answers to any question, and no list that a form could say again."""
RANGES = {(r.low, r.high) for r in rules() if isinstance(r, Whole | Number | Series) and r.high < 2**62}


def said_again(tree: ast.AST) -> Iterator[str]:
    """Whatever in a source states a closed list, a length or a range of the record, docstrings left out."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            node.value.value = ""
        match node:
            case ast.Tuple() | ast.List() | ast.Set():
                yield from lists_in(node.elts)
            case ast.Dict():
                yield from lists_in(node.values)
                yield from lists_in([key for key in node.keys if key])
            case ast.Call():
                yield from rules_in(node)
            case ast.Compare():
                yield from ranges_in(node)
            case ast.Constant(value=str() as text):
                yield from (f"{low} to {high}" for low, high in RANGES if stated(text, low, high))
            case ast.Assign(targets=[ast.Name(id=name)], value=ast.Constant(value=int())):
                if re.search("SHORTEST|LONGEST|LOWEST|HIGHEST", name):
                    yield name
            case _:
                pass


def lists_in(nodes: list[ast.expr]) -> Iterator[str]:
    """Three quarters of a closed list, or all of it: fewer are a choice that a form makes from it."""
    words = [node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    for one in LISTS:
        if set(words) <= set(one) and 4 * len(set(words)) >= 3 * len(one):
            yield ", ".join(words)


def rules_in(call: ast.Call) -> Iterator[str]:
    """A length given to a line of text, or a rule made with numbers."""
    for given in call.keywords:
        if given.arg == "longest" and isinstance(given.value, ast.Constant) and given.value.value > 20:
            yield f"longest={given.value.value}"
    if isinstance(call.func, ast.Name) and call.func.id in ("Whole", "Number", "Series", "Words"):
        numbers = [arg.value for arg in call.args if isinstance(arg, ast.Constant)]
        if numbers:
            yield f"{call.func.id}{tuple(numbers)}"


def ranges_in(compared: ast.Compare) -> Iterator[str]:
    """ "1 <= days <= 366"."""
    ends = [compared.left, compared.comparators[-1]]
    low, high = (end.value if isinstance(end, ast.Constant) else None for end in ends)
    if (low, high) in RANGES:
        yield f"{low} <= .. <= {high}"


def stated(text: str, low: int, high: int) -> bool:
    """True where a sentence names a range."""
    return re.search(rf"(?<!\d){low} to {high}(?!\d)", text) is not None


def test_no_form_says_again_what_a_rule_of_the_record_says() -> None:
    found = {
        (path.relative_to(SOURCES).as_posix(), what)
        for path in sorted(SOURCES.rglob("*.py"))
        for what in said_again(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert found == set(ALLOWED)


def test_the_reader_of_sources_finds_each_way_of_saying_it_again() -> None:
    text = """
STATES = ("sent", "draft")
KEYS = {"s": "small", "m": "medium", "l": "large", "x": "massive"}
SHORTEST = 3
line = Line("note", longest=200)
fits = 1 <= days <= 366
words = "allowed is 1 to 366 days"
rule = Whole(1, 366, "days")
"""
    assert sorted(said_again(ast.parse(text))) == sorted(
        [
            "sent, draft",
            "small, medium, large, massive",
            "SHORTEST",
            "longest=200",
            "1 <= .. <= 366",
            "1 to 366",
            "Whole(1, 366, 'days')",
        ]
    )


# what a changed rule changes


def change(monkeypatch: pytest.MonkeyPatch, of: type, name: str, rule: Rule) -> None:
    """Another rule for one field of a record type, as long as the test lasts."""
    field: Field[Any] = next(one for one in fields(of) if one.name == name)
    monkeypatch.setattr(field, "metadata", MappingProxyType({"rule": rule}))


def asked() -> Iterator[tuple[type[RecordForm], Ask]]:
    """What the forms of one kind ask for the record; the day of an entry has no rule of its own there."""
    for form in (*OWN_FORMS, SweepPhone):
        yield from ((form, ask) for ask in form.asks if ask.rule is None and ask.name != "on")


@pytest.mark.parametrize(("form", "ask"), asked(), ids=lambda one: getattr(one, "id", None) or one.__name__)
def test_another_rule_of_the_record_is_another_field(
    form: type[RecordForm], ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    of = ask.of or form.kind
    change(monkeypatch, of, ask.name, Choice(("this", "that")))
    row = field_for(ask, form.kind, TODAY)
    assert isinstance(row, Pick)
    assert row.options == ("this", "that")
    change(monkeypatch, of, ask.name, Words(33))
    row = field_for(ask, form.kind, TODAY)
    assert isinstance(row, Line)
    assert row.longest == 33


async def test_a_longer_note_is_asked_for_where_the_record_asks_for_one(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    change(monkeypatch, Decision, "note", Words(200, 12))
    async with FormApp(DecisionScreen(door, door.standing("BY-060"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        await type_in(pilot, "carry on")
        await press(pilot, "f2")
        assert "note: at least 12 characters, 8 typed" in painted(pilot)


async def test_the_day_of_an_entry_never_lies_ahead(door: Door) -> None:
    async with FormApp(ClearanceScreen(door, door.standing("BY-072"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        pilot.app.screen.query_one(DayField).focus()
        await press(pilot, "right")
        assert "lies ahead; at the latest Mon 2 Mar 2026" in painted(pilot)


# what a field begins with

BEGINS = {
    ("ContactScreen", "load_cut"): "n",
    ("ContactScreen", "plan_corrected"): "n",
    ("ContactScreen", "surgeon_told"): "n",
    ("DischargeScreen", "letter"): "y",
    ("LetterScreen", "state"): "sent",
    ("ReferScreen", "letter"): "n",
    ("ReferScreen", "surgeon_told"): "n",
}
"""Said by the forms one by one; nothing that a clinician permits or has told begins as yes."""


def test_a_field_begins_with_nothing_unless_its_form_says_so() -> None:
    found = {(form.__name__, ask.name): ask.value for form in OWN_FORMS for ask in form.asks if ask.value}
    assert found == BEGINS


@pytest.mark.parametrize("rule", [Choice(("yes", "no")), Flag()])
def test_a_default_of_the_record_answers_nothing(rule: Rule, monkeypatch: pytest.MonkeyPatch) -> None:
    field: Field[Any] = next(one for one in fields(Clearance) if one.name == "scope")
    change(monkeypatch, Clearance, "scope", rule)
    monkeypatch.setattr(field, "default", "yes")
    row = field_for(next(ask for ask in ClearanceScreen.asks if ask.name == "scope"), Clearance, TODAY)
    assert not isinstance(row, Line)
    assert row.value == ""


# what is confirmed

WRITTEN = {
    "contact": (ContactScreen, "BY-018", ("<s enter enter enter enter y n n n>", "rested a week")),
    "decision": (DecisionScreen, "BY-060", ("<c>", "seen at the ward")),
    "event": (EventScreen, "BY-015", ("<2 left enter y enter y>",)),
    "hold": (HoldScreen, "BY-042", ("<1>", "+14")),
    "letter": (LetterScreen, "BY-087", ("<1>",)),
}


@pytest.mark.parametrize("name", WRITTEN)
async def test_what_is_confirmed_is_the_phrase_of_what_is_stored(name: str, door: Door) -> None:
    form, code, steps = WRITTEN[name]
    before = newest(door)
    app = FormApp(form(door, door.standing(code)))
    async with app.run_test(size=(160, 50)) as pilot:
        await settle(pilot)
        for step in steps:
            await (press(pilot, *step[1:-1].split()) if step[0] == "<" else type_in(pilot, step))
        shown = painted(pilot)
        await press(pilot, "f2")
    stored: list[Entry] = new_entries(door, code, before)
    assert stored
    for entry in stored:
        assert door.words(entry) in shown
        assert door.words(entry) in app.result
