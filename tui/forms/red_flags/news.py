"""The one question, "anything new?": a yes opens the red-flag list, and what is answered there is kept."""

from __future__ import annotations

import json
from datetime import date
from textwrap import wrap
from typing import Any, ClassVar

from textual.content import Content

from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.messages import asked_first
from armrise.store.record.kinds.head import NEWS_ASKED
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.fields import BESIDE, FAULT, GIVEN, LABEL, VALUE, YesNo
from armrise.tui.forms.kit.kept import Fields
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.red_flags.screen import RedFlagScreen

ANSWERS = {"y": "yes", "n": "no"}
ROOM = 34
"""Columns beside a value."""
WIDE = 80
"""Columns of a window in which that much room stands beside one."""
NOT_CHOSEN = "Nothing was chosen on the red-flag list, so nothing new is recorded."
NOT_NAMED = "not named yet: a possible red flag until it is"


class AnythingNew(YesNo):
    """The red-flag question of every review."""

    hint = "n no   y opens the red-flag list   Backspace empties"

    def __init__(self, *, key: str = "new") -> None:
        super().__init__("anything new?", beside=NEWS_ASKED, key=key)

    def render(self) -> Content:
        """What the question names stands in lines of its own where one is too short: nothing of it is cut."""
        width = self.screen.size.width
        lines = wrap(self.beside, ROOM) if width >= WIDE else ["", *wrap(self.beside, width - 10)]
        beside = ("\n" + " " * (2 + LABEL + 1 + VALUE + 1 if width >= WIDE else 4)).join(lines)
        return Content.assemble(
            f"{self.marker} {self.label:<{LABEL}} ",
            (f"{self.shown():<{VALUE}} ", GIVEN if self.value else BESIDE),
            (beside, BESIDE),
            (f"\n    ! {self.fault}" if self.fault else "", FAULT),
        )

    def typed(self, character: str) -> None:
        """A yes opens the list at once, before a further key can reach the next field."""
        if character.lower() == "y":
            self.fault = ""
            self.value = "y"
            self.screen.open_flags()  # type: ignore[attr-defined]
        else:
            super().typed(character)


def _with_date(values: dict[str, Any]) -> dict[str, Any]:
    """The values of a draft read from its text: the day is a date again."""
    return {**values, "on": date.fromisoformat(values["on"])} if "on" in values else values


class AsksNews(FormScreen):
    """A form with the row ``new``; the answers of the list are written with it."""

    records_news: ClassVar[bool] = True
    """False where what is written has no field for a yes alone: it has to be named then."""
    flags: tuple[Draft, ...] = ()

    @property
    def new(self) -> AnythingNew:
        """The row of the question."""
        return self.query_one("#new", AnythingNew)

    def news(self) -> str:
        """The answer as a visit or contact records it."""
        return ANSWERS.get(self.new.value, "not asked") if self.new.display else "not asked"

    def drop_untold(self) -> None:
        """A yes taken back drops the answers of the list."""
        if not self.new.yes and (self.flags or self.new.beside != NEWS_ASKED):
            self.flags = ()
            self.new.beside = NEWS_ASKED

    def open_flags(self) -> None:
        """Ask the red-flag list, what a waiting message asks for first."""
        view = View.of(self.record, self.door.rules, self.door.today) if self.record else None
        first = [one.item for one in asked_first(view)] if view else []
        screen = RedFlagScreen(self.door, self.standing, type(self).__name__, first)

        def done(drafts: list[Draft] | None) -> None:
            self.flagged(drafts)
            self.keep_soon()
            if drafts is not None:  # dropped there only when it is kept here
                self.keep_now(then=screen.end_keeping)

        self.app.push_screen(screen, done)

    def flagged(self, drafts: list[Draft] | None) -> None:
        """The list came back: keep its answers until the form is written, and go on.

        Esc there took nothing, and the question is open again. Nothing chosen is a yes that nobody has named,
        where that can be written.
        """
        self.flags = tuple(drafts or ())
        if drafts is None or not (drafts or self.records_news):
            self.new.value = ""
            self.say(NOT_CHOSEN)
        else:
            self.new.beside = self.told_beside()
            self.set_focus(self.new)
            self.focus_next()
        self.show_plan()

    def told_beside(self) -> str:
        """What stands beside a yes."""
        return f"{len(self.flags)} answered, written with this" if self.flags else NOT_NAMED

    def more_kept(self) -> Fields:
        """The answers of the list."""
        kept = {"flags": json.dumps(self.flags, default=str)} if self.flags else {}
        return {**super().more_kept(), **kept}

    def more_back(self, fields: Fields) -> None:
        """The answers of the list; a yes whose list was not finished asks for it again."""
        super().more_back(fields)
        kept = json.loads(fields.get("flags", "[]"))
        self.flags = tuple((kind, _with_date(values)) for kind, values in kept)
        if self.flags:
            self.new.beside = self.told_beside()
        elif self.new.yes:
            self.new.forget()
            self.tell("The red-flag list was not finished: y opens it again, and F5 there brings it back.")
