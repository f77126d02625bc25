"""A modal screen whose typing survives: kept soon after the last key, offered when it is opened again.

Esc leaves it kept, in every form alike: an Esc too many then costs a key, and not a visit typed in.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from functools import partial
from typing import ClassVar, TypeVar

from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen
from textual.timer import Timer
from textual.worker import Worker, WorkerFailed

from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.kept import Fields, Keeper, Left, offer, pack, put_back, texts_of, typed_in, unpack
from armrise.tui.forms.kit.plan import sentence
from armrise.tui.shell.confirm import kept_unwritten
from armrise.tui.shell.door import Door
from armrise.tui.shell.frame import Frame, Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.static import Static

KEPT_AFTER = 0.5
"""Seconds without a key after which what is typed is kept."""
TRIES = 20
"""How many times fields that come and go are looked for when a draft is brought back."""
LINE = "form-left"
MORE = "."
"""Stands before the names of what is no field; no field is named so."""
DROP = "F6 again leaves this form and drops what is typed in it. Nothing of it was written."
ONE_ROW = 76
"""Columns inside a form of 80."""
LEAVES = re.compile(r"Esc (leave|back)(, nothing (written|taken))?(?= {2}|$)")
"""How the foot of a form says that Esc writes nothing."""
Result = TypeVar("Result")


def foot(keys: str, *, typed: bool) -> str:
    """The keys of a form; once something is typed, what becomes of it, and how it is dropped on purpose.

    The key that blanks, which is the same everywhere, gives way where one row has no room for all.
    """
    if not typed:
        return keys
    said = LEAVES.sub(r"Esc \1 unwritten   F6 drop", keys)
    return said if len(said) <= ONE_ROW else said.removesuffix("   F8 blank")


class KeepingScreen(Framed, ModalScreen[Result]):
    """Holds ``door`` and one case; its fields are kept by their names, what else counts by :meth:`more_kept`.

    Esc and a process that ends keep what was typed, F6 twice drops it. Nothing is written unasked.
    """

    DEFAULT_CSS = """
    KeepingScreen #form-left { height: auto; display: none; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5", "bring_back", "Bring back what was typed before", show=False, id="form.bring_back"),
        Binding("f6", "forget_left", "Forget what was typed", show=False, id="form.forget"),
    ]
    door: Door
    busy = False
    """True while what was typed is being written."""
    keeps = True
    """False for a form that never writes: there is nothing to lose."""

    def __init__(self, door: Door) -> None:
        super().__init__()
        self.door = door
        self.keeper: Keeper | None = None
        self.left: list[Left] = []
        self._first: Fields = {}
        self._first_more: Fields = {}
        self._typed: Fields = {}
        self._kept: Fields = {}
        self._typed_at: datetime | None = None
        """When the last key came, always before the write: an entry recorded later may be what was typed."""
        self._ended = False
        self._pause: Timer | None = None
        self.leaving: Worker[None] | None = None
        """The worker that keeps or drops what was typed, after the form was left."""
        self._looked_for = False
        """True once it is known what was left before."""
        self._to_drop: Fields = {}
        """What was typed when F6 asked whether it is to be dropped."""

    # what a form says for itself

    def kept_code(self) -> str:
        """The code of the case; empty for one that is not registered yet."""
        return ""

    def kept_as(self) -> str:
        """The name under which the form is kept: its class, and after a colon what it is about."""
        return type(self).__name__

    def more_kept(self) -> Fields:
        """What was typed and stands in no field of this screen, by names of its own."""
        return {}

    def more_back(self, fields: Fields) -> None:
        """Take back what :meth:`more_kept` gave."""

    @property
    def something_typed(self) -> bool:
        """True once leaving would leave something unwritten."""
        return bool(self._typed)

    def kept_words(self) -> str:
        """The form in words, once it is left unwritten."""
        return self.kept_code()

    def typed_changed(self) -> None:
        """Something is typed now and was not before, or the other way round."""

    def case_now(self) -> CaseRecord | None:
        """The case as far as it is read."""
        return None

    # keeping

    def begin_keeping(self, before: Fields | None = None) -> None:
        """From now on keep what differs from what the fields hold; ``before``: texts typed earlier."""
        if self.keeper is not None or not self.keeps:
            return
        self._first = {**texts_of(self), **(before or {})}
        self._first_more = self.more_kept()
        self.keeper = Keeper(self.door, self.kept_code(), self.kept_as())
        self.app.run_worker(partial(self._look, self.app), thread=True, group="draft")

    def _look(self, app: Frame) -> None:
        """In a thread, which the screen may be gone before: is there something left?"""
        assert self.keeper is not None
        try:
            draft = self.door.left_unwritten(self.keeper.code, self.keeper.form)
        except Exception as error:
            app.call_from_thread(self.tell, f"What was left unwritten cannot be read: {sentence(error)}")
            return
        app.call_from_thread(self._looked, unpack(draft.at, draft.fields) if draft else [])

    def _looked(self, left: list[Left]) -> None:
        self.left, self._looked_for = left, True
        self._offer()
        self.keep_soon()

    def _offer(self) -> None:
        now = self.door.local(self.door.now())
        words = offer(self.left[0], now, self.case_now(), self.door.author) if self.left else ""
        self.tell(words)

    def tell(self, words: str) -> None:
        """One line about what was typed before; empty takes it away."""
        for line in self.query(f"#{LINE}").results(Static):
            line.update(words)
            line.display = bool(words)

    def keep_soon(self) -> None:
        """Something was typed: keep it when no key follows for a moment."""
        if self.keeper is None or self._ended:
            return
        before = self._typed
        self._note_typed()
        if bool(before) != bool(self._typed):
            self.typed_changed()
        if self._to_drop and self._to_drop != self._typed:
            self._to_drop = {}
            self._offer()
        if self._pause is not None:
            self._pause.stop()
        self._pause = self.set_timer(KEPT_AFTER, self.keep_now)

    def _note_typed(self) -> None:
        """What is typed now, and when that came to be."""
        more = {MORE + k: v for k, v in self.more_kept().items() if v != self._first_more.get(k, "")}
        typed = {**typed_in(self, self._first), **more}
        if typed != self._typed and not self.busy:
            self._typed_at = self.door.now()
        self._typed = typed

    def keep_now(self, then: Callable[[], None] | None = None) -> None:
        """Keep what is typed, in a thread; ``then`` is done there once it is kept."""
        if self.keeper is None or self._ended or (self._typed == self._kept and then is None):
            return
        self._kept = self._typed
        fields, ticket = pack(self._typed, self.left), self.keeper.ticket()
        self.app.run_worker(lambda: self._keep(ticket, fields, then), thread=True, group="draft")

    def _keep(self, ticket: int, fields: Fields, then: Callable[[], None] | None) -> None:
        assert self.keeper is not None
        try:
            self.keeper.keep(ticket, fields, self._typed_at)
            if then is not None:
                then()
        except Exception as error:
            said = sentence(error).removesuffix(".")
            self.app.call_from_thread(self.tell, f"What you type is not kept in case of a fault: {said}.")

    def on_unmount(self) -> None:
        """The program ends with the form open: keep the last half second too."""
        if self.keeper is not None and not self._ended and self._typed != self._kept:
            self._kept = self._typed
            self._keep_last()

    def _keep_last(self) -> None:
        assert self.keeper is not None
        try:
            self.keeper.keep(self.keeper.ticket(), pack(self._typed, self.left), self._typed_at)
        except Exception as error:  # nobody is there to be told any more
            self.log(error)

    # bringing back

    def action_bring_back(self) -> None:
        """Put what was left back into its fields; nothing is written."""
        if not self.left or self.keeper is None:
            return
        left = self.left.pop(0)
        self._kept = left.fields
        self._offer()
        self._back({k: v for k, v in left.fields.items() if not k.startswith(MORE)}, TRIES)
        self.more_back({k.removeprefix(MORE): v for k, v in left.fields.items() if k.startswith(MORE)})

    def _back(self, fields: Fields, tries: int) -> None:
        """Fields that another field calls up come a moment later."""
        rest = put_back(self, fields)
        if rest and tries:
            self.call_after_refresh(self._back, rest, tries - 1)
        elif rest:
            told = ", ".join(f'"{text}"' for text in rest.values())
            self.tell(f"Brought back, except {told}: this is not asked here any more.")
        self.keep_soon()

    def action_forget_left(self) -> None:
        """Forget what was left before; what is typed now stays. Without any ask, then drop what is typed."""
        if self.keeper is None or self.busy:
            return
        if not self.left:
            self._ask_to_drop()
            return
        self.left.pop(0)
        self._offer()
        self._kept = {}
        if self._typed or self.left:
            self.keep_now()
        else:
            keeper, ticket = self.keeper, self.keeper.ticket()
            self.app.run_worker(lambda: keeper.keep(ticket, {}), thread=True, group="draft")

    def _ask_to_drop(self) -> None:
        """The first time say what the second will do, unless something else was typed in between."""
        self._note_typed()
        if self._typed and self._typed == self._to_drop:
            self._drop()
            super().dismiss(None)
        elif self._typed:
            self._to_drop = self._typed
            self.tell(DROP)

    # the end

    def end_keeping(self) -> None:
        """What was typed is written: drop it. Called from a worker thread, before the screen closes.

        A draft that cannot be dropped stays, and is offered with the words that something was written since.
        """
        self._ended = True
        try:
            if self.keeper is not None:  # also where nothing is kept yet: a keeping may just be under way
                self.keeper.end(self.left, held=bool(self._kept))
        except Exception as error:
            self.log(error)

    def dismiss(self, result: Result | None = None) -> AwaitComplete:
        """Close; without a result what was typed and not written is kept."""
        if result is None:
            self.put_away()
        return super().dismiss(result)

    async def put_away_done(self) -> None:
        """Wait until what was typed is kept, or dropped; a draft that cannot be dropped stays."""
        if self.leaving is not None:
            with suppress(WorkerFailed):
                await self.leaving.wait()

    def put_away(self) -> None:
        """Left without writing: keep what is typed, in a thread; what was emptied again is no draft."""
        if self.keeper is None or self._ended:
            return
        self._note_typed()
        if not self._typed:
            self._drop()
            return
        self._ended = True
        app = self.app  # a screen that is gone does not know its application in a thread
        self.leaving = app.run_worker(
            lambda: self._put_away(app), thread=True, group="draft", exit_on_error=False
        )

    def _put_away(self, app: Frame) -> None:
        """In a thread: keep it beside what waited before, then say so on the screen beneath."""
        assert self.keeper is not None
        try:
            if not self._looked_for:  # left so fast that what waited before is not known yet
                draft = self.door.left_unwritten(self.keeper.code, self.keeper.form)
                self.left = unpack(draft.at, draft.fields) if draft else []
            self.keeper.keep(self.keeper.ticket(), pack(self._typed, self.left), self._typed_at)
        except Exception as error:
            why = sentence(error).removesuffix(".")
            lost = f"What was typed could not be kept ({self.kept_words()}): {why}."
            app.call_from_thread(lambda: say(app.screen, lost))
            return
        app.call_from_thread(self._say_kept, app)

    def _say_kept(self, app: Frame) -> None:
        beneath, words = app.screen, f"Kept unwritten: {self.kept_words()}. N on the list shows it."
        if isinstance(beneath, KeepingScreen):
            beneath.tell(words)
        else:
            kept_unwritten(beneath, words)

    def _drop(self) -> None:
        """Drop what was typed, in a thread; what was left before and is undecided still waits."""
        self._ended = True
        if self.keeper is None or not self._kept:
            return
        keeper, left = self.keeper, tuple(self.left)
        self.leaving = self.app.run_worker(
            lambda: keeper.end(left), thread=True, group="draft", exit_on_error=False
        )
