"""Reads a file of patient words: what would leave a patient half in English is refused in one sentence."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any, cast

from armrise.store.record.bounded import MB, read_bounded
from armrise.store.rules.folder.parsed import refusal, tables
from armrise.store.rules.table import listed, shown, shown_key
from armrise.store.rules.words.patient import MANY, ONE, PatientWords, WordsError

SHIPPED = Path(__file__).with_name("english.toml")
LARGEST, LONGEST = MB, 400
"""Bytes of a file, and letters of one text."""
NAMED = ("red_flags", "stages", "exercises")
"""Tables whose keys are names of the rule files; which there must be follows from the rules."""
COUNT = "count"
_LANGUAGE = re.compile(r"[a-zA-Z]{2,3}(-[a-zA-Z0-9]{2,8})*", re.ASCII)
_EXACT = re.compile(r"\.[1-9]\d{0,2}$", re.ASCII)
_TEXT = f"text of 1 to {LONGEST} characters on one line, in quotation marks"


def read_words(path: Path) -> PatientWords:
    """The words of a file. Raises :class:`WordsError`."""
    return parse(_content(path), path.name)


@cache
def english() -> PatientWords:
    """The words as shipped."""
    return _words(tables(SHIPPED, read_bounded(SHIPPED, LARGEST)), SHIPPED.name)


def parse(text: str, name: str) -> PatientWords:
    """The words of a file's text; ``name`` is what a refusal calls it. Raises :class:`WordsError`."""
    import tomllib

    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise WordsError(f"{name}: is not valid TOML ({refusal(error)}).") from None
    made = _words(data, name)
    return _checked(made, name)


def _content(path: Path) -> str:
    try:
        return read_bounded(path, LARGEST).decode("utf-8-sig")
    except FileNotFoundError:
        fault = "is not there"
    except OSError as error:
        fault = f"cannot be read ({error.strerror or 'unknown error'})"
    except UnicodeDecodeError as error:
        fault = f"is not UTF-8 text (byte {error.start + 1}); save it as UTF-8"
    raise WordsError(f"{path.name}: {fault}.")


@dataclass
class _Found:
    """What a file holds, before it is compared with the English."""

    name: str
    said: dict[str, str] = field(default_factory=dict[str, str])

    def fault(self, key: str, fault: str) -> WordsError:
        return WordsError(f"{self.name}: {', '.join(map(shown_key, key.split('.')))}: {fault}.")

    def text(self, key: str, value: object) -> str:
        if not isinstance(value, str) or not value.isprintable() or not 0 < len(value.strip()) <= LONGEST:
            raise self.fault(key, f"is {shown(value)}, allowed is {_TEXT}")
        return value

    def table(self, key: str, value: object) -> Mapping[str, Any]:
        if not isinstance(value, dict):
            raise self.fault(key, f"is {shown(value)}, allowed is a table of texts")
        return cast(Mapping[str, Any], value)

    def leaves(self, key: str, value: object) -> Iterator[tuple[str, str]]:
        """Every text by its whole key; the texts of a list by their numbers."""
        if isinstance(value, list):
            value = {str(n): one for n, one in enumerate(cast(list[object], value), 1)}
        if not isinstance(value, dict):
            yield key, self.text(key, value)
            return
        for name, inner in cast(Mapping[str, object], value).items():
            yield from self.leaves(f"{key}.{name}", inner)


def _words(data: Mapping[str, Any], name: str) -> PatientWords:
    found = _Found(name)
    language = found.text("language", data.get("language"))
    if not _LANGUAGE.fullmatch(language):
        raise found.fault("language", f"is {shown(language)}, allowed is a word such as en, de or pt-BR")
    said: dict[str, str] = {}
    for section, value in data.items():
        if section not in (*NAMED, "language"):
            said.update(found.leaves(section, found.table(section, value)))
    flags = found.table("red_flags", data.get("red_flags", {}))
    return PatientWords(
        language=language,
        said=said,
        red_flags={item: _lines(found, item, value) for item, value in flags.items()},
        stages=_named(found, "stages", data),
        exercises=_named(found, "exercises", data),
    )


def _lines(found: _Found, item: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not value:
        raise found.fault(f"red_flags.{item}", f"is {shown(value)}, allowed is a list of texts")
    return tuple(found.text(f"red_flags.{item}", one) for one in cast(list[object], value))


def _named(found: _Found, section: str, data: Mapping[str, Any]) -> dict[str, str]:
    table = found.table(section, data.get(section, {}))
    return {key: found.text(f"{section}.{key}", value) for key, value in table.items()}


# --- beside the English -----------------------------------------------------------------------------------


def _checked(words: PatientWords, name: str) -> PatientWords:
    """The words, where they hold every key of the English and no other, each with the same parts."""
    found, shipped = _Found(name), english()
    for key, text in words.said.items():
        _check(found, key, text, shipped.said)
    begun = {key.rpartition(".")[0] for key in words.said if key.count(".") > 1}
    for key, text in shipped.said.items():
        lacks = key not in words.said and (not words.is_english or key.rpartition(".")[0] in begun)
        if lacks:
            raise found.fault(key, f"is missing, needed is what the English says: {text!r}")
    said = {**shipped.said, **words.said}
    return PatientWords(
        language=words.language,
        said=said,
        red_flags=words.red_flags,
        stages=words.stages,
        exercises=words.exercises,
    )


def _check(found: _Found, key: str, text: str, shipped: Mapping[str, str]) -> None:
    """Refuses a key that the English has not, and a text with other parts than there."""
    of = key if key in shipped else _EXACT.sub(f".{MANY}", key)
    if of not in shipped or (of != key and not of.endswith(f".{MANY}")):
        raise found.fault(key, f"is not known, allowed are {listed(_beside(key, shipped))}")
    parts = _parts(found, key, text)
    needed = _parts(found, of, shipped[of])
    may_lack = {COUNT} if not key.endswith(f".{MANY}") else set[str]()
    may_add = {COUNT} if key.endswith(f".{ONE}") else set[str]()
    if not needed - may_lack <= parts <= needed | may_add:
        allowed = listed(f"{{{part}}}" for part in sorted(needed))
        raise found.fault(
            key, f"holds {listed(f'{{{part}}}' for part in sorted(parts))}, needed is {allowed}"
        )


def _beside(key: str, shipped: Mapping[str, str]) -> list[str]:
    """The names that may stand where a key does; the sections, where its own is not known."""
    place, _, _ = key.rpartition(".")
    depth = place.count(".") + 1 if place else 0
    names = dict.fromkeys(k.split(".")[depth] for k in shipped if depth and k.startswith(f"{place}."))
    return list(names) or [*dict.fromkeys(k.partition(".")[0] for k in shipped), *NAMED]


def _parts(found: _Found, key: str, text: str) -> set[str]:
    """What a text has places for. Refuses braces that are no place, or say how to print what they hold."""
    try:
        places = [
            (name, spec, turned) for _, name, spec, turned in Formatter().parse(text) if name is not None
        ]
    except ValueError:
        raise found.fault(key, f"is {shown(text)}, allowed are braces around a part alone") from None
    if any(any(how) for _, *how in places):
        raise found.fault(key, f"is {shown(text)}, allowed between braces is the part's name alone")
    return {name for name, *_ in places}
