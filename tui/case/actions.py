"""What can be done to the case in view, from the list and from the case's own screen alike."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

from armrise.tui.shell.frame import frame_of
from armrise.tui.shell.say import NOT_OPEN, STILL_READING, say

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

NO_STORE = "There is no store behind this list, so nothing earlier is known."
NO_CASE = "No case is selected: move to one first."


class CaseActions:
    """Mixed into a screen that has a case in view (:meth:`in_view`) and is told what was written."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "form('CheckInScreen')", "check-in", id="case.check_in"),
        Binding("p", "form('ContactScreen')", "phone or message", id="case.contact"),
        Binding("i", "form('InHandScreen')", "in hand", id="case.in_hand"),
        Binding("F", "step('forward')", "step forward", id="case.step_forward"),
        Binding("B", "step('back')", "step back", id="case.step_back"),
        Binding("U", "form('UndoScreen')", "undo today's entry", id="case.undo"),
        Binding("w", "why_above", "why above the next", id="case.why_above"),
        Binding("g", "charts", "charts", show=False, id="case.charts"),
        Binding("d", "form('ProgrammeScreen')", "doses: home programme", show=False, id="case.programme"),
        Binding("v", "review", "review visit", show=False, id="case.review"),
        Binding("m", "form('MeasuresScreen')", "measures and scores", show=False, id="case.measures"),
        Binding("t", "patient_view", "patient beside me", show=False, id="case.patient_view"),
        Binding("e", "form('EventScreen')", "new injury or event", show=False, id="case.event"),
        Binding(
            "o",
            "form('FlagOutcomeScreen')",
            "outcome of a possible red flag",
            show=False,
            id="case.flag_outcome",
        ),
        Binding(
            "O",
            "form('OrdersScreen')",
            "surgeon's orders, or a clearance",
            show=False,
            id="case.orders",
        ),
        Binding("s", "form('SupposeScreen')", "suppose a value", show=False, id="case.suppose"),
        Binding("l", "form('LetterScreen')", "letter sent, or a decision", show=False, id="case.letter"),
        Binding("b", "form('BookingScreen')", "booking and attendance", show=False, id="case.book"),
        Binding("H", "form('HoldScreen')", "hold", show=False, id="case.hold"),
        Binding("r", "form('ReferScreen')", "refer", show=False, id="case.refer"),
        Binding("D", "ending", "discharge, or reopen", show=False, id="case.discharge"),
        Binding("h", "history", "history of entries", id="case.history"),
        Binding("R", "form('RecordScreen')", "record another entry", show=False, id="case.record"),
    ]

    def in_view(self) -> Standing | None:
        """The case that the keys are about."""
        raise NotImplementedError

    def written(self, words: str) -> None:
        """Something was written; ``words`` say what."""
        raise NotImplementedError

    def next_below(self, standing: Standing) -> Standing | None:
        """The case next below in the list."""
        raise NotImplementedError

    def action_form(self, name: str, **options: Any) -> None:
        """Open an entry screen about the case in view."""
        app = frame_of(self._screen())
        standing = self.in_view()
        refusal = self._refusal(standing)
        if refusal:
            say(self._screen(), refusal)
            return

        def done(words: str | None) -> None:
            if words:
                self.written(words)

        app.open(name, app.door, standing, done=done, **options)

    def action_charts(self) -> None:
        """Show the case over time."""
        self._look("ChartsScreen")

    def action_patient_view(self) -> None:
        """Show what the patient may see: this case alone, without reasons and verdicts."""
        self._look("PatientScreen")

    def _look(self, name: str) -> None:
        """Open a screen that only reads the case in view."""
        app, standing = frame_of(self._screen()), self.in_view()
        refusal = self._unread() or ("" if standing else NO_CASE)
        if refusal:
            say(self._screen(), refusal)
        else:
            app.open(name, app.door, standing)

    def _unread(self) -> str:
        if getattr(self._screen().app, "door", None) is not None:
            return ""
        return NOT_OPEN if getattr(self._screen().app, "broken", False) else STILL_READING

    def action_review(self) -> None:
        """Open the review; of a case that waits for one, the first visit."""
        standing = self.in_view()
        waits = standing is not None and standing.status == "waiting"
        self.action_form("FirstVisitScreen" if waits else "ReviewScreen")

    def action_step(self, direction: str) -> None:
        """Open the step screen."""
        self.action_form("StepScreen", direction=direction)

    def action_ending(self) -> None:
        """Open the discharge screen, or for a closed case the reopening."""
        standing = self.in_view()
        closed = standing is not None and standing.status == "closed"
        self.action_form("ReopenScreen" if closed else "DischargeScreen")

    def action_history(self) -> None:
        """Open every entry of the case in view; a store open for reading only has a history too."""
        standing, door = self.in_view(), getattr(self._screen().app, "door", None)
        if standing is None or door is None:
            say(self._screen(), self._refusal(standing))
            return

        def done(words: str | None) -> None:
            if words:
                self.written(words)

        frame_of(self._screen()).open("HistoryScreen", door, standing, done=done)

    def action_why_above(self) -> None:
        """Say why this case stands above the next; of an earlier list everything about its place."""
        standing, app = self.in_view(), self._screen().app
        code = standing.code if standing else getattr(self, "code", None)
        if code and getattr(app, "as_known", ""):
            from armrise.tui.earlier.replay import why

            why(app, code)
            return
        below = self.next_below(standing) if standing else None
        if standing is None:
            say(self._screen(), NO_CASE)
        elif below is None:
            say(self._screen(), f"{standing.code} is the last of the list.")
        else:
            say(self._screen(), why_above(standing, below))

    def action_replay(self) -> None:
        """Ask for an instant and show what was known then."""
        if board := self._at_the_list():
            from armrise.tui.earlier.replay import ask

            ask(board)

    def action_replay_day(self, by: int) -> None:
        """A day earlier or later."""
        if board := self._at_the_list():
            from armrise.tui.earlier.replay import step

            if told := step(board, by):
                say(self._screen(), told)

    def _at_the_list(self) -> Any:
        """The list under this screen, once there is a store behind it; else None, and it is said why."""
        app: Any = self._screen().app
        if getattr(app.door, "store", None) is not None:
            return app.screen_stack[0]
        say(self._screen(), self._unread() or NO_STORE)
        return None

    def _refusal(self, standing: Standing | None) -> str:
        if unread := self._unread():
            return unread
        return NO_CASE if standing is None else self.unwritable()

    def unwritable(self) -> str:
        """Why nothing can be written here, empty when it can."""
        from armrise.tui.shell.opening import cannot_write

        return self._unread() or cannot_write(self._screen().app.door)  # type: ignore[attr-defined]

    def _screen(self) -> Screen[Any]:
        assert isinstance(self, Screen)
        return self


def why_above(upper: Standing, lower: Standing) -> str:
    """The one sentence why ``upper`` stands above ``lower``."""
    from armrise.store.clinic.standing import triage

    return triage.why_above(upper, lower)
