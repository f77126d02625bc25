"""What is recorded of a simulated shoulder: real entries, told by the patient or found at a visit.

Whatever is told or measured differs a little from the truth, and some of it is missing.
"""

from __future__ import annotations

import random
from dataclasses import fields
from datetime import date, timedelta
from itertools import pairwise

from armrise.store.clinic.case.standing import Standing, Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.standing.stand import stand
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.kinds.safety import SCREEN_ITEMS
from armrise.store.rules.pathway import Criterion, Stage
from tests.clinic.build import ACCEPTABLE, ONSET_OF, USUAL_CLASS, Builder, rules
from tests.simulated.truth import OTHER, Shoulder

DAY = timedelta(days=1)
PAINS = ("rest_pain", "night_pain", "worst_pain", "night_waking")
AGAIN = "red-flag screen again"
"""What the verdict says where a finding contradicts the screen."""
LOADED = ("I2", "R1", "R2", "R3", "W2", "X1")


class Chart:
    """One shoulder as the clinic knows it. ``diary``: told every day; else at visits alone."""

    def __init__(self, shoulder: Shoulder, *, diary: bool, rng: random.Random) -> None:
        head = {"code": shoulder.code, "person": f"P{shoulder.code[1:]}", "side": "RIGHT", "clinician": "TK"}
        more = {"pathway": shoulder.stage[:2], "registered_on": shoulder.first, "age_band": "50s"}
        self.shoulder, self.diary, self.rng = shoulder, diary, rng
        self.made = Builder({**head, **more}, shoulder.stage, shoulder.first)
        self.seen: list[date] = []
        self.booked: date | None = None
        self.entered = shoulder.first
        self.closed: date | None = None

    @property
    def stage(self) -> Stage:
        """The stage the case is in."""
        found = rules().pathways[self.made.stage[:2]].stage(self.made.stage)
        assert found is not None
        return found

    def standing(self, today: date) -> Standing:
        """What the rules say of what is recorded: all that a clinician of this clinic reads."""
        return stand(self.made.record(), rules(), today)

    def view(self, today: date) -> View:
        """The record as the rules see it."""
        return View.of(self.made.record(), rules(), today)

    # -- the patient -------------------------------------------------------------------------------------

    def rated(self, pain: float) -> int:
        """Pain as it is told."""
        return max(0, min(10, round(pain + self.rng.gauss(0, 0.6))))

    def done(self, day: date) -> tuple[DoneItem, ...]:
        """What is done of the programme in force; now and then a set less."""
        fewer = 1 if self.rng.random() < 0.1 else 0
        return tuple(
            DoneItem(
                exercise=item.exercise,
                load_class=item.load_class,
                sets=max(1, item.sets - fewer),
                sets_asked=item.sets,
                reps=item.reps,
                reps_asked=item.reps,
                above_shoulder=item.above_shoulder,
            )
            for item in self.view(day).upto("programme")
            if item in self._in_force(day)
        )

    def _in_force(self, day: date) -> list[object]:
        newest = {item.exercise: item for item in self.view(day).upto("programme")}
        return [item for item in newest.values() if not item.stopped]

    def session(self, day: date, today: date) -> None:
        """The exercises of ``day``, told on ``today`` with the pain of the next morning."""
        level, items = self.shoulder.level(day), self.done(day)
        if items:
            morning = self.rated(self.shoulder.level(day + DAY))
            during = None if self.rng.random() < 0.05 else self.rated(level + 0.5)
            self.made.session(day, during, self.rated(level + 0.3), morning, *items, recorded=today)

    def overnight(self, today: date) -> None:
        """What a diary tells of yesterday and this morning."""
        yesterday = today - DAY
        asked = max((item.per_week or 0 for item in self.made.record().programme), default=0)
        if not self.diary or yesterday < self.shoulder.first or self.rng.random() < 0.1:
            return
        if self.rng.random() < self.shoulder.keen * min(1, asked / 7):
            self.session(yesterday, today)
        elif self.rng.random() < 0.8:
            self.made.morning(today, self.rated(self.shoulder.level(today)))

    def events(self, today: date) -> None:
        """What the patient tells at once: a fall, a wet wound, an arm that will not lift any more."""
        danger = self.shoulder.danger
        if danger is None or danger.start != today:
            return
        if danger.kind == "fall" or (danger.kind == "tear" and self.rng.random() < 0.5):
            self.made.event(today, "fall", source="patient reported")
        elif danger.kind == "wound" and self.rng.random() < 0.5:
            self.made.contact(today, "message received", note="the wound is leaking")

    def summary(self, today: date) -> None:
        """The weeks since the last visit in one line, recalled wrong by one."""
        since = max([self.entered, *self.seen, today - 28 * DAY])
        days = [since + n * DAY for n in range(1, (today - since).days + 1)]
        if len(days) < 5:
            return
        worse = sum(self.shoulder.level(d) - self.shoulder.usual(d) >= 2 for d in days)
        worst, wrong = max(self.shoulder.level(d) for d in days), self.rng.choice([-1, 0, 0, 1])
        per_week = max((item.per_week or 7 for item in self.made.record().programme), default=7)
        asked = -(-len(days) * min(7, per_week) // 7)
        did = max(0, min(asked, round(asked * self.shoulder.keen) + wrong))
        settled = "n" if self.shoulder.flare(today) else "s" if worse else "."
        pains = f"{self.rated(worst + 0.5)} {self.rated(worst + 0.3)}"
        told = f"{did}/{asked} {pains} {max(0, min(len(days), worse + wrong if worse else 0))} w {settled}"
        self.made.summary(today, since, told)

    # -- the visit ---------------------------------------------------------------------------------------

    def measure(self, name: str, today: date) -> None:
        """One value as measured: pain as told, degrees and strength within their error."""
        true = self.shoulder.value(name, today)
        if name in PAINS:
            self.made.measure(today, name, self.rated(true) if name != "night_waking" else round(true))
        elif name.endswith("strength"):
            self.made.percent(today, name, round(true + self.rng.gauss(0, 3)))
        elif name in OTHER:
            self.made.both(today, name, round(true + self.rng.gauss(0, 3)), OTHER[name])
        else:
            self.made.measure(today, name, round(true))

    def finding(self, name: str, today: date) -> None:
        """One observation."""
        self.made.finding(today, name, "yes" if self.shoulder.finding(name, today) else "no")

    def examine(self, today: date) -> None:
        """What every visit looks at, as far as the stage allows it to be tested."""
        path, allowed = self.made.stage[:2], self.stage.allowed
        for name in PAINS:
            self.measure(name, today)
        for name, needs in (
            ("passive_flexion", "P1"),
            ("passive_external_rotation", "P1" if path != "FX" else "A1"),
            ("active_flexion", "A2"),
            ("external_rotation_strength", "R1"),
        ):
            if needs in allowed or (needs == "P1" and path in ("RC", "FS", "OA", "AD")):
                self.measure(name, today)
        names = {"PO": ("wound dry",), "AD": ("badge sensation lost", "deltoid contracts")}
        names["FX"] = names["AD"]
        late = path == "PO" and self.shoulder.days_healing(today) > 28
        for name in () if late else names.get(path, ()):
            self.finding(name, today)

    def answer(self, criterion: Criterion, today: date) -> None:
        """Record what a criterion that is not met, or not known, asks for."""
        for part in criterion.parts:
            self.answer(part, today)
        if criterion.kind in ("measure", "adherence"):
            self.measure(criterion.measure or "adherence", today)
        elif criterion.kind == "finding" and criterion.finding:
            self.finding(criterion.finding, today)
        elif criterion.kind == "clearance" and criterion.by:
            given = self.shoulder.cleared(criterion.by, criterion.scope, today)
            self.made.clearance(today, criterion.by, "yes" if given else "no", criterion.scope)
        elif criterion.kind == "score" and criterion.instrument:
            self.score(criterion.instrument, today)
        elif criterion.kind == "improved":
            self.score(self.region, today)

    @property
    def region(self) -> str:
        """The region score of the pathway."""
        return rules().pathways[self.made.stage[:2]].score

    def score(self, instrument: str, today: date) -> None:
        """The total of a questionnaire."""
        worst, best = ACCEPTABLE.get(instrument, (2, 9))
        self.made.score(today, instrument, round(self.shoulder.score(today, worst, best)))

    def record_missing(self, today: date) -> None:
        """What the verdict names as missing, and what was "no" the last time."""
        standing = self.standing(today)
        for criterion, judged in zip(self.stage.exit, standing.verdict.criteria, strict=False):
            if judged.state is not Truth.MET:
                self.answer(criterion, today)
        told = self.shoulder.told(today)
        for block in standing.verdict.blocks:
            if "screen" in block.text and block.text != AGAIN:
                self.made.screen_all_no(today)
            for item in SCREEN_ITEMS if block.text == AGAIN else ():
                if item in block.observed:
                    self.made.screen(today, item, "yes" if item == told else "no", note="asked again")

    # -- decisions ---------------------------------------------------------------------------------------

    def place(self, today: date) -> None:
        """The first visit: onset, orders, screen, scores, stage and programme."""
        shoulder = self.shoulder
        if shoulder.onset:
            self.made.onset(shoulder.onset, ONSET_OF[shoulder.stage[:2]])
        if shoulder.stage.startswith("PO") and shoulder.onset:
            self.made.orders(shoulder.onset, recorded=today, surgeon="consultant A")
        self.made.visit(today, usual_morning=self.rated(shoulder.level(today)), anything_new="no")
        self.made.screen_all_no(today).step(today, shoulder.stage, "placing")
        self.score(self.region, today)
        self.examine(today)
        self.prescribe(today)
        self.seen.append(today)

    def prescribe(self, today: date) -> None:
        """The exercises whose class the stage's exits name, else a usual one; what is not allowed stops."""
        wanted = [c for c in self.stage.exit if c.kind == "sessions"]
        classes = list(dict.fromkeys(word for c in wanted for word in c.load_class)) or [
            USUAL_CLASS[self.made.stage]
        ]
        for item in self.view(today).upto("programme"):
            if item in self._in_force(today) and item.load_class not in self.stage.allowed:
                self.made.programme(
                    today, item.load_class, stopped="not allowed in this stage", exercise=item.exercise
                )
        for word in classes:
            above = any(c.above_shoulder and word in c.load_class for c in wanted)
            often = 4 if word in LOADED else 7
            dose = {"reps_low": 10, "reps_high": 15, "sets_high": 3, "per_week": often}
            self.made.programme(today, word, above_shoulder=above, **dose)

    def accept(self, today: date) -> None:
        """Accept whatever dose is proposed."""
        for proposal in proposals(self.view(today)):
            for item in proposal.versions:
                values = {f.name: getattr(item, f.name) for f in fields(item) if f.name not in _HEAD}
                self.made.add(type(item), today, **values)

    def step(self, today: date, by: int) -> None:
        """One stage on (1) or back (-1)."""
        codes = [stage.code for stage in rules().pathways[self.made.stage[:2]].stages]
        following = dict(pairwise(codes if by > 0 else codes[::-1]))
        self.made.step(today, following[self.made.stage])
        self.entered = today
        self.prescribe(today)


_HEAD = {"id", "on", "recorded_at", "recorded_on", "author", "source", "history"}
"""What each entry has of its own."""
