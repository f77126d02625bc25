"""Patient beside me: one case in the patient's words, and nothing that anybody else should read."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen

from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import THROWN_AWAY
from armrise.tui.widgets.painted import plain_scroll_bar
from armrise.tui.widgets.pieces import BLANK, Account, Piece
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.store.clinic.advice.sheet import Sheet
    from armrise.store.clinic.case.standing import Standing
    from armrise.tui.shell.door import Door
    from armrise.tui.shell.store_door import StoreDoor

INDENT = 4
KEYS = "Esc leaves this view   e writes the sheet for paper   F8 blanks the screen"
OF_TODAY = "The sheet is written of today, and this is an earlier view."
NOTHING = "There is nothing to show of this case."
SCROLL = {"down": 1, "j": 1, "up": -1, "k": -1}


class PatientScreen(Framed, Screen[None]):
    """The whole screen, opaque, about one case; every key but its own does nothing."""

    READING: ClassVar[tuple[str, ...]] = (
        "For turning the screen to the patient: one case alone, in plain words, no list and no reasons.",
        "e writes the sheet to a file for paper. x or F8 blanks it.",
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back to the clinician's view", id="patient.leave"),
        Binding("down,j", "scroll_by(1)", "scroll down", id="patient.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", id="patient.up"),
        Binding("e", "export", "write to paper", id="patient.export"),
    ]

    helped = False
    """Help speaks of reasons and flags, and a patient is looking."""

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__()
        self.door = door
        self.code = standing.code
        self.side = standing.side

    def compose(self) -> ComposeResult:
        """One column, one line of keys; no head, because the head counts other people."""
        with VerticalScroll(id="patient", can_focus=False):
            yield Account(id="patient-text")
        foot = Account(id="patient-keys")
        foot.pieces = [Piece(KEYS, "muted")]
        yield foot

    def on_mount(self) -> None:
        """Shut the palette, which lists what a clinician does; then read the case."""
        self.app.use_command_palette = False
        plain_scroll_bar(self.query_one("#patient"))
        self.tell([Piece("One moment ...", "muted")])
        self.update()

    def on_unmount(self) -> None:
        """The palette again."""
        self.app.use_command_palette = True

    def update(self) -> None:
        """Read the case again."""
        self.read()

    @work(thread=True, group="patient", exclusive=True)
    def read(self) -> None:
        """The patient's words, from the whole record."""
        from armrise.store.clinic.advice.sheet import sheet
        from armrise.store.clinic.case.view import View

        try:
            found = sheet(View.of(self.door.record(self.code), self.door.rules, self.door.today))
        except Exception as error:
            told = [Piece(f"This view cannot be shown: {in_a_sentence(error)}")]
        else:
            told = on_screen(found, self.code)
        self.app.call_from_thread(self.tell, told)

    def tell(self, pieces: list[Piece]) -> None:
        """Show these, under the word that the case is invented, if it is."""
        head = [Piece(FICTIONAL, "strong"), BLANK] if self.app.fictional else []
        if self.is_attached:
            self.query_one("#patient-text", Account).tell([*head, *pieces])

    def on_key(self, event: events.Key) -> None:
        """No key of the clinician's screens works here, and no help; q goes back as Esc does."""
        if not self.is_active:
            pass  # blanked or left meanwhile: this key came in the same burst
        elif event.key == "x":
            self.app.action_blank()
        elif event.key in ("escape", "q"):
            self.dismiss(None)
        elif event.key == "e":
            self.action_export()
        elif event.key in SCROLL:
            self.action_scroll_by(SCROLL[event.key])
        event.stop()
        event.prevent_default()

    def action_export(self) -> None:
        """Write the sheet as a page for paper beside the store, and say at the foot where it lies."""
        from armrise.tui.shell.store_door import StoreDoor

        if self.app.as_known:
            self.say_at_foot(OF_TODAY)
        elif isinstance(self.door, StoreDoor):
            self.export(self.door)

    @work(thread=True, group="patient file", exclusive=True)
    def export(self, door: StoreDoor) -> None:
        """Write it beside the screen."""
        from armrise.store.clinic.case.view import View
        from armrise.store.exchange.paper.file import write_for_paper
        from armrise.store.exchange.paper.patient import patient_page, sheet_path

        path = sheet_path(door.store.folder, self.code, door.today)
        try:
            view = View.of(door.record(self.code), door.rules, door.today)
            page = patient_page(view, fictional=door.fictional)
            told = NOTHING
            if page is not None:
                written = write_for_paper(path, page)
                told = f"Written to {written}{'' if door.store.lasting else THROWN_AWAY}"
        except Exception as error:
            told = in_a_sentence(error)
        self.app.call_from_thread(self.say_at_foot, told)

    def say_at_foot(self, told: str) -> None:
        """In place of the keys, until the view is left or read anew."""
        if self.is_attached:
            self.query_one("#patient-keys", Account).tell([Piece(told, "strong")])

    def action_scroll_by(self, lines: int) -> None:
        """Scroll a line."""
        self.query_one("#patient").scroll_relative(y=lines, animate=False)


def on_screen(found: Sheet, code: str) -> list[Piece]:
    """The sheet as pieces of text."""
    if not found.say:
        return [Piece(NOTHING)]
    say = found.words.say
    pieces = [Piece(f"{found.title}, {found.date}", "strong"), Piece(code, "muted")]
    pieces += _part(say("sheet.today"), found.say, "strong")
    if found.scale:
        pieces.append(Piece(found.scale, "muted", indent=INDENT))
    pieces += _part(say("sheet.exercises"), found.exercises)
    pieces += _part(say("sheet.next_visit"), (found.next_visit,) if found.next_visit else (), "strong")
    return [*pieces, *_part(say("sheet.ring_us"), found.ring_us), Piece(found.emergency, indent=INDENT)]


def _part(title: str, lines: tuple[str, ...], style: str = "") -> list[Piece]:
    if not lines:
        return []
    return [BLANK, Piece(title, "head"), *(Piece(line, style, "  -", INDENT) for line in lines)]
