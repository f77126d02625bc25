"""The file of patient words printed, ready to be said anew in another language."""

from __future__ import annotations

from collections.abc import Iterator

from armrise.store.rules.pathway import Rules
from armrise.store.rules.words.beside_rules import said_by_rules
from armrise.store.rules.words.read import SHIPPED

_HEAD = """

# The rest says in this language what the clinic's rule files say in English, by their names. An English file
# goes without it: there the rule files speak.
"""
_REMARKS = {
    "red_flags": "By item of the red-flag screen: what to do at once, and why; then what else, and when",
    "stages": "By stage: what is said in place of what is said of pain",
    "exercises": "By name in the catalogue. One that is not named here is printed as it was recorded",
}


def as_file(rules: Rules) -> str:
    """The file of words as shipped, with all that rules say to a patient, ready to be said anew."""
    return SHIPPED.read_text(encoding="utf-8").rstrip() + _HEAD + "\n".join(_sections(rules)) + "\n"


def _sections(rules: Rules) -> Iterator[str]:
    for section, named in said_by_rules(rules).items():
        yield f"# {_REMARKS[section]}\n[{section}]"
        for key, lines in named.items():
            texts = ", ".join(map(_quoted, lines))
            yield f"{_quoted(key)} = {f'[{texts}]' if section == 'red_flags' else texts}"
        yield ""


def _quoted(text: str) -> str:
    """A text as TOML has it; none of a rule file holds a sign that is not printed."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
