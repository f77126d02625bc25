"""What is true of an invented shoulder: drawn before anything of it is recorded, and read by no rule.

Pain falls by halves from a start towards a floor; flares of 3 to 10 days lie on top of it. Range and strength
come back in a straight line. One shoulder in three carries a danger that begins on a day of its own. Every
number here is invented: it makes shoulders differ, and says nothing of patients.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import NamedTuple

OTHER = {
    "active_flexion": 165,
    "active_abduction": 165,
    "passive_flexion": 170,
    "passive_external_rotation": 65,
}
"""Degrees of the other side."""

STARTS = {
    **{"RC1": 3, "RC2": 3, "RC3": 1, "FS1": 2, "FS2": 2, "OA1": 2, "OA2": 2},
    **{"PO1": 2, "PO2": 2, "PO3": 2, "PO4": 1, "AD1": 2, "AD2": 1, "AD3": 1, "FX1": 2, "FX2": 1, "FX3": 1},
}
"""Where shoulders are placed at their first visit, and how often."""

ANYWHERE = {
    "RC": ("stiffening", "tear", "cancer", "fall"),
    "FS": ("cancer", "fall"),
    "OA": ("cancer", "fall"),
    "PO": ("fall",),
    "AD": ("nerve", "stiffening", "fall"),
    "FX": ("nerve", "stiffening"),
}
"""What may begin in a shoulder of each pathway."""
DANGERS = {code: ANYWHERE[code[:2]] for code in STARTS} | {
    **{"PO1": ("wound",), "PO3": ("tear",), "PO4": ("tear",)},
}
"""The same by the stage it begins in: a repair that is not moved yet shows no tear."""

LOSSES = {"stiffening": (0.0, 1.0), "tear": (110.0, 0.0)}
"""Degrees lost by a danger: at once (active flexion alone), and each day (every plane)."""


class Flare(NamedTuple):
    """Pain above the usual for some days: ``height`` points."""

    start: date
    days: int
    height: float


class Danger(NamedTuple):
    """What begins in a shoulder, and when."""

    kind: str
    start: date


@dataclass(slots=True)
class Shoulder:
    """One shoulder over time. ``first`` is its first visit, ``onset`` the surgery or injury."""

    code: str
    stage: str
    first: date
    onset: date | None
    start: float
    floor: float
    half: float
    """Days in which the pain above the floor halves."""
    keen: float
    """Share of the asked sessions that are done."""
    lag: float
    """Degrees of range missing at the first visit."""
    gain: float
    """Degrees of range and per cent of strength regained each day."""
    flares: tuple[Flare, ...]
    danger: Danger | None
    cuts: list[date] = field(default_factory=list)
    """Days on which the clinic took load away: a flare ends three days later at most."""
    settled: date | None = None
    """The day on which the danger was dealt with: assessed and harmless, or treated."""

    def level(self, day: date) -> float:
        """Pain of the day, 0 to 10."""
        flare = self.flare(day)
        return min(10.0, self.usual(day) + (flare.height if flare else 0))

    def usual(self, day: date) -> float:
        """Pain of the day without its flare."""
        days, danger = max(0, (day - self.first).days), self.endangered(day)
        pain = self.floor + (self.start - self.floor) * 0.5 ** (days / self.half)
        if danger and danger.kind == "cancer":
            pain += 0.09 * (day - danger.start).days
        elif danger and danger.kind == "tear":
            pain += 1
        return pain

    def flare(self, day: date) -> Flare | None:
        """The flare the shoulder is in."""
        return next((f for f in self.flares if f.start <= day < self.flare_end(f)), None)

    def flare_end(self, flare: Flare) -> date:
        """The first day after it: sooner when load was taken away."""
        end = flare.start + timedelta(days=flare.days)
        return min([end, *(c + timedelta(days=3) for c in self.cuts if flare.start < c)])

    def endangered(self, day: date) -> Danger | None:
        """The danger, from its day on until it is settled."""
        over = self.settled is not None and self.settled <= day
        return self.danger if self.danger and self.danger.start <= day and not over else None

    def progress(self, day: date) -> float:
        """Share of the way from the first pain to none, 0 to 1."""
        return max(0.0, min(1.0, 1 - self.level(day) / self.start))

    def days_healing(self, day: date) -> int:
        """Days since surgery or injury; since the first visit where there was none."""
        return (day - (self.onset or self.first)).days

    def value(self, name: str, day: date) -> float:
        """The true value of a measure."""
        level, days = self.level(day), (day - self.first).days
        pains = {"worst_pain": 1.2, "rest_pain": -1.0, "night_pain": -0.4, "night_waking": -2.0}
        if name in pains:
            top = 7 if name == "night_waking" else 10
            return max(0.0, min(top, level + pains[name]))
        if name == "adherence":
            return 100 * self.keen
        danger = self.endangered(day)
        if name.endswith("strength"):
            torn = 45 if danger and danger.kind == "tear" else 0
            return min(96.0, 95 - self.lag * 0.6 + self.gain * days) - torn
        other = OTHER[name]
        share = 0.5 if name == "passive_external_rotation" else 1
        left = other - max(0.0, self.lag - self.gain * days) * share
        once, daily = LOSSES.get(danger.kind, (0.0, 0.0)) if danger else (0.0, 0.0)
        lost = daily * min(40, (day - danger.start).days) if danger else 0
        return max(5.0, left - lost - (once if name.startswith("active") else 0))

    def other(self, name: str) -> int:
        """The other side."""
        return OTHER[name]

    def finding(self, name: str, day: date) -> bool:
        """Whether an observation would be "yes"."""
        danger, days = self.endangered(day), self.days_healing(day)
        kind = danger.kind if danger else ""
        return {
            "wound dry": days >= 6 and kind != "wound",
            "sling weaned": days >= 42,
            "sling off": days >= 10,
            "shrug seen": self.value("active_flexion", day) < 115,
            "pain mainly at end range": self.level(day) < 3,
            "apprehension": self.level(day) > 2.5,
            "apprehension in daily use": self.level(day) > 3,
            "badge sensation lost": kind == "nerve",
            "deltoid contracts": kind != "nerve",
            "can lift to 90 degrees": self.value("active_flexion", day) >= 90,
            "moves as one piece": days >= 12,
            "check X-ray seen": days >= 9,
            "training without apprehension": days >= 98 and self.level(day) < 2.5,
            "goal met": self.progress(day) > 0.75,
            "self-managing": self.progress(day) > 0.6,
            "patient accepts function": False,
            "heavy work": False,
        }.get(name, True)

    def cleared(self, by: str, scope: str, day: date) -> bool:
        """Whether the surgeon or the X-ray would allow it."""
        return self.days_healing(day) >= (84 if scope == "resisted" else 42 if by == "union" else 40)

    def score(self, day: date, worst: float, best: float) -> float:
        """A questionnaire between its worst and its best total."""
        return worst + (best - worst) * min(1.0, self.progress(day) * 1.2)

    def told(self, day: date) -> str:
        """The red-flag item the patient would say "yes" to, if asked; empty: none."""
        danger = self.endangered(day)
        if danger and danger.kind == "cancer" and (day - danger.start).days >= 20:
            return "unrelenting night pain"
        return "wound discharge or fever after surgery" if danger and danger.kind == "wound" else ""


def draw(rng: random.Random, number: int, first: date, days: int) -> Shoulder:
    """One shoulder, first seen on ``first`` and followed for ``days``."""
    stage = rng.choice([code for code, often in STARTS.items() for _ in range(often)])
    early = stage.endswith("1")
    opens = {"PO": (3, 14, 42, 84), "AD": (4, 10, 42, 84), "FX": (3, 14, 42, 84)}.get(stage[:2])
    onset = first - timedelta(days=opens[int(stage[2]) - 1] + rng.randint(1, 9)) if opens else None
    start = rng.uniform(3.5, 6.5) if early else rng.uniform(2.5, 4.5)
    return Shoulder(
        code=f"S-{number:02}",
        stage=stage,
        first=first,
        onset=onset,
        start=start,
        floor=rng.uniform(0.3, 1.5),
        half=rng.choice([rng.uniform(6, 20), rng.uniform(6, 20), rng.uniform(30, 70)]),
        keen=rng.uniform(0.5, 1.0),
        lag=rng.uniform(60, 90) if stage[:2] in ("FS", "PO", "FX") else rng.uniform(15, 45),
        gain=rng.uniform(0.4, 1.2),
        flares=_flares(rng, first, days),
        danger=_danger(rng, stage, first, days),
    )


def _flares(rng: random.Random, first: date, days: int) -> tuple[Flare, ...]:
    found: list[Flare] = []
    day = rng.randint(10, 90)
    while day < days:
        found.append(Flare(first + timedelta(days=day), rng.randint(3, 10), rng.uniform(2.5, 5)))
        day += rng.randint(25, 90)
    return tuple(found)


def _danger(rng: random.Random, stage: str, first: date, days: int) -> Danger | None:
    if rng.random() > 1 / 3:
        return None
    kind = rng.choice(DANGERS[stage])
    day = {"wound": rng.randint(0, 8), "nerve": rng.choice([0, rng.randint(5, 30)])}.get(kind)
    return Danger(kind, first + timedelta(days=rng.randint(14, max(14, days // 2)) if day is None else day))
