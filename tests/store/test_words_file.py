"""A file of patient words: taken whole or refused in one sentence that names the key and what is allowed."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.advice.today import say_to_patient
from armrise.store.clinic.case.view import View
from armrise.store.rules.folder.place import SHIPPED, digest_in_force
from armrise.store.rules.pathway import Rules
from armrise.store.rules.words.as_file import as_file
from armrise.store.rules.words.beside_rules import said_by_rules, speaking
from armrise.store.rules.words.patient import WordsError
from armrise.store.rules.words.read import SHIPPED as ENGLISH
from armrise.store.rules.words.read import english, parse, read_words
from tests.clinic.build import TODAY, Builder, case, rules
from tests.clinic.spoken import exercises

GERMAN = Path(__file__).parent / "words" / "german.toml"
TEXT = GERMAN.read_text(encoding="utf-8")


def in_german() -> Rules:
    return speaking(rules(), read_words(GERMAN), GERMAN.name)


def view(made: Builder, under: Rules) -> View:
    return View.of(made.record(), under, TODAY)


def refused(text: str) -> str:
    with pytest.raises(WordsError) as fault:
        speaking(rules(), parse(text, "words.toml"), "words.toml")
    (said,) = fault.value.args
    assert said.startswith("words.toml: ")
    assert said.endswith(".")
    assert "\n" not in said
    return said.removeprefix("words.toml: ")


# --- as shipped -------------------------------------------------------------------------------------------


def test_the_file_printed_is_taken_back_and_says_the_same():
    words = parse(as_file(rules()), "words.toml")
    again = speaking(rules(), words, "words.toml")
    assert again.words.said == english().said
    assert again.words.red_flags == said_by_rules(rules())["red_flags"]
    assert parse(ENGLISH.read_text(encoding="utf-8"), "english.toml").said == english().said


def test_words_are_under_no_signature():
    assert in_german().digest == rules().digest
    assert ENGLISH.parent != SHIPPED
    assert digest_in_force(SHIPPED)


def test_the_days_and_months_are_those_of_the_calendar():
    """Beside Python's own names, in the C locale."""
    import calendar

    for n, name in enumerate(calendar.day_abbr, 1):
        assert english().said[f"dates.weekdays.{n}"] == name
    for n in range(1, 13):
        assert english().said[f"dates.months.{n}"] == calendar.month_abbr[n]


# --- another language -------------------------------------------------------------------------------------


def test_a_whole_case_in_german():
    made = case("PO2", day=5, onset=19).orders(-1, lifting_limit=Decimal("1.5"))
    made.programme(-1, "P1", 2, 10, exercise="pendular swing", per_week=14, lower_s=1).booked(3, at="09:20")
    found = sheet(view(made, in_german()))
    assert found.title == "Ihre RECHTE Schulter"
    assert found.date == "Mo, 2. März 2026"
    assert "Heben Sie mit dem rechten Arm nichts, was mehr als 1,5 kg wiegt." in found.limits
    assert found.exercises == ("Pendeln: herunter in 1 Sekunde; 2 Sätze mit je 10, zweimal am Tag",)
    assert found.next_visit == "Do, 5. März um 09:20 Uhr, in 3 Tagen"


def test_an_exercise_without_a_name_is_printed_as_recorded():
    made = case("RC4", day=5).programme(-1, "R1", exercise="scaption raise", per_week=1)
    assert exercises(view(made, in_german())) == ("scaption raise: 3 Sätze mit je 10, einmal in der Woche",)


def test_flags_and_stages_are_said_in_it():
    made = case("RC2", day=5).screen(-1, "motor or sensory loss", "yes")
    assert say_to_patient(view(made, in_german()))[:2] == (
        "Gehen Sie heute ins Krankenhaus. Der Arm ist neu taub oder schwach.",
        "Rufen Sie jetzt den Notruf, wenn auch Gesicht, Sprache oder Bein betroffen sind.",
    )
    told = say_to_patient(view(case("PO1", day=5), in_german()))
    assert any(line.startswith("Heben und bewegen Sie den Arm nicht") for line in told)


def test_an_english_file_may_say_a_line_of_its_own_alone():
    words = parse('language = "en-GB"\n[sheet]\nring = "Ring the clinic: 0999 12"\n', "words.toml")
    under = speaking(rules(), words, "words.toml")
    assert under.words.say("sheet.ring") == "Ring the clinic: 0999 12"
    made = case("PO1", day=5)
    assert say_to_patient(view(made, under)) == say_to_patient(view(made, rules()))


# --- refused ----------------------------------------------------------------------------------------------


def test_another_language_lacks_no_key() -> None:
    """Each text taken out of the file in turn; a list is then too short."""
    from dataclasses import replace

    from armrise.store.rules.words import read

    words = read_words(GERMAN)
    for key in english().said:
        cut = {name: text for name, text in words.said.items() if name != key}
        place = re.escape(", ".join(key.split(".")))
        with pytest.raises(WordsError, match=f"{place}: is missing, needed is"):
            read._checked(replace(words, said=cut), "words.toml")


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('keep = "', 'kep = "', "pain, kep: is not known, allowed are scale, one_limit, "),
        ("[next_visit]", "[visits]", "visits, not_booked: is not known, allowed are dates, exercise, "),
        ("{date}, heute", "{day}, heute", "next_visit, today: holds {day}, needed is {date}."),
        ("{date}, heute", "heute", "next_visit, today: holds nothing, needed is {date}."),
        ("Lassen Sie die Übungen weg", "{x}", "today, no_exercises: holds {x}, needed is nothing."),
        ("{count}-mal am Tag", "mehrmals", "exercise, times_a_day, many: holds nothing, needed is {count}."),
        ("{date}, heute", "{date!r}", "next_visit, today: is '{date!r}', allowed between braces is the"),
        ("{date}, heute", "{date:>99999999}", "next_visit, today: is '{date:>99999999}', allowed between"),
        ("{date}, heute", "{date.year}", "next_visit, today: holds {date.year}, needed is {date}."),
        ("{date}, heute", "{date", "next_visit, today: is '{date', allowed are braces around a part alone."),
        ('"2" = "zwei', '"zwei" = "zwei', "exercise, times_a_day, zwei: is not known, allowed are many."),
        ('"So"]', '"So", "Ha"]', "dates, weekdays, 8: is not known, allowed are 1, 2, 3, 4, 5, 6, 7."),
        (
            'every_day = "jeden Tag"',
            "every_day = 7",
            "exercise, every_day: is 7, allowed is text of 1 to",
        ),
        ('every_day = "jeden Tag"', 'every_day = " "', "exercise, every_day: is ' ', allowed is text of"),
        ('"jeden Tag"', '"jeden\\u001b Tag"', "exercise, every_day: is 'jeden\\x1b Tag', allowed is text of"),
        ('language = "de"', "", "language: is None, allowed is text"),
        (
            'language = "de"',
            'language = "Deutsch, bitte"',
            "language: is 'Deutsch, bitte', allowed is a word",
        ),
        ("[stages]\nPO1", "[stages]\nRC1", "stages, 'RC1': is not known, allowed is one of PO1."),
        ('"pendular swing"', '"pendulum"', "exercises, 'pendulum': is not known, allowed is"),
        ('"something new told, not named" = ', '"x" = ', "red_flags, 'x': is not known, allowed is"),
        ("PO1 = ", "# ", "stages, 'PO1': is missing, needed is 'Do not lift or move"),
        (
            ', "Rufen Sie jetzt den Notruf, wenn die Luft knapp wird."',
            "",
            "holds 1 text, needed as in the English: 2.",
        ),
        ("[dates]", "[dates", "is not valid TOML ("),
    ],
)
def test_what_is_refused_names_the_key_and_what_is_allowed(before: str, after: str, said: str) -> None:
    assert TEXT.count(before) >= 1
    told = refused(TEXT.replace(before, after, 1))
    assert said in told


def test_a_list_of_another_length_is_no_english_either():
    said = refused('language = "en"\n[dates]\nweekdays = ["Mo", "Tu"]\n')
    assert said == "dates, weekdays, 3: is missing, needed is what the English says: 'Wed'."


@pytest.mark.parametrize(
    ("raw", "said"),
    [(b"\xff\xfe", "is not UTF-8 text (byte 1); save it as UTF-8."), (None, "is not there.")],
)
def test_a_file_that_cannot_be_read(tmp_path: Path, raw: bytes | None, said: str) -> None:
    if raw is not None:
        (tmp_path / "words.toml").write_bytes(raw)
    with pytest.raises(WordsError, match=re.escape(f"words.toml: {said}")):
        read_words(tmp_path / "words.toml")


def test_the_german_file_is_that_of_a_translator():
    """Every text of it that has words differs from the English, so that no English is taken for German."""
    data = tomllib.loads(TEXT)
    assert data["language"] == "de"
    same = {key for key, text in read_words(GERMAN).said.items() if english().said.get(key) == text}
    assert {key for key in same if re.search(r"[a-z]{3}", re.sub(r"\{\w+\}", "", english().said[key]))} <= {
        f"dates.months.{n}" for n in (4, 8, 9, 11)
    }
