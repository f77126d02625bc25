"""A trial run of changed rules on the screen: which version, a bar on the way, then the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import ProgressBar

from armrise.tui.forms.kit.asking import AskScreen
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.report import ReportScreen, pieces_of
from armrise.tui.widgets.pieces import Piece
from armrise.tui.widgets.static import Static

if TYPE_CHECKING:
    from armrise.store.clinic.audit.trial import Trial
    from armrise.store.rules.pathway import Rules
    from armrise.tui.shell.frame import Board
    from armrise.tui.shell.store_door import StoreDoor

TITLE = "Trial run of changed rules"
HINT = 'A version number, "shipped", or a folder. They are checked, not put in force.'


class TrialScreen(ReportScreen):
    """Runs ``new`` against the rules of the door; Esc stops, and what was read by then is the report."""

    READING: ClassVar[tuple[str, ...]] = (
        "Two rule versions are run over the recorded history, day by day, with what was known on each day.",
        "Told are the days and cases that read differently, and the alarms per 100 case-days under each.",
        "Esc stops a run: what was read by then is told and said to be partial. No rules are changed by it.",
    )

    BINDINGS: ClassVar[list[BindingType]] = [*ReportScreen.BINDINGS]
    DEFAULT_CSS = """
    TrialScreen #trial { height: auto; padding: 1 2 0 2; }
    TrialScreen ProgressBar Bar { width: 40; }
    """

    def __init__(self, door: StoreDoor, new: Rules) -> None:
        super().__init__(TITLE)
        self.door = door
        self.new = new
        self.running = True
        self.stopping = False
        self.trial: Trial | None = None

    def compose(self) -> ComposeResult:
        """Title, the bar, report, keys."""
        parts = iter(super().compose())
        yield next(parts)
        with Vertical(id="trial"):
            yield ProgressBar(id="bar", show_eta=False)
            yield Static("Reading day by day. Esc stops, and keeps what was read.", id="told", markup=False)
        yield from parts

    def on_mount(self) -> None:
        """Begin."""
        super().on_mount()
        self.run_trial()

    @work(thread=True, group="trial", exclusive=True)
    def run_trial(self) -> None:
        """Read case after case until the end, or until somebody stops it."""
        from armrise.store.caseload import trial

        door, made, tell = self.door, None, self.app.call_from_thread
        try:
            for so_far, read, total in trial.run(
                door.store, door.rules, self.new, since=None, until=door.today
            ):
                made = so_far
                if self.stopping:
                    break
                tell(self._progress, read, total)
        except Exception as error:
            tell(self._failed, in_a_sentence(error))
            return
        tell(self._show, made)

    def _progress(self, read: int, total: int) -> None:
        if self.is_attached:
            self.query_one(ProgressBar).update(total=max(1, total), progress=read)
            told = f"{read:,} of {total:,} case-days read. Esc stops, and keeps what was read."
            self.query_one("#told", Static).update(told)

    def _show(self, made: Trial) -> None:
        from armrise.store.exchange.out.trial_text import parts

        self.running, self.trial = False, made
        if self.is_attached:
            self.query_one("#trial").display = False
            self.tell(pieces_of(part for part in parts(made)))

    def _failed(self, why: str) -> None:
        self.running = False
        if self.is_attached:
            self.query_one("#trial").display = False
            self.tell([Piece(why, "strong")])

    def on_unmount(self) -> None:
        """Nobody waits for it any more."""
        self.stopping = True

    def action_leave(self) -> None:
        """Stop while it runs; afterwards go back."""
        if self.running and not self.stopping:
            self.stopping = True
            self.query_one("#told", Static).update("Stopping after this case ...")
        elif not self.running:
            self.dismiss(None)


def open_trial(board: Board) -> None:
    """Ask which rules, then run them over the recorded history."""
    from armrise.tui.shell.say import opened_door

    door = opened_door(board)
    if door is None:
        return

    def chosen(new: Rules | None) -> None:
        if new is not None:
            board.app.push_screen(TrialScreen(door, new))

    keys = "Enter begins   Esc leave"
    board.app.push_screen(AskScreen(TITLE, "changed rules", HINT, keys, read_rules), chosen)


def read_rules(text: str) -> Rules:
    """The rules that ``text`` names. Raises a rule error of one sentence."""
    from armrise.tui.shell.intake import rules_named

    return rules_named(text)
