"""The forms of bookings, holds, referrals, discharges and reopenings as pictures at 80x24."""

from __future__ import annotations

from typing import Any

import pytest

from armrise.tui.app.screens import screen_named
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import TODAY, painted, press, type_in

Kept = tuple[str, dict[str, Any]]
SLOT: Kept = ("appointment", {"booked_for": TODAY})
CALL: Kept = ("contact", {"outcome": "no answer"})
PICTURES: dict[str, tuple[str, str, tuple[Kept, ...], tuple[str, ...]]] = {
    "booking": ("BookingScreen", "BY-048", (SLOT,), ("<2>", "+3")),
    "not_brought": ("BookingScreen", "BY-105", (SLOT,), ("<2>",)),
    "hold": ("HoldScreen", "BY-024", (), ("<4>", "+14", "<enter>", "consultant A")),
    "hold_end": ("HoldScreen", "BY-093", (), ("<f4>",)),
    "refer": ("ReferScreen", "BY-081", (), ("surgeon", "<enter>", "<4>")),
    "discharge": ("DischargeScreen", "BY-045", (), ("<2>", "goal met", "<enter>", "<2>", "<2>", "n")),
    "discharge_refused": ("DischargeScreen", "BY-024", (), ("<2>", "unreached", "<f2>")),
    "reopen": ("ReopenScreen", "BY-087", (), ("<n>", "same pain")),
}


def opened(door: Door, name: str) -> tuple[FormApp, Any]:
    """The application showing a form, and what presses its keys."""
    form, code, before, steps = PICTURES[name]
    for kind, values in before:
        door.append(code, [door.draft(kind, **values)])

    async def run(pilot: Any) -> None:
        await settle(pilot)
        for step in steps:
            await (press(pilot, *step[1:-1].split()) if step[0] == "<" else type_in(pilot, step))

    return FormApp(screen_named(form)(door, door.standing(code))), run


@pytest.mark.parametrize("name", PICTURES)
def test_picture(name: str, door: Door, snap_compare: Any) -> None:
    app, run = opened(door, name)
    assert snap_compare(app, terminal_size=(80, 24), run_before=run)


async def test_without_colour_a_refusal_and_the_focus_are_still_seen(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app, run = opened(door, "discharge_refused")
    async with app.run_test(size=(80, 24)) as pilot:
        await run(pilot)
        assert "! Protected stage PO2: no discharge before contact was tried on 2 days" in painted(pilot)
        assert "> why not needed" in painted(pilot)
        assert "FICTIONAL CASELOAD" in painted(pilot)
