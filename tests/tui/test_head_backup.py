"""What the head of the list says about the backup, on one line at every width, and what gives way to it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from armrise.tui.widgets.bars import Head, HeadBar

THREE_DAYS = timedelta(days=3)
WIDTHS = (60, 80, 120)


def lines(width: int, **more: Any) -> list[str]:
    """The two lines of the head."""
    bar = HeadBar()
    known: dict[str, Any] = {
        "as_of": date(2026, 3, 2),
        "data_until": datetime(2026, 3, 2, 8, 5, tzinfo=UTC),
        "rules": "3",
        "signed_off": "NOT SIGNED OFF",
        "counts": {"today": 4, "active": 36},
        "backup_owed": True,
    }
    bar.head = Head(**(known | more))
    return ["".join(span.text for span in line) for line in bar.laid_out(width)]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("unwritten", [0, 2])
@pytest.mark.parametrize("fictional", [False, True])
@pytest.mark.parametrize(("age", "said"), [(None, "NO BACKUP"), (THREE_DAYS, "backup 3 days old")])
def test_no_backup_and_a_late_one_are_said_at_every_width(
    width: int, unwritten: int, fictional: bool, age: timedelta | None, said: str
) -> None:
    head = lines(width, backup_age=age, unwritten=unwritten, fictional=fictional)
    assert "\n".join(head).count(said) == 1
    assert "data to 08:05" in "\n".join(head)
    assert max(map(len, head)) <= width
    assert not fictional or head[0].count("FICTIONAL CASELOAD") == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_a_backup_of_the_last_day_and_a_caseload_that_owes_none_say_nothing(width: int) -> None:
    for more in ({"backup_age": timedelta(hours=23)}, {"backup_owed": False, "backup_age": None}):
        assert "backup" not in "\n".join(lines(width, **more)).casefold()


def test_the_name_of_the_program_gives_way_then_the_dates() -> None:
    assert lines(80)[0] == " armrise   NO BACKUP   Mon 2 Mar 2026, data to 08:05    rules v3 NOT SIGNED OFF"
    assert lines(60)[0] == " armrise   NO BACKUP                rules v3 NOT SIGNED OFF"
    assert lines(60)[1].startswith(" Mon 2 Mar, data to 08:05   4 today")
    assert lines(60, unwritten=2)[0] == " 2 forms unwritten: N   NO BACKUP   rules v3 NOT SIGNED OFF"
    assert lines(120, backup_age=THREE_DAYS)[0].startswith(
        " armrise   Mon 2 Mar 2026, data to 08:05, backup 3 days old   "
    )
