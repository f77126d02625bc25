"""What is made for others to install: ``tests.release`` but for the building, which ``.ci/run`` does."""

from __future__ import annotations

import re
import tomllib

import pytest

from tests import release

README = release.ROOT / "README.md"
PROJECT = release.ROOT / "pyproject.toml"


def test_every_picture_of_the_readme_gets_its_address_and_nothing_else_changes() -> None:
    page = README.read_text(encoding="utf-8")
    made = release.with_addresses(page, "https://example.org/files/")
    paths = re.findall(r"!\[[^\]]*\]\(https://example\.org/files/([^)]+)\)", made)
    assert len(paths) == page.count("![") > 10
    assert all((release.ROOT / path).is_file() for path in paths)
    assert made.replace("https://example.org/files/", "") == page


def test_a_picture_that_has_an_address_keeps_it() -> None:
    page = "![A list](https://example.org/list.svg)"
    assert release.with_addresses(page, "https://example.com") == page


def test_the_links_of_the_project_are_read_back_and_everything_else_stays() -> None:
    text = PROJECT.read_text(encoding="utf-8")
    made = tomllib.loads(release.linked(text, "https://example.org/armrise"))
    assert made["project"].pop("urls") == {"Homepage": "https://example.org/armrise"}
    assert made == tomllib.loads(text)


def test_links_are_never_said_twice() -> None:
    with pytest.raises(SystemExit, match="names the links of the project already"):
        release.linked(
            '[project]\nname = "armrise"\nurls = { Homepage = "https://example.org" }\n', "https://b"
        )


def test_a_file_that_is_missing_or_too_many_is_named() -> None:
    assert release.differences({"a", "b"}, {"b", "c"}, "the wheel") == [
        "the wheel lacks a",
        "the wheel holds c, which is not committed",
    ]


def test_what_has_to_lie_in_the_wheel_is_what_the_program_reads() -> None:
    found = release.packaged(
        ["README.md", "tests/tour.py", "store/rules/pathways/AD.toml", "demo_caseload.json"]
    )
    assert found == {"armrise/store/rules/pathways/AD.toml", "armrise/demo_caseload.json"}
