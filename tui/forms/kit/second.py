"""A form with a second page about the same case, one key away."""

from __future__ import annotations

from armrise.tui.forms.kit.base import FormScreen


class WithSecondPage(FormScreen):
    """The second page is a form of its own; what it writes closes both."""

    def second(self) -> FormScreen:
        """The second page."""
        raise NotImplementedError

    def action_turn(self) -> None:
        """Open the second page, unless something here waits to be written."""
        if self.busy or self.record is None:
            return
        if self.plan().drafts:
            self.say("What stands here is not written yet: F2 writes it, Esc leaves with it kept.")
            return
        self.app.push_screen(self.second(), self.turned)

    def turned(self, words: str | None) -> None:
        """Back from the second page: close with what it wrote."""
        if words:
            self.dismiss(words)
