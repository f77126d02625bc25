"""Everything said to a patient, by key: sentences with places for what the record and the rules put in.

Which keys there are, and what each holds, stands in ``english.toml``; :mod:`armrise.store.rules.words.read`
reads it and every other. Here are only the words, and how they are filled in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from decimal import Decimal

from armrise.store.record.light import dataclass
from armrise.store.record.words import plain
from armrise.store.rules.table import RuleFileError

ENGLISH = "en"
ONE, MANY = "one", "many"


class WordsError(RuleFileError):
    """A file of words is refused. The message is one sentence naming file, key and what is allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientWords:
    """The words of one language.

    Every function raises :class:`WordsError` where the clinic's own file is refused: its ``fault``. Nothing
    is then said in other words, and what is not said to a patient goes on.
    """

    language: str = ENGLISH
    """As in BCP 47."""
    said: Mapping[str, str] = field(default_factory=dict[str, str])
    """By key, section and name: "pain.keep", "exercise.sets.one", "dates.weekdays.1"."""
    red_flags: Mapping[str, tuple[str, ...]] = field(default_factory=dict[str, tuple[str, ...]])
    """By item of the screen what the patient is told; of items not in it the rules say it."""
    stages: Mapping[str, str] = field(default_factory=dict[str, str])
    """By stage what is said of pain in its own words."""
    exercises: Mapping[str, str] = field(default_factory=dict[str, str])
    """By name in the catalogue."""
    fault: str = ""

    def say(self, key: str, **parts: object) -> str:
        """The text of a key with its parts put in."""
        return self._known().said[key].format_map(parts)

    def sided(self, key: str, side: str, **parts: object) -> str:
        """The text of a key for one side ("LEFT", "RIGHT")."""
        return self.say(f"{key}.{side.lower()}", **parts)

    def count(self, key: str, count: int, **parts: object) -> str:
        """The text of a key for a number of things: that of this very number, else of one, or of many."""
        exact = f"{key}.{count}"
        form = exact if exact in self.said else f"{key}.{ONE if count == 1 else MANY}"
        return self.say(form, count=count, **parts)

    def date(self, day: date, beside: date | None = None) -> str:
        """A date: with its year unless that is the year of the date ``beside`` it."""
        near = beside is not None and day.year == beside.year
        return self.say(
            "dates.this_year" if near else "dates.other_year",
            weekday=self.say(f"dates.weekdays.{day.isoweekday()}"),
            day=day.day,
            month=self.say(f"dates.months.{day.month}"),
            year=day.year,
        )

    def number(self, value: Decimal) -> str:
        """A decimal without trailing zeros."""
        return plain(value).replace(".", self.say("dates.decimal_point"))

    def listed(self, *parts: str) -> str:
        """The parts that say something, with commas."""
        return self.say("dates.comma").join(part for part in parts if part)

    def joined(self, *parts: str) -> str:
        """The parts that say something, with semicolons."""
        return self.say("dates.semicolon").join(part for part in parts if part)

    def exercise(self, name: str) -> str:
        """The name of an exercise, as recorded where these words have no other."""
        return self._known().exercises.get(name, name)

    def red_flag(self, item: str) -> tuple[str, ...]:
        """What is told of an open item of the screen; empty where the rules say it."""
        return self._known().red_flags.get(item, ())

    def stage(self, code: str) -> str:
        """What a stage says in place of what is said of pain; empty where the rules say it, or nothing."""
        return self._known().stages.get(code, "")

    @property
    def is_english(self) -> bool:
        """True for words that may leave to the rule files and the words as shipped what they do not say."""
        return self.language.partition("-")[0].lower() == ENGLISH

    def _known(self) -> PatientWords:
        if self.fault:
            raise WordsError(self.fault)
        return self
