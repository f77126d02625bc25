"""A trigger from its first finding to its end: what opened it, when it came true, what answered it.

Rulings 66, 94 and 95. Once true it stays so until a clinician sees the opposite, an entry answers it, or
somebody operates; of what makes a red flag only the outcome of the flag is an answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from armrise.store.clinic.case.naming import covers, entries_about
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.clock import DayZero, day_zero
from armrise.store.clinic.findings.looks import Look, changed, looks
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding
from armrise.store.record.kinds.paperwork import Referral
from armrise.store.record.light import NamedTuple
from armrise.store.rules.pathway import Pathway
from armrise.store.rules.trigger import DAYS, FLAG, LOOKED, SURGEON_TOLD, Condition, Trigger


class Opened(NamedTuple):
    """A trigger that something opened: the first day it is true, and what opened it."""

    trigger: Trigger
    since: date
    zero: DayZero | None
    entries: tuple[Entry, ...]

    def true_on(self, day: date) -> bool:
        """Whether it is true on ``day``: no more after the last day of its trigger."""
        last = self.trigger.to_day
        over = last is not None and self.zero is not None and (day - self.zero.on).days > last.whole
        return self.since <= day and not over

    def text(self, day: date) -> str:
        """What is printed of it on ``day``."""
        if self.zero is None:
            return self.trigger.text
        days = (day - self.zero.on).days
        return self.trigger.text.replace(DAYS, str(days) if self.zero.known else f"at least {days}")


class Course:
    """One matter of a trigger, walked through day by day. ``until``: what is seen from then on opens it no
    more, because the case went over to another pathway."""

    def __init__(
        self,
        view: View,
        pathway: Pathway | None,
        trigger: Trigger,
        matter: Sequence[Condition],
        until: date | None = None,
    ) -> None:
        self.view, self.pathway, self.trigger, self.matter = view, pathway, trigger, matter
        self.until = until or date.max
        self.opened: Opened | None = None
        self.answered = False
        self.too_early: Look | None = None
        """A finding before the first day on which one counts, not looked at again and not answered."""
        self._walk()

    def _walk(self) -> None:
        every, first = looks(self.view, self.pathway, self.matter), self._first_of_now()
        found, replies = [look for look in every if look.on >= first], self._replies()
        seen: dict[date, list[Look]] = {}
        for look in found:
            seen.setdefault(look.on, []).append(look)
        answers: dict[date, list[Entry]] = {}
        for reply in replies:
            answers.setdefault(reply.on, []).append(reply)
        for day in sorted({*seen, *answers}):
            for look in seen.get(day, ()):
                self._see(look)
            for reply in answers.get(day, ()):
                self._answer(reply)

    def _first_of_now(self) -> date:
        """The first day that counts: of the newest surgery; without a clock, of this episode."""
        begins = [onset.on for onset in self.view.upto("onsets") if onset.what == "surgery"][-1:]
        if not self.trigger.clock and self.view.episode_start:
            begins.append(self.view.episode_start)
        return max(begins, default=date.min)

    # --- what was seen ------------------------------------------------------------------------------------

    def _see(self, look: Look) -> None:
        if look.bad:
            self._see_it(look)
        else:
            self._see_the_opposite(look)

    def _see_the_opposite(self, look: Look) -> None:
        """It closes what is open; what was a red flag before that day is one until its outcome."""
        self.too_early = None
        if self.opened and not (self._is_flag and self.opened.since < look.on):
            self.opened = None

    def _see_it(self, look: Look) -> None:
        zero = day_zero(self.view, self.pathway, self.trigger.clock, look.on) if self.trigger.clock else None
        if look.on >= self.until or (self.trigger.clock and zero is None):
            return
        first = self.trigger.found_from
        if zero and first and look.on < zero.on + timedelta(days=first.whole):
            self.too_early = look
        elif self._is_change(look, zero):
            self.too_early = None
            self._open(look, zero)

    def _is_change(self, look: Look, zero: DayZero | None) -> bool:
        """True where no change is asked for, or the answer before was another one."""
        before = next((condition.after for condition in self.matter if condition.after), None)
        if before is None:
            return True
        since = zero.on if zero else date.min
        return any(isinstance(e, Finding) and changed(self.view, e, before, since) for e in look.entries)

    def _open(self, look: Look, zero: DayZero | None) -> None:
        """The same finding again is nothing new, unless it follows a newer injury, or opens a flag."""
        opened, start = self.opened, self.trigger.from_day
        since = max(look.from_day, zero.on + timedelta(days=start.whole) if zero and start else date.min)
        if opened is None or (self.answered and self._is_newer(zero)):
            self.opened, self.answered = Opened(self.trigger, since, zero, look.entries), False
        elif self._is_flag or (self._is_newer(zero) and not self.answered):
            self.opened = Opened(self.trigger, opened.since, zero, (*opened.entries, *look.entries))

    def _is_newer(self, zero: DayZero | None) -> bool:
        before = self.opened.zero if self.opened else None
        return zero is not None and (before is None or zero.on > before.on)

    # --- what answers it ----------------------------------------------------------------------------------

    @property
    def _is_flag(self) -> bool:
        return self.trigger.reason == FLAG

    def _replies(self) -> list[Entry]:
        view = self.view
        if self._is_flag:
            return [o for o in view.upto("flag_outcomes") if o.item in ("all", self.trigger.as_item)]
        found: list[Entry] = []
        for matter in self.trigger.about:
            if matter == SURGEON_TOLD:
                found += [e for name in ("contacts", "referrals") for e in view.upto(name) if e.surgeon_told]
            elif matter != LOOKED:
                found += entries_about(view, matter)
        if self.trigger.referral_only:
            return [entry for entry in found if isinstance(entry, Referral)]
        return found

    def _answer(self, reply: Entry) -> None:
        """An entry from the day it came true, a referral from that of the finding, that could know of it."""
        if self.too_early and covers(self.view, reply, self.too_early.entries):
            self.too_early = None
        opened = self.opened
        in_time = opened is not None and (reply.on >= opened.since or self._refers(reply))
        if opened is None or not in_time or not covers(self.view, reply, opened.entries):
            return
        if self._is_flag:
            self.opened = None
        else:
            self.answered = True

    def _refers(self, reply: Entry) -> bool:
        return isinstance(reply, Referral) and not self._is_flag
