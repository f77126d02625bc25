"""Reading the caseload beside the screen: the first time, when it changed elsewhere, and after an entry."""

from __future__ import annotations

from threading import Event
from time import sleep
from typing import TYPE_CHECKING, cast

from textual import work
from textual.worker import Worker, get_current_worker  # pyright: ignore[reportUnknownVariableType]

from armrise.tui.board.keeping import ListKeeper
from armrise.tui.shell import opening
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.memory import give_back
from armrise.tui.widgets.caselist import CaseList

if TYPE_CHECKING:
    from pathlib import Path

    from armrise.store.database.server.address import Where
    from armrise.tui.shell.door import Door

READING = "Reading the caseload"
ENCRYPTED = "The caseload is encrypted."
NONE_YET = "There is no caseload yet."
GROUP = "reading"
"""The workers that read the list: one begun ends the one before, and a poll waits for its turn."""
POLL_SECONDS = 5.0
PROGRESS_AFTER = 0.3
VERIFY_AFTER, VERIFY_AGAIN = 20.0, 24 * 3600.0
"""Seconds from the first rows to the first verification of the store, and from one to the next."""
PAUSE = 0.02
"""Seconds that a verification waits between two stretches: somebody may be typing."""


class CaseloadReader(ListKeeper):
    """A screen that reads in worker threads and is told by :meth:`take`, :meth:`failed`, :meth:`notice`."""

    state = READING
    overtaken = False
    """True once a poll has noticed something and a reading began before it was shown."""

    def take(self, reading: opening.Reading, *, sort: bool, admit: bool = False, said: str = "") -> None:
        """Show what was read; rows move only when ``sort``, a new case comes in when ``admit``."""
        raise NotImplementedError

    def none_yet(self, path: Where) -> None:
        """There is no store: the first run, then read again."""
        from armrise.tui.firstrun.screen import first_run

        self.show_state(NONE_YET)
        first_run(self.app, path, self.read_first)

    def locked(self, path: Path) -> None:
        """The store is encrypted: its passphrase, then read again."""
        from armrise.tui.locked.screen import ask_passphrase

        self.show_state(ENCRYPTED)
        ask_passphrase(self.app, path, self.read_first)

    def failed(self, error: Exception) -> None:
        """Nothing can be shown."""
        raise NotImplementedError

    def notice(self, said: str) -> None:
        """One sentence in the head."""
        raise NotImplementedError

    def show_state(self, state: str) -> None:
        """Words in place of the list."""
        raise NotImplementedError

    @work(thread=True, group=GROUP, exclusive=True)
    def read_first(self) -> None:
        """Open the store and read the list, telling how far it is when that takes noticeable time."""
        progress = self.app.call_from_thread(self._progress)
        try:
            door = self.app.opening.door(progress)
            kept = opening.kept(door)
            reading = kept or opening.read(door)
        except opening.NoStoreYet as none:
            self.app.call_from_thread(self.none_yet, none.path)
            return
        except opening.PassphraseAsked as locked:
            self.app.call_from_thread(self.locked, locked.path)
            return
        except Exception as error:
            self.app.call_from_thread(self.failed, error)
            return
        self.app.call_from_thread(self._opened, door, reading)
        if kept is not None:
            painted = Event()
            self.app.call_from_thread(self.call_after_refresh, painted.set)
            painted.wait(PROGRESS_AFTER)  # the rows go before what is read beside them
            self._read_rest(door, kept)

    def _progress(self) -> opening.Tell:
        """A function that notes what is being done; the screen says so after a moment."""
        doing = [READING]
        self.set_timer(PROGRESS_AFTER, lambda: self._note(doing[0]))

        def tell(step: str) -> None:
            doing[0] = f"{READING}: {step} ..."
            if self.state:
                self.app.call_from_thread(self._still, doing[0])

        return tell

    def _note(self, words_now: str) -> None:
        """Say what is being done, while it is: an empty store or a refusal by now has words of its own."""
        if self.state.startswith(READING):
            self.show_state(words_now)

    def _still(self, words_now: str) -> None:
        if self.state.startswith(READING) and self.state != READING:
            self.show_state(words_now)

    def _opened(self, door: Door, reading: opening.Reading) -> None:
        self.app.opened(door)
        self.take(reading, sort=True)
        self.query_one(CaseList).focus()
        self.set_timer(PROGRESS_AFTER, self.warm)
        self.set_interval(POLL_SECONDS, self.poll)
        self.set_timer(VERIFY_AFTER, self.verify_store)

    def _read_rest(self, door: Door, first: opening.Reading) -> None:
        """In the worker: have the door hold the kept list, and show what of it was not shown at once."""
        reading_on = cast("Worker[None]", get_current_worker())
        try:
            reading = opening.rest(door, first)
        except Exception as error:
            self.app.call_from_thread(self.failed, error)
            return
        if first.more and not reading_on.is_cancelled:
            self.app.call_from_thread(self.take, reading, sort=True)

    @work(thread=True, group="warming")
    def warm(self) -> None:
        """Import what the first entry will need, now that the rows are on the screen."""
        try:
            self.app.load_screens()
            if self.app.door is not None:
                self.app.door.warm()
                self.app.door.tidy()
        except Exception as error:  # the first entry says it in its own words
            self.log(error)
        give_back()

    @work(thread=True, group="verifying", exclusive=True)
    def verify_store(self) -> None:
        """Look whether a store that lasts is as it was written; the head says so when it is not."""
        from armrise.tui.shell.store_door import StoreDoor

        door, looking = self.app.door, cast("Worker[None]", get_current_worker())
        if not isinstance(door, StoreDoor) or not door.store.lasting:
            return

        def pause(*_: int) -> None:
            if looking.is_cancelled:
                raise InterruptedError
            sleep(PAUSE)

        try:
            found = door.verify(pause)
        except InterruptedError:
            return
        except Exception as error:  # the next reading says it in its own words
            self.log(error)
            return
        self.app.call_from_thread(self._verified, found.sound)

    def _verified(self, sound: bool) -> None:
        self.verified(sound)
        self.set_timer(VERIFY_AGAIN, self.verify_store)

    def poll(self) -> None:
        """Look whether somebody else wrote, or the clinic date moved on; not while the list is being read."""
        if not any(w.group == GROUP and w.node is self and not w.is_finished for w in self.workers):
            self.look_elsewhere()

    @work(thread=True, group=GROUP, exclusive=True)
    def look_elsewhere(self) -> None:
        """Read the list where something has changed. A reading that begins meanwhile overtakes this one."""
        door, looking = self.app.door, cast("Worker[None]", get_current_worker())
        if door is None:
            return
        try:
            moved_on = door.today != self.head.as_of
            if not (self.overtaken or door.changed() or moved_on or self.drafts_changed(door)):
                return
            reading = opening.read(door)
        except Exception as error:
            self.app.call_from_thread(self.notice, in_a_sentence(error))
            return
        self.app.call_from_thread(self._looked, looking, reading)

    def _looked(self, looking: Worker[None], reading: opening.Reading) -> None:
        self.overtaken = looking.is_cancelled
        if not self.overtaken:
            self.take(reading, sort=False)

    def drafts_changed(self, door: Door) -> bool:
        """True when other forms wait unwritten than the head says; not asked while one is being typed in."""
        return self.is_current and len(door.unwritten()) != self.head.unwritten

    @work(thread=True, group=GROUP, exclusive=True)
    def read_through(self, door: Door, as_known: str, said: str) -> None:
        """Read the list through another door, and only then turn every screen to it, marked ``as_known``."""
        try:
            reading = opening.read(door)
        except Exception as error:
            self.app.call_from_thread(self.notice, in_a_sentence(error))
            return
        self.app.call_from_thread(self._turned, door, as_known, reading, said)

    def _turned(self, door: Door, as_known: str, reading: opening.Reading, said: str) -> None:
        self.app.look_through(door, as_known)
        self.take(reading, sort=True, said=said)

    @work(thread=True, group=GROUP, exclusive=True)
    def read_again(self, said: str = "", *, sort: bool = True) -> None:
        """Read the list anew; ``said`` stays in the head. Unless to ``sort`` it, only new cases come in."""
        door = self.app.door
        if door is None:
            return
        try:
            reading = opening.read(door)
        except Exception as error:
            self.app.call_from_thread(self.notice, in_a_sentence(error))
            return
        self.app.call_from_thread(self.take, reading, sort=sort, admit=True, said=said)

    def read_corrected(self, said: str) -> None:
        """Read the list anew, since what was shown was wrong: no row moves by itself."""
        self.read_again(said, sort=False)
