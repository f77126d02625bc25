"""The lines for the record kept elsewhere: exact, by code alone, nothing made up where none was written."""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.exchange.out.for_record import ADVICE, for_record
from tests.clinic.build import rules
from tests.tui.form_store import TODAY, open_copy


@pytest.fixture
def door(made, tmp_path):
    return open_copy(made, tmp_path / "copy.armrise")


def lines(door, code: str) -> tuple[str, ...]:
    return for_record(View.of(door.record(code), rules(), TODAY), door.standing(code))


@pytest.mark.parametrize(
    ("code", "said"),
    [
        (
            "BY-018",  # nothing was recorded today: neither a decision nor advice
            [
                "BY-018 RIGHT, RC3 Build, day 31 of usual 42, Mon 2 Mar 2026: nothing recorded today.",
                "Last pain: during 5, later 4, next morning 6, 2 days ago.",
                "Reason: flare not settling: next morning 6, baseline 2, twice; two loads raised 5 days ago.",
                "Next: booked today 09:20; review due Wed 18 Mar.",
            ],
        ),
        (
            "BY-007",  # the patient wrote, nobody has spoken with anybody yet
            [
                "BY-007 LEFT, RC2 Base load, day 24 of usual 35, Mon 2 Mar 2026: phone or message, desk, MB.",
                'Found: red-flag screen, "hot or swollen joint, or unwell": yes; same day; hot, swollen, '
                "feverish; contact: message received; shoulder hot and swollen since last night, feverish.",
                "Reason: possible red flag: hot, swollen, feverish (hot or swollen joint, or unwell), "
                "reported today: same day.",
                "Decided: nothing recorded.",
                "Next: booked Thu 19 Mar 08:40; review due Thu 19 Mar.",
            ],
        ),
        (
            "BY-087",
            [
                "BY-087 LEFT, RC4 Return and self-manage, day 40 of usual 28, Mon 2 Mar 2026: "
                "nothing recorded today.",
                "Last pain: during 2, later 1, next morning 1, 10 days ago.",
                "Reason: discharge letter owed since Wed 25 Feb.",
                "Next: none, closed on Wed 25 Feb: goal met.",
            ],
        ),
        (
            "BY-093",
            [
                "BY-093 RIGHT, RC2 Base load, day 17 of usual 35, Mon 2 Mar 2026: nothing recorded today.",
                "Last pain: during 3, later 2, next morning 2, 6 days ago.",
                "Reason: nothing asked.",
                "Next: on hold until Wed 11 Mar: holiday; booked Wed 11 Mar 15:00.",
            ],
        ),
    ],
)
def test_the_lines_of_a_case(door, code, said) -> None:
    assert list(lines(door, code)) == said


def test_a_call_says_what_was_told_decided_and_by_whom(door) -> None:
    spoke = door.draft("contact", outcome="spoke", load_cut=True)
    session = door.draft("session", on=TODAY.replace(day=1), during=3, later=2, morning=3)
    door.append("BY-018", [session, spoke])
    said = lines(door, "BY-018")
    assert said[0].endswith("Mon 2 Mar 2026: check-in, phone or message, TK.")
    assert said[1] == (
        "Found: session of Sun 1 Mar, during / later / next morning 3 / 2 / 3; red-flag question not asked."
    )
    assert said[3] == "Decided: contact: spoke, load cut."
    assert said[4].startswith(f"{ADVICE}Keep pain in the exercises and later that day to 4 of 10 or less")
    assert len(said) == 6
    door.undo("BY-018")
    assert "nothing recorded today" in lines(door, "BY-018")[0]


def test_a_call_nobody_took_advises_nothing_and_a_screen_is_counted(door) -> None:
    door.append("BY-018", [door.draft("contact", outcome="no answer")])
    said = lines(door, "BY-018")
    assert "Decided: contact: no answer." in said
    assert not any(line.startswith(ADVICE) for line in said)
    answers = [
        door.draft("screen", item="motor or sensory loss", answer="no"),
        door.draft("screen", item="clumsy hands or unsteady legs", answer="no"),
        door.draft("screen", item="new lump or weight loss", answer="declined"),
    ]
    door.append("BY-018", [door.draft("visit"), *answers])
    said = lines(door, "BY-018")
    assert said[1] == "Found: red-flag list: 2 no, 1 declined."
    assert any(line.startswith(ADVICE) for line in said)


def test_no_line_names_a_person(door) -> None:
    """Codes of persons stay in the store as well as names would."""
    for standing in door.standings():
        said = lines(door, standing.code)
        assert 4 <= len(said) <= 6
        assert standing.person not in " ".join(said)
        assert all(line[-1] in ".?!" and "\n" not in line for line in said)
