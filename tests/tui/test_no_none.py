"""On no screen of the demonstration is "None" printed, and on none does a key that means nothing do harm.

A value that nobody recorded is said in words, or not at all.
"""

from __future__ import annotations

import re

from armrise.store.caseload.write import Ledger
from armrise.store.entries.words import CaseHead
from armrise.tui.shell.door import Door
from armrise.tui.shell.store_door import StoreDoor
from armrise.tui.widgets.caselist import CaseList
from tests.quiet import settle
from tests.tui.case_store import press
from tests.tui.conftest import settled
from tests.tui.form_store import NOW, TODAY, app_on, painted

NONE = re.compile(r"\bNone\b")
OF_A_CASE = (*"cvpbdmeolghwtsiURO", "enter")
"""The keys about a case; one that means nothing there does no harm."""
NO_KEY = "f7"
"""A key that no screen knows, which comes to the application from each of them."""
OF_THE_LIST = ("A", "N", "E", "W", "M", "T", "Z", "n", "question_mark")


async def test_no_screen_of_the_demonstration_prints_none(door: Door) -> None:
    """A case of which nothing is known is asked everything, one under surgeon's orders what shows most."""
    bare = CaseHead(code="ZZ-1", person="Z-1", side="LEFT", pathway="RC", registered_on=TODAY)
    assert isinstance(door, StoreDoor)
    Ledger(door.store, "TK", lambda: NOW, door.rules).begin(
        bare, [door.draft("screen", item="new lump or weight loss", answer="yes")]
    )
    found, looked = list[str](), 0
    async with app_on(door).run_test(size=(80, 40)) as pilot:
        await settled(pilot)
        depth = len(pilot.app.screen_stack)

        async def look(key: str, about: str) -> None:
            nonlocal looked
            await press(pilot, key)
            shown, looked = painted(pilot), looked + 1
            if none := NONE.search(shown):
                found.append(f"{about} {key}: {shown[max(0, none.start() - 60) : none.end() + 20]}")
            await press(pilot, NO_KEY)
            while len(pilot.app.screen_stack) > depth:
                pilot.app.pop_screen()
                await settle(pilot)

        for code, keys in {"ZZ-1": OF_A_CASE, "BY-003": ("c", "p", "g", "h", "enter")}.items():
            for key in keys:
                pilot.app.screen_stack[0].query_one(CaseList).go_to(code)
                await look(key, code)
        for key in OF_THE_LIST:
            await look(key, "list")
    assert found == []
    assert looked > 30
