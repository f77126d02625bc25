"""Style sheets parsed once a process, where Textual parses all of them for each application.

Parsing is a function of the text, of where it stands and of the theme's variables. Within one application
Textual keeps what it parsed by the first two and drops it when the variables change; here all three are the
key, and every application of a test run shares what was parsed. Applying a rule changes nothing in it.
"""

from __future__ import annotations

from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.css.types import CSSLocation

parse = Stylesheet._parse_rules
PARSED: dict[object, list[RuleSet]] = {}


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


def parse_once() -> None:
    """Let every style sheet of this process be parsed so."""
    Stylesheet._parse_rules = parsed  # type: ignore[method-assign]
