"""A letter written beside the store as a page for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.tui.forms.kit.plan import sentence
from armrise.tui.shell.say import THROWN_AWAY

if TYPE_CHECKING:
    from armrise.store.exchange.paper.letter import PrintedLetter
    from armrise.tui.forms.kit.base import FormScreen


def write_letter(screen: FormScreen, letter: PrintedLetter) -> None:
    """Write the page in a thread, and say on the form where it lies or why it does not."""
    from armrise.tui.shell.say import opened_door

    door = opened_door(screen)
    if door is None:
        return
    store, app = door.store, screen.app

    def write() -> None:
        from armrise.store.exchange.paper.file import write_for_paper
        from armrise.store.exchange.paper.letter import letter_page, letter_path

        try:
            written = write_for_paper(letter_path(store.folder, letter), letter_page(letter))
            told = f"Written to {written}{'' if store.lasting else THROWN_AWAY}"
        except Exception as error:
            told = sentence(error)
        app.call_from_thread(screen.tell, told)

    app.run_worker(write, thread=True, group="letter")
