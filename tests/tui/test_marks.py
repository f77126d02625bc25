"""Own marks, what is new since one looked, and the handover of the marked cases."""

from __future__ import annotations

from pathlib import Path

from armrise.store.database import desk
from armrise.store.database.place import Store
from armrise.tui.app.app import ArmriseApp
from armrise.tui.shell.opening import Opening, demonstration
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.pieces import Account
from tests.quiet import settle
from tests.tui.conftest import TODAY, settled
from tests.tui.form_store import painted

NEW = {"BY-003", "BY-007", "BY-015", "BY-021", "BY-069", "BY-096"}


async def test_marks_news_and_the_handover_of_the_demonstration(tmp_path: Path) -> None:
    """One pilot: what came in overnight, Space on two cases, G, the file, and the marks after a restart."""
    store = demonstration(tmp_path, TODAY)
    app = ArmriseApp(Opening(demo=True, prepare=lambda: store))
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        listing = pilot.app.screen.listing
        assert listing.news == NEW
        await pilot.press("G")
        await settle(pilot)
        assert "No case is marked" in pilot.app.screen.words
        await pilot.press("escape")
        await settle(pilot)
        pilot.app.screen.query_one(CaseList).go_to("BY-018")
        await pilot.press("space", "up", "space", "down", "down", "space", "space")
        await settle(pilot)
        assert listing.marked == {"BY-018", "BY-096"}
        assert "• 6 new * 2 marked" in painted(pilot), "what the marks mean, in the room there is"
        await pilot.press("G")
        await settle(pilot)
        sheet = app.clipboard
        told = " ".join(piece.text for piece in app.screen.query_one(Account).pieces)
        for words in (
            "FICTIONAL CASELOAD",
            "Mon 2 Mar 2026",
            "NOT SIGNED OFF",
            "HANDOVER, 2 cases",
            "BY-018 RIGHT, RC3 Build, day 31 of usual 42; NOT YET",
            "do: at 09:20 today, lower scaption raise and band row",
            "pain during 5, later 4, next morning 6, 2 days ago",
            "The red-flag list is a prompt",
        ):
            assert words in sheet
            assert words in told
        assert sheet.index("BY-096") < sheet.index("BY-018"), "in the order of the list"
        await pilot.press("e")
        await settle(pilot)
        written = tmp_path / "handover-2026-03-02.txt"
        assert written.read_text() == f"Handover of cases, written by armrise\n{sheet}"
        assert written.stat().st_mode & 0o777 == 0o600
        assert f"{written} and .html, .pdf beside it" in app.screen.query_one(Account).pieces[0].text
        assert "HANDOVER, 2 cases" in written.with_suffix(".html").read_text()
        assert written.with_suffix(".pdf").read_bytes().startswith(b"%PDF")
        await pilot.press("escape")
        await settle(pilot)
        await pilot.press("5", "P")
        await settle(pilot)
        listed = tmp_path / "list-2026-03-02.html"
        assert f"List written to {listed} and .pdf beside it" in app.screen.words
        assert "Shown: 2 of 36 cases (view my marks); 4 of TODAY left out." in listed.read_text()
        await pilot.press("escape", "1")
        await settle(pilot)
        pilot.app.screen.query_one(CaseList).go_to("BY-007")
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("escape")
        await settle(pilot)
        assert app.screen.listing.news == NEW - {"BY-007"}, "it was opened"
    again = Store.open(store.path)
    assert desk.marks(again, "demo") == {"BY-018", "BY-096"}
    reopened = ArmriseApp(Opening(demo=True, prepare=lambda: again))
    async with reopened.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        assert reopened.screen.listing.marked == {"BY-018", "BY-096"}
        assert reopened.screen.listing.news == NEW - {"BY-007"}
