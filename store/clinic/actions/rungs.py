"""What a step does to the home programme: the rungs that open, the exercises that stop (ruling 83)."""

from __future__ import annotations

from dataclasses import replace

from armrise.store.clinic.actions.suppose import added, recorded_last
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.healing.fit import fits_stage
from armrise.store.clinic.programme.ladder import open_below, shut
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.programme import CLASS_WORDS, ProgrammeItem
from armrise.store.record.light import dataclass
from armrise.store.rules.exercise import Exercise
from armrise.store.rules.pathway import Stage


@dataclass(frozen=True, slots=True)
class Stopped:
    """An exercise that the stage does not allow. ``item`` is its last version, taken out with the reason;
    ``instead`` the highest rung of its ladder that is allowed there, None where there is none."""

    item: ProgrammeItem
    instead: Exercise | None

    @property
    def words(self) -> str:
        """ "light scaption raise stops; highest allowed on its ladder: free arm lift"."""
        rung = f"; highest allowed on its ladder: {self.instead.name}" if self.instead else ""
        return f"{self.item.exercise} stops{rung}"


def opened_rungs(view: View, target: Stage) -> list[str]:
    """The rungs of all ladders that are shut today and open once the case stands in ``target``."""
    after, code = _after(view, target), view.pathway.code if view.pathway else None
    names = [name for ladder in view.rules.ladders for name in ladder.rungs]
    known = [exercise for name in names if (exercise := view.rules.exercise(name, code))]
    return [exercise.name for exercise in known if shut(view, exercise) and not shut(after, exercise)]


def stopped_by(view: View, target: Stage) -> list[Stopped]:
    """The exercises in force whose class is not allowed once the case stands in ``target``."""
    after = _after(view, target)
    found: list[Stopped] = []
    for item in in_force(view):
        if not fits_stage(after, item.load_class):
            why = f"step to {target.code}: {CLASS_WORDS[item.load_class]} is not part of it"
            found.append(Stopped(replace(item, stopped=why), open_below(after, item.exercise)))
    return found


def _after(view: View, target: Stage) -> View:
    """The case as it would stand after the step."""
    direction = "forward" if view.next_stage is target else "back"
    step = Step(
        stage=target.code, direction=direction, on=view.today, **recorded_last(view.record, view.today)
    )
    return View.of(added(view.record, [step]), view.rules, view.today)
