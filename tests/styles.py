"""Style sheets parsed and applied once a process, where Textual does both for each application.

Parsing is a function of the text, of where it stands and of the theme's variables. Within one application
Textual keeps what it parsed by the first two and drops it when the variables change; here all three are the
key, and every application of a test run shares what was parsed. Applying a rule changes nothing in it.

Which rules hold for a widget follows from the sheet and from the path to the widget: of each on it the class,
the id, the style classes, and whether it has the focus, may have it, is pointed at or disabled. Textual keeps
the answer for widgets of one path during one call, and says where it must not be kept; here it is kept for
every application.
"""

from __future__ import annotations

from typing import Any
from weakref import WeakKeyDictionary

from textual.app import App
from textual.css.model import RuleSet
from textual.css.styles import RulesMap
from textual.css.stylesheet import Stylesheet
from textual.css.types import CSSLocation
from textual.dom import DOMNode
from textual.widget import Widget

parse = Stylesheet._parse_rules
apply = Stylesheet.apply
replace = Stylesheet.replace_rules.__func__  # type: ignore[attr-defined]
PARSED: dict[object, list[RuleSet]] = {}
NUMBERS: dict[tuple[RuleSet, ...], int] = {}
"""A number for each list of rules."""
NUMBERED: WeakKeyDictionary[Stylesheet, tuple[list[RuleSet], int]] = WeakKeyDictionary()
"""The rules of each sheet and their number."""
ASKS = ("_has_hover_style", "_has_focus_within", "_has_order_style", "_has_odd_or_even")
"""What of a widget its rules ask for, as Textual notes it on the widget."""
HOLD: dict[object, tuple[RulesMap, dict[str, bool]]] = {}
"""The rules that hold for a widget, and what they ask for."""

SET: dict[int, tuple[RulesMap, RulesMap]] = {}
"""Rules, by where they lie, and what a widget holds to which they are given."""


def parsed(
    sheet: Stylesheet,
    css: str,
    read_from: CSSLocation,
    is_default_rules: bool = False,
    tie_breaker: int = 0,
    scope: str = "",
) -> list[RuleSet]:
    """The rules of a text; one that cannot be parsed raises each time."""
    asked = (css, read_from, is_default_rules, tie_breaker, scope)
    key = (frozenset(sheet._variables.items()), asked)
    if key not in PARSED:
        PARSED[key] = parse(sheet, *asked)
    return PARSED[key]


def number_of(sheet: Stylesheet) -> int:
    """A number that sheets of the same rules share."""
    rules = sheet.rules
    known = NUMBERED.get(sheet)
    if known is None or known[0] is not rules:
        known = NUMBERED[sheet] = (rules, NUMBERS.setdefault(tuple(rules), len(NUMBERS)))
    return known[1]


def place_of(node: DOMNode) -> tuple[object, ...]:
    """What a rule may ask of a node and of those above it."""
    path: list[object] = []
    while True:
        path.append((type(node), node._id, node.classes))
        if isinstance(node, Widget):
            path.append((node.mouse_hover, node.has_focus, node.is_disabled, node.allow_focus()))
        elif isinstance(node, App):
            theme = node.current_theme.dark
            path.append((node.app_focus, theme, node.is_inline, node.native_ansi_color, node.no_color))
        if not isinstance(node._parent, DOMNode):
            return tuple(path)
        node = node._parent


def applied(sheet: Stylesheet, node: DOMNode, *, animate: bool = False, cache: Any = None) -> None:
    """As Textual, whichever widgets are styled in the same call."""
    key = (number_of(sheet), place_of(node))
    if key not in HOLD:
        own: dict[object, RulesMap] = {}
        apply(sheet, node, animate=animate, cache=own)  # type: ignore[arg-type]
        for rules in own.values():
            HOLD[key] = (rules, {name: getattr(node, name) for name in ASKS})
        return
    rules, asks = HOLD[key]
    for name, asked in asks.items():
        setattr(node, name, asked)
    sheet.replace_rules(node, rules, animate=animate)
    sheet._process_component_classes(node)


def replaced(cls: type[Stylesheet], node: DOMNode, rules: RulesMap, animate: bool = False) -> None:
    """As Textual, which sets each rule though the widget has it.

    What a widget without rules comes to by a list of them is kept by the list, and given to the next at once.
    """
    base = node.styles.base
    if base._rules == rules:
        node.notify_style_update()
    elif base._rules or (animate and "transitions" in rules):
        replace(cls, node, rules, animate)
    elif (known := SET.get(id(rules))) and known[0] is rules:
        base._rules.update(known[1])
        base._updates += 1
        base.refresh(layout=True, children=True, parent=True)
        node.notify_style_update()
    else:
        replace(cls, node, rules, animate)
        SET[id(rules)] = rules, base._rules.copy()


def parse_once() -> None:
    """Let every style sheet of this process be parsed and applied so."""
    Stylesheet._parse_rules = parsed  # type: ignore[method-assign]
    Stylesheet.apply = applied  # type: ignore[method-assign]
    Stylesheet.replace_rules = classmethod(replaced)  # type: ignore[assignment]
