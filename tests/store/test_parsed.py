"""Tables of shipped rule files kept beside them: as they are read, and never used in any doubt."""

from __future__ import annotations

import sys
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from armrise.store.rules.folder import parsed
from armrise.store.rules.folder.place import SHIPPED

SOURCES = sorted([*SHIPPED.glob("*.toml"), *SHIPPED.with_name("words").glob("*.toml")])
TEXT = b"a = 1.50\nb = 2026-12-01\n[c]\nd = [1, {e = 2.5, f = 1999-01-02}, true]\n"
NOT_CARRIED = (b"a = 1.50", b"a = nan", b"a = 2026-01-01T10:00:00", b"a = 10:00:00", b"a = 1e3")


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file of a folder that is taken for the program's own."""
    monkeypatch.setattr(parsed, "_OURS", (tmp_path,))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys, "pycache_prefix", None)
    return tmp_path / "XX.toml"


def kept(path: Path) -> Path:
    return path.parent / "__pycache__" / f"{path.name}.tables"


def read(raw: bytes) -> dict[str, object]:
    return tomllib.loads(raw.decode(), parse_float=Decimal)


@pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.name)
def test_what_is_kept_of_every_shipped_file_is_what_it_says(source: Path, path: Path) -> None:
    raw = source.read_bytes()
    parsed.tables(path, raw)
    assert kept(path).exists()
    assert repr(parsed._kept(kept(path), raw)) == repr(parsed.tables(path, raw)) == repr(read(raw))


def test_nothing_is_parsed_that_is_kept(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    raw = TEXT.replace(b"1.50", b"1.5")
    first = parsed.tables(path, raw)
    monkeypatch.setattr(tomllib, "loads", None)
    assert parsed.tables(path, raw) == first


@pytest.mark.parametrize(
    "at", ["changed text", "cut short", "other body", "other digest", "empty", "a folder"]
)
def test_in_any_doubt_the_text_is_read(path: Path, at: str) -> None:
    raw = SOURCES[0].read_bytes()
    parsed.tables(path, raw)
    place, held = kept(path), kept(path).read_bytes()
    if at == "changed text":
        raw = raw.replace(b"= 7", b"= 8")
    elif at == "a folder":
        place.unlink()
        place.mkdir()
    else:
        place.write_bytes(
            {
                "cut short": held[:-9],
                "other body": held.replace(b"7", b"8"),
                "other digest": b"0" + held[1:],
                "empty": b"",
            }[at]
        )
    assert parsed._kept(place, raw) is None
    assert parsed.tables(path, raw) == read(raw)
    assert at == "a folder" or parsed._kept(place, raw) == read(raw)
    assert [one.name for one in place.parent.iterdir()] == [place.name]


@pytest.mark.parametrize("raw", NOT_CARRIED)
def test_what_would_not_come_back_as_it_is_is_not_kept(path: Path, raw: bytes) -> None:
    assert repr(parsed.tables(path, raw)) == repr(read(raw))
    assert not kept(path).exists()


def test_of_a_clinic_s_own_files_nothing_is_kept(path: Path) -> None:
    own = path.parent / "own" / "rules.toml"
    own.parent.mkdir()
    assert parsed.tables(own, TEXT) == read(TEXT)
    assert list(own.parent.iterdir()) == []


def test_nothing_is_kept_where_python_keeps_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert parsed.tables(path, SOURCES[0].read_bytes()) == read(SOURCES[0].read_bytes())
    assert not kept(path).exists()
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys.implementation, "cache_tag", None)
    assert parsed.tables(path, SOURCES[0].read_bytes()) == read(SOURCES[0].read_bytes())
    assert not kept(path).exists()
