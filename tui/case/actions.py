"""What can be done to the case in view, from the list and from the case's own screen alike."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

from armrise.tui.shell.confirm import confirm
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Board, frame_of
from armrise.tui.shell.keyname import no_key
from armrise.tui.shell.say import opened_door, say
from armrise.tui.widgets.groups import CASE, DECIDE, LOOK

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

UNDO = "UndoScreen"
FOR_RECORD = ("CheckInScreen", "ContactScreen", "FirstVisitScreen", "ReviewScreen", "StepScreen")
"""After these the confirmation offers a copy of the day for the record kept elsewhere."""
NO_CASE = "No case is selected: move to one first."


class CaseActions:
    """Mixed into a screen that has a case in view (:meth:`in_view`) and is told what was written."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "form('CheckInScreen')", "check-in", id="case.check_in", group=CASE),
        Binding("v", "review", "review", show=False, id="case.review", group=CASE),
        Binding("p", "form('ContactScreen')", "phone or message", id="case.contact", group=CASE),
        Binding("b", "form('BookingScreen')", "book, attendance", show=False, id="case.book", group=CASE),
        Binding("d", "form('ProgrammeScreen')", "doses at home", show=False, id="case.programme", group=CASE),
        Binding(
            "m", "form('MeasuresScreen')", "measures, scores", show=False, id="case.measures", group=CASE
        ),
        Binding("e", "form('EventScreen')", "injury, event", show=False, id="case.event", group=CASE),
        Binding(
            "o",
            "form('FlagOutcomeScreen')",
            "red-flag outcome",
            show=False,
            id="case.flag_outcome",
            group=CASE,
        ),
        Binding(
            "O",
            "form('OrdersScreen')",
            "orders, clearance",
            show=False,
            id="case.orders",
            group=CASE,
        ),
        Binding("l", "form('LetterScreen')", "letter, decision", show=False, id="case.letter", group=CASE),
        Binding("i", "form('InHandScreen')", "in hand", id="case.in_hand", group=CASE),
        Binding("a", "acts", "act, from a menu", id="case.acts", group=DECIDE),
        Binding("F", "step('forward')", "step forward", id="case.step_forward", group=DECIDE),
        # behind the menu: each takes a key of one's own, and ships without one
        *(
            Binding(no_key(name), action, told, show=False, id=name, group=DECIDE)
            for name, action, told in (
                ("case.step_back", "step('back')", "step back"),
                ("case.hold", "form('HoldScreen')", "hold"),
                ("case.refer", "form('ReferScreen')", "refer"),
                ("case.discharge", "ending", "discharge, reopen"),
            )
        ),
        Binding("r", "form('DiaryScreen')", "diary, many days", show=False, id="case.diary", group=CASE),
        Binding("U", "undo", "undo today's entry", id="case.undo", group=CASE),
        Binding("R", "form('RecordScreen')", "record any entry", show=False, id="case.record", group=CASE),
        Binding("y", "for_record", "copy for the record", show=False, id="case.copy", group=CASE),
        Binding("w", "why_above", "why above the next", id="case.why_above", group=LOOK),
        Binding("g", "charts", "charts", show=False, id="case.charts", group=LOOK),
        Binding("h", "history", "history of entries", id="case.history", group=LOOK),
        Binding("t", "patient_view", "patient beside me", show=False, id="case.patient_view", group=CASE),
        Binding("s", "form('SupposeScreen')", "suppose a value", show=False, id="case.suppose", group=LOOK),
    ]

    code = ""
    """The case of the screen, also where it is on no list now; empty on the list itself."""

    def in_view(self) -> Standing | None:
        """The case that the keys are about."""
        raise NotImplementedError

    def written(self, words: str, code: str = "") -> None:
        """Something was written; ``words`` say what, of the case in view unless ``code`` names another."""
        raise NotImplementedError

    def next_below(self, standing: Standing) -> Standing | None:
        """The case next below in the list."""
        raise NotImplementedError

    def action_form(self, name: str, **options: Any) -> None:
        """Open an entry screen about the case in view."""
        self._form(name, self.in_view(), **options)

    def _form(self, name: str, standing: Standing | None, **options: Any) -> None:
        app = frame_of(self._screen())
        refusal = self._refusal(standing)
        if standing is None or refusal:
            say(self._screen(), refusal)
            return
        code = "" if name == UNDO else standing.code  # an undo is not undone
        done = partial(self._done, code, copied=name in FOR_RECORD)
        app.open(name, app.door, standing, done=done, **options)

    def _done(self, code: str, words: str | None, *, copied: bool = False) -> None:
        """Back from a form about ``code``: say what was written, and show what follows from it."""
        if words:
            confirm(self._screen(), words, code, copied=copied)
            self.written(words, code)

    def action_undo(self) -> None:
        """Undo what the confirmation above the keys tells of; without one, what was written of this case."""
        app = frame_of(self._screen())
        code = app.confirmation.code if app.confirmation else app.just_written
        standing = self._list().listing.case(code) if code else self.in_view()
        if code and standing is None and app.door is not None:  # gone from the list with what was written
            try:
                standing = app.door.standing(code)
            except Exception as error:
                say(self._screen(), in_a_sentence(error))
                return
        self._form(UNDO, standing)

    def action_charts(self) -> None:
        """Show the case over time."""
        self._look("ChartsScreen")

    def action_patient_view(self) -> None:
        """Show what the patient may see: this case alone, without reasons and verdicts."""
        self._look("PatientScreen")

    def action_for_record(self) -> None:
        """Copy the day of the case that was just written, as U undoes it; without one, of that in view."""
        app, standing = frame_of(self._screen()), self.in_view()
        written = app.confirmation.code if app.confirmation else app.just_written
        code = written or (standing.code if standing else "")
        if app.unread or not code:
            say(self._screen(), app.unread or NO_CASE)
        else:
            app.open("ForRecordScreen", app.door, code)

    def _look(self, name: str) -> None:
        """Open a screen that only reads the case in view."""
        app, standing = frame_of(self._screen()), self.in_view()
        refusal = app.unread or ("" if standing else NO_CASE)
        if refusal:
            say(self._screen(), refusal)
        else:
            app.open(name, app.door, standing)

    def action_review(self) -> None:
        """Open the review; of a case that waits for one, the first visit."""
        standing = self.in_view()
        waits = standing is not None and standing.status == "waiting"
        self.action_form("FirstVisitScreen" if waits else "ReviewScreen")

    def action_step(self, direction: str) -> None:
        """Open the step screen."""
        self.action_form("StepScreen", direction=direction)

    def action_acts(self) -> None:
        """Open the menu of weighty acts; what is chosen is done to that very case or to none."""
        screen, standing = self._screen(), self.in_view()
        refusal = self._refusal(standing)
        if standing is None or refusal:
            say(screen, refusal)
            return

        async def chosen(name: str | None) -> None:
            now = self.in_view()
            if not name:
                return
            if now is None or now.code != standing.code:
                say(screen, f"{standing.code} is no longer in view: nothing was opened.")
                return
            await screen.run_action(ACTIONS[name])

        from armrise.tui.case.acts import ActsMenu

        frame_of(screen).push_screen(ActsMenu(standing), chosen)

    def action_ending(self) -> None:
        """Open the discharge screen, or for a closed case the reopening."""
        standing = self.in_view()
        closed = standing is not None and standing.status == "closed"
        self.action_form("ReopenScreen" if closed else "DischargeScreen")

    def action_history(self) -> None:
        """Open every entry of the case in view; a store open for reading only has a history too."""
        app, standing = frame_of(self._screen()), self.in_view()
        if standing is None or app.door is None:
            say(self._screen(), self._refusal(standing))
            return

        app.open("HistoryScreen", app.door, standing, done=partial(self._done, standing.code))

    def action_why_above(self) -> None:
        """Say why this case stands above the next; of an earlier list everything about its place."""
        standing, app = self.in_view(), frame_of(self._screen())
        code = standing.code if standing else self.code
        if code and app.as_known:
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
        if opened_door(self._screen()):
            from armrise.tui.earlier.replay import ask

            ask(self._list())

    def action_replay_day(self, by: int) -> None:
        """A day earlier or later."""
        if opened_door(self._screen()):
            from armrise.tui.earlier.replay import step

            if told := step(self._list(), by):
                say(self._screen(), told)

    def _list(self) -> Board:
        """The list under this screen."""
        board = frame_of(self._screen()).screen_stack[0]
        assert isinstance(board, Board)
        return board

    def _refusal(self, standing: Standing | None) -> str:
        app = frame_of(self._screen())
        return app.unread or (NO_CASE if standing is None else app.unwritable)

    def _screen(self) -> Screen[Any]:
        assert isinstance(self, Screen)
        return self


ACTIONS = {b.id: b.action for b in CaseActions.BINDINGS if isinstance(b, Binding) and b.id}
"""What each of the actions does, by its id."""


def why_above(upper: Standing, lower: Standing) -> str:
    """The one sentence why ``upper`` stands above ``lower``."""
    from armrise.store.clinic.standing import triage

    return triage.why_above(upper, lower)
