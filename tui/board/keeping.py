"""The kept list behind the list: judged anew once its rows stand, kept again after writes, made ahead."""

from __future__ import annotations

from time import sleep
from typing import TYPE_CHECKING, cast

from textual import work
from textual.timer import Timer
from textual.worker import Worker, get_current_worker  # pyright: ignore[reportUnknownVariableType]

from armrise.tui.shell.frame import Board
from armrise.tui.shell.memory import give_back

if TYPE_CHECKING:
    from collections.abc import Callable

    from armrise.tui.shell.keeping import Keeping

ANEW_AFTER = 1.5
"""Seconds from the rows of a kept list to judging it anew: a first key goes before."""
KEEP_AFTER = 4.0
"""Seconds from the last reading of the list to keeping it: one entry often follows another."""
DEMONSTRATION_AFTER = 6.0
"""Seconds without a reading after which the demonstration of the next start is made."""
AHEAD_AFTER = 45.0
"""Seconds without a reading after which the lists of the days to come are made."""
PAUSE = 0.004
"""Seconds between two cases judged behind the screen: somebody may be typing."""
CORRECTED = "The list was corrected: {} had been kept wrongly. Please tell the maintainers."


class ListKeeper(Board):
    """A list that is kept beside its store."""

    _keep_timer: Timer | None = None
    _ahead_timer: Timer | None = None
    _demonstration_timer: Timer | None = None
    _judging = False
    """True from when a kept list is to be judged anew until that is done."""

    def failed(self, error: Exception) -> None:
        """Nothing can be shown."""
        raise NotImplementedError

    def read_corrected(self, said: str) -> object:
        """Read the list anew, since what was shown was wrong."""
        raise NotImplementedError

    @property
    def _keeping(self) -> Keeping | None:
        from armrise.tui.shell.store_door import StoreDoor

        door = self.app.door
        keeping = door.keeping if isinstance(door, StoreDoor) else None
        return keeping if keeping is not None and keeping.keeps else None

    def keep_soon(self) -> None:
        """The list was read: keep it, and the lists ahead, once it has been left alone for a while."""
        for timer in (self._keep_timer, self._ahead_timer, self._demonstration_timer):
            if timer is not None:
                timer.stop()
        if self.app.opening.ahead is not None:
            self._demonstration_timer = self.set_timer(DEMONSTRATION_AFTER, self.make_demonstration)
        keeping = self._keeping
        if keeping is not None:
            if keeping.unproved and not self._judging:
                self._judging = True
                self.set_timer(ANEW_AFTER, self.judge_anew)
            self._keep_timer = self.set_timer(KEEP_AFTER, self.keep)
            self._ahead_timer = self.set_timer(AHEAD_AFTER, self.make_ahead)

    @work(thread=True, group="judging", exclusive=True)
    def judge_anew(self) -> None:
        """Judge the kept list anew; the head says so where it was wrong, and it is read anew."""
        keeping = self._keeping
        try:
            wrong = keeping.judge_anew(_pausing()) if keeping is not None else {}
        except InterruptedError:
            return
        except Exception as error:  # as if the list had been read so at first
            self.app.call_from_thread(self.failed, error)
            return
        finally:
            self._judging = False  # where it was not done, the next reading asks for it again
        if wrong:
            self.app.call_from_thread(self._correct, len(wrong))
        elif keeping is not None:
            pausing = _pausing()
            self._quietly(lambda: keeping.keep_printed(pausing))
            give_back()

    def _correct(self, cases: int) -> None:
        self.read_corrected(CORRECTED.format("1 case" if cases == 1 else f"{cases} cases"))

    @work(thread=True, group="keeping", exclusive=True)
    def keep(self) -> None:
        """Keep the list as it was last judged, and as it is printed."""
        keeping = self._keeping
        if keeping is not None:
            pausing = _pausing()
            self._quietly(lambda: keeping.keep() and keeping.keep_printed(pausing))
            give_back()

    @work(thread=True, group="keeping", exclusive=True)
    def make_ahead(self) -> None:
        """Make the lists of the days to come, beside a screen that nobody is busy at."""
        keeping = self._keeping
        if keeping is not None:
            pausing = _pausing()
            self._quietly(lambda: keeping.make_ahead(pausing))

    @work(thread=True, group="demonstration", exclusive=True)
    def make_demonstration(self) -> None:
        """Make the demonstration of the next start, beside a screen that nobody is busy at."""
        ahead, pausing = self.app.opening.ahead, _pausing()
        if ahead is not None:
            self._quietly(lambda: ahead(pausing))

    def _quietly(self, do: Callable[[], object]) -> None:
        """What is disposable fails without a word: the next reading says what is wrong with the store."""
        try:
            do()
        except InterruptedError:
            return
        except Exception as error:
            self.log(error)


def _pausing() -> Callable[[], None]:
    """What lets the screen have its turn, and stops a worker that is no longer wanted."""
    working = cast("Worker[None]", get_current_worker())

    def pause() -> None:
        if working.is_cancelled:
            raise InterruptedError
        sleep(PAUSE)

    return pause
