"""Long work over many cases, shared out among processes where that pays; elsewhere done here.

What comes of it is the same, in the same order. A helper is a new interpreter that opens the store itself
and reads from a pipe what to do: nothing of the program that asks is copied into it, whatever threads that
has. It has a session of its own, so that Ctrl+C reaches only who asked, and ends when its pipe is closed.
"""

from __future__ import annotations

import contextlib
import json
import os
import selectors
import subprocess
import sys
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, field
from pickle import UnpicklingError
from typing import Any

from armrise.store.caseload.mark import program
from armrise.store.caseload.processes.helper import Answer, Task, Work
from armrise.store.caseload.processes.pipe import receive, send
from armrise.store.database.place import Store
from armrise.store.database.reading import no_collecting
from armrise.store.database.sqlite_file import SqliteFile

MOST_HELPERS = 4
"""Each holds some 50 MB."""
AHEAD = 2
"""Handfuls that a helper has at a time: it need not wait for the next."""
READY_AHEAD = 16
"""Handfuls worked out for each helper before somebody takes the first of them."""
TICK = 0.2
"""Seconds after which whoever waits can stop."""
_BEGIN = (
    "import sys, json; sys.path[:] = json.loads(sys.argv[1]); "
    "from armrise.store.caseload.processes.helper import serve; serve()"
)

Handful = Sequence[str]
"""Codes of cases that are worked out together."""


def shared(store: Store, work: Work, handfuls: Sequence[Handful], *, pays: bool) -> Iterator[Any | None]:
    """What ``work`` gives for each handful, in their order; None in between, for whoever wants to stop.

    ``pays``: whether it takes so long that helpers are worth their start. Without them, as for a store that
    is no plain file, and for what they leave, everything is worked out here. Leaving it ends them. Raises
    whatever ``work`` does.
    """
    wanted = min(MOST_HELPERS, _processors(), len(handfuls)) if pays else 0
    task = _task(store, work) if wanted > 1 else None
    if task is None:
        yield from (work_out(store, work, codes) for codes in handfuls)
        return
    with _helpers(task, wanted) as helpers:
        yield from _Sharing(helpers, handfuls).in_order(store, work)


def work_out(store: Store, work: Work, codes: Handful) -> Any:
    """What ``work`` gives for some cases, here."""
    with no_collecting():
        return work(store, codes)


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _task(store: Store, work: Work) -> Task | None:
    """What helpers are told; None where they cannot open the store, or cannot be waited for."""
    if type(store.driver) is not SqliteFile or os.name != "posix" or not sys.executable:
        return None
    return Task(work, store.path.absolute(), store.read_only, store.known_at, program())


# --- helpers ----------------------------------------------------------------------------------------------


@dataclass(eq=False)
class _Helper:
    """A helping process, and the numbers of the handfuls that it was given and has not answered."""

    process: subprocess.Popen[bytes]
    asks: int
    tells: int
    given: list[int] = field(default_factory=list[int])


@contextlib.contextmanager
def _helpers(task: Task, wanted: int) -> Generator[list[_Helper], None, None]:
    """So many helpers, or as many as can be started; at the end there is none."""
    found: list[_Helper] = []
    try:
        with contextlib.suppress(OSError):
            for _ in range(wanted):
                found.append(_started())
        for helper in found:
            with contextlib.suppress(OSError):  # one that is gone already is missed when it is asked
                send(helper.asks, task)
        yield found.copy()
    finally:
        for helper in found:
            helper.process.kill()
        for helper in found:
            with helper.process:
                pass


def _started() -> _Helper:
    process = subprocess.Popen(
        [sys.executable, "-c", _BEGIN, json.dumps(sys.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        bufsize=0,
        start_new_session=True,
    )
    assert process.stdin is not None, "a pipe was asked for"
    assert process.stdout is not None, "a pipe was asked for"
    return _Helper(process, process.stdin.fileno(), process.stdout.fileno())


class _Sharing:
    """Handfuls given to helpers, and what came of them."""

    def __init__(self, helpers: list[_Helper], handfuls: Sequence[Handful]) -> None:
        self._helpers, self._handfuls = helpers, handfuls
        self._waiting = list(range(len(handfuls)))
        """Numbers of those that nobody was given, in order."""
        self._answers: dict[int, Answer] = {}

    def in_order(self, store: Store, work: Work) -> Iterator[Any | None]:
        """What came of each handful; None for each moment in which nothing did."""
        for number, codes in enumerate(self._handfuls):
            while number not in self._answers and self._helpers:
                self._give(number + READY_AHEAD * len(self._helpers))
                if not self._listen():
                    yield None
            answer = self._answers.pop(number, None)
            yield answer.found if answer and answer.done else work_out(store, work, codes)

    def _give(self, before: int) -> None:
        """Give each helper what it can have, of the handfuls with a lower number."""
        for helper in self._helpers.copy():
            while len(helper.given) < AHEAD and self._waiting and self._waiting[0] < before:
                number = self._waiting.pop(0)
                helper.given.append(number)
                try:
                    send(helper.asks, (number, self._handfuls[number]))
                except OSError:
                    self._lose(helper)
                    break

    def _listen(self) -> bool:
        """Take what helpers have worked out. False where none had anything for a moment."""
        with selectors.DefaultSelector() as listening:
            for helper in self._helpers:
                listening.register(helper.tells, selectors.EVENT_READ, helper)
            heard: list[_Helper] = [key.data for key, _ in listening.select(TICK)]
        for helper in heard:
            try:
                answer: Answer = receive(helper.tells)
            except (EOFError, OSError, UnpicklingError):
                self._lose(helper)
                continue
            helper.given.remove(answer.number)
            self._answers[answer.number] = answer
        return bool(heard)

    def _lose(self, helper: _Helper) -> None:
        """A helper that is gone: others do what it left."""
        self._helpers.remove(helper)
        self._waiting = sorted([*self._waiting, *helper.given])
