"""What the tests hold the program against outside of it, for the README: ``python -m tests.held_against``.

Named are the published sources and standards that stand in the docstrings and comments of the tests, and the
reference libraries they import, so the table follows from the tests.
"""

from __future__ import annotations

import ast
import re
import tokenize
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

from armrise.store.record.words import MONTHS
from tests.between import put_between

TESTS = Path(__file__).parent
README = TESTS.parent / "README.md"
ROOMS = {
    "the clinical rules, scores and counts": "clinic",
    "the record, its files and what goes out": "store",
    "screens and charts": "tui",
    "commands and documents": ".",
}
LIBRARIES = {
    "fhir": "fhir.resources",
    "icalendar": "icalendar",
    "jsonschema": "jsonschema",
    "lifelines": "lifelines",
    "python_calamine": "python-calamine",
    "pypdfium2": "pypdfium2",
    "pyphen": "pyphen",
    "scipy": "scipy",
    "zxingcpp": "zxing-cpp",
}
"""What is imported to check something by, and how it is called where it is installed."""
PUBLISHED = re.compile(
    r"(?:(?:de|van) )?[A-Z][a-z]+(?:-[A-Z][a-z]+)*(?: and [A-Z][a-z]+)* (?:19|20)\d\d\b"
    r"|PMC\d+|RFC \d{4}|ISO \d{3,}"
)
IMPORTED = re.compile(r"^ *(?:from|import) (\w+)|importorskip\(\"(\w+)", re.MULTILINE)
JOURNALS = ("Disord", "Int", "Rep", "Res", "Sport", "Studies")
"""The last word of a journal's name, before the year of a volume."""
NO_SOURCES = (*MONTHS, *JOURNALS, "Day")


def lines() -> Iterator[str]:
    """The table: a row a room of the tests, its sources and its libraries."""
    yield "| what is tested | published sources and standards | reference libraries |"
    yield "|---|---|---|"
    for what, room in ROOMS.items():
        files = [file for file in (TESTS / room).glob("*.py") if file != Path(__file__)]
        texts = [file.read_text(encoding="utf-8") for file in files]
        sources = {name for text in texts for name in named(text)}
        libraries = {LIBRARIES[name] for text in texts for name in imported(text) if name in LIBRARIES}
        yield f"| {what} | {', '.join(sorted(sources))} | {', '.join(sorted(libraries))} |"


def named(text: str) -> set[str]:
    """The sources that docstrings and comments of a file name: authors and year, else number.

    >>> sorted(named("# As Roy 2009 prints, on Mon 2 Mar 2026 (PMC123).\\n"))
    ['PMC123', 'Roy 2009']
    """
    if not PUBLISHED.search(text):
        return set()
    tree = ast.parse(text)
    documented = ast.Module | ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
    told = [ast.get_docstring(node) or "" for node in ast.walk(tree) if isinstance(node, documented)]
    tokens = tokenize.generate_tokens(StringIO(text).readline)
    told += [token.string for token in tokens if token.type == tokenize.COMMENT]
    found = {name for words in told for name in PUBLISHED.findall(words)}
    return {name for name in found if not name.startswith(NO_SOURCES)}


def imported(text: str) -> set[str]:
    """The outermost names of what a file imports.

    >>> sorted(imported('import scipy.stats\\nx = pytest.importorskip("holidays")\\n'))
    ['holidays', 'scipy']
    """
    return {plain or asked for plain, asked in IMPORTED.findall(text)}


def table() -> str:
    """The table as it stands in the README."""
    return "".join(f"{line}\n" for line in lines())


if __name__ == "__main__":
    put_between(README, "held against", table())
