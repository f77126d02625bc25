"""The text of a letter: eight lines from the record, edited here, kept as a draft or recorded as sent."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.draft import (
    ABOUT,
    Drafted,
    drafted,
    open_draft,
    recorded_since,
    suppressed,
    unsaid,
)
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.paperwork import Letter, lines_of, text_of
from armrise.store.rules.words.patient import WordsError
from armrise.tui.forms.decisions.letter_file import write_letter
from armrise.tui.forms.decisions.paragraph import Paragraph, Refold, share
from armrise.tui.forms.kit.base import SHORT, FormScreen
from armrise.tui.forms.kit.effect import effect, standing_with
from armrise.tui.forms.kit.kept import texts_of
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import day, identifying

LINES = 8
HIGH = 32
"""Rows of a window from which on every line stands there in full."""


class LetterTextScreen(FormScreen):
    """A letter with its text: F2 keeps a draft, which ends nothing that is owed, F7 records it as sent."""

    DEFAULT_CSS = """
    LetterTextScreen #form { border: none; padding: 0 1; max-height: 100%; }
    LetterTextScreen.-high #form { border: solid $accent; }
    LetterTextScreen.-high.-plain #form { border: ascii $accent; }
    LetterTextScreen #write { display: none; }
    LetterTextScreen #form-hints { border-top: none; }
    """
    VERTICAL_BREAKPOINTS = [(0, "-short"), (SHORT, "-tall"), (HIGH, "-high")]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "draft_anew", "Draft it anew", id="letter_text.anew"),
        Binding("f7", "send_off", "Record as sent", id="letter_text.sent"),
        Binding("f9", "to_file", "Write the file", id="letter_text.file"),
    ]
    READING: ClassVar[tuple[str, ...]] = (
        "Eight lines drafted from the record. An emptied line is left out; what you change stays changed.",
        "F2 keeps a draft: the letter stays owed. F7 records it as sent, with this text.",
        "F9 writes what stands here as a page for paper beside the store, marked DRAFT until it is sent.",
        "No names: the reader is named by kind, clinic and signature are filled in by hand on the paper.",
    )
    heading = "Letter"
    verb = "F2 keeps"
    keys = "F2 keep draft   F7 sent   F9 file   F3 draft anew   Esc leave   F8 blank"

    def __init__(self, door: Door, standing: Standing, about: str = ABOUT[0]) -> None:
        super().__init__(door, standing)
        self.about = about if about in ABOUT else ABOUT[0]
        self.view: View | None = None
        self.made: Drafted | None = None
        self.before: Letter | None = None
        self.state = "draft"
        self.fault = ""

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> LetterTextScreen:
        """The letter anew, about what it was."""
        return cls(door, standing, about)

    def kept_as(self) -> str:
        """The form and what the letter is about."""
        return f"{type(self).__name__}:{self.about}"

    def head(self) -> str:
        """About what, of which case."""
        told = "   FICTIONAL CASELOAD" if self.door.fictional else ""
        return f"Letter about {self.about}   {self.standing.code} {self.standing.side}{told}"

    def lead(self) -> str:
        """To whom it is, what it goes on from, and what was recorded since."""
        if self.view is None or self.made is None:
            return ""
        draft = f"DRAFT to {self.made.to}"
        if self.before is None:
            return f"{draft}, made now from the record of {day(self.door.today)}."
        since = recorded_since(self.view, self.before)
        return f"{draft}, goes on from that of {day(self.before.on)}. Recorded since: {since}."

    def rows(self) -> Iterable[Widget]:
        """The lines by their numbers."""
        for number in range(1, LINES + 1):
            yield Paragraph(str(number), key=f"line{number}")

    def arrived(self, record: CaseRecord) -> None:
        """Draft it, or go on from the newest draft on record."""
        self.view = View.of(record, self.door.rules, self.door.today)
        try:
            self.made = drafted(self.view, self.about)
        except WordsError as fault:  # the clinic's own words for patients; nothing is said in others
            self.fault = str(fault)
        self.before = open_draft(self.view, self.about)
        found = self.before.lines if self.before else self.made.lines if self.made else ()
        if not any(line.value for line in self.lines()):
            self.hold(found)
            self.composed = texts_of(self)
        self.query_one("#line1").focus()

    def lines(self) -> list[Paragraph]:
        """The fields of the lines."""
        return list(self.query(Paragraph))

    def hold(self, lines: Sequence[str]) -> None:
        """Put a text into the fields; what is more than they are goes into the last."""
        shown = [*lines[: LINES - 1], " ".join(lines[LINES - 1 :])]
        for field, text in zip(self.lines(), [*shown, *[""] * LINES], strict=False):
            field.hold(text)

    def on_refold(self, event: Refold) -> None:
        """Share the rows of the window among the lines, once they are laid out."""
        event.stop()
        self.call_after_refresh(self.refold)

    def refold(self) -> None:
        """The line that is typed in stands there in full, the others as far as there is room."""
        lines = self.lines()
        whole = next((at for at, line in enumerate(lines) if line.has_focus_within), None)
        under = sum(line.query_one(".line-fault").size.height for line in lines)
        room = self.query_one("#form-middle").size.height - under
        for line, shown in zip(lines, share([line.rows for line in lines], room, whole), strict=True):
            line.fold_to(shown)

    def typing(self) -> None:
        """Warn about what looks like a name and was not drafted."""
        known = set(" ".join(self.made.lines).split()) if self.made else set[str]()
        for line in self.lines():
            own = " ".join(word for word in line.value.split() if word not in known)
            line.warn(identifying(own))

    @property
    def body(self) -> str | None:
        """The text as it would be recorded."""
        return text_of(line.value for line in self.lines())

    def plan(self) -> Plan:
        """The letter as a draft, and what recording it as sent would end."""
        if self.view is None or self.record is None:
            return Plan(nothing="Reading the case ...")
        if refused := suppressed(self.view) or self.fault:
            return Plan(refused=refused)
        if self.body is None:
            return Plan(nothing="Every line is empty: F3 drafts it anew.")
        stated = {"about": self.about, "state": self.state, "body": self.body}
        return Plan([("letter", stated)], self._then())

    def _then(self) -> list[str]:
        """What the letter keeps silent of, and what F7 would end."""
        assert self.view is not None
        assert self.record is not None
        left = [f"NOT IN THE TEXT: {danger}" for danger in unsaid(self.view, lines_of(self.body or ""))]
        sent = self.entries([("letter", {"about": self.about, "state": "sent"})])
        after = standing_with(self.record, self.door.rules, self.standing, sent)
        ends = [line for line in effect(self.standing, after) if "gone" in line]
        return [*left, *(f"F7 sent, {line.strip('()')}" for line in ends)]

    def action_write(self) -> None:
        """Keep the draft."""
        self._write_as("draft")

    def action_send_off(self) -> None:
        """Record it as sent."""
        self._write_as("sent")

    def _write_as(self, state: str) -> None:
        if self.busy:
            return
        self.state = state
        super().action_write()
        if not self.busy:
            self.state = "draft"

    def action_draft_anew(self) -> None:
        """Take the lines of the record as it is now; what stood here is kept as typed before."""
        if self.made and not self.busy:
            self.before = None
            self.hold(self.made.lines)
            self.query_one("#form-lead", Static).update(self.lead())
            self.show_plan()
            self.keep_soon()

    def action_to_file(self) -> None:
        """Write what stands here as a page for paper."""
        if self.view is None or self.made is None or self.body is None:
            self.say("There is nothing to write to a file.")
            return
        from armrise.store.exchange.paper.letter import now

        write_letter(self, now(self.view, self.made, lines_of(self.body), fictional=self.door.fictional))
