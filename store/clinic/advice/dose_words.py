"""One exercise with its dose in the patient's words: how it goes, how much, how often, how hard (82)."""

from __future__ import annotations

from armrise.store.record.kinds.programme import ISOMETRIC, ProgrammeItem
from armrise.store.record.light import dataclass
from armrise.store.rules.exercise import BAND, EASY, Exercise
from armrise.store.rules.pathway import Rules
from armrise.store.rules.words.patient import PatientWords

EVERY = {4: "exercise.every_other_day", 7: "exercise.every_day"}
"""How often, by times a week, where people say it so."""
WEEK = 7


@dataclass(frozen=True, slots=True)
class Told:
    """One exercise in the patient's words; a part that says nothing is empty."""

    name: str
    way: str = ""
    """Which arm does what, over how many seconds, and how far."""
    dose: str = ""
    """Sets, repetitions, load, holds, rests and how often."""
    how_far: str = ""
    """How hard, or how far and with what pain."""
    left_out: bool = False
    """Not to be done for now."""

    def line(self, words: PatientWords) -> str:
        """ "table slide: 2 sets of 10 to 15, 3 times a day; as far as it is easy, pain 2 or less"."""
        if self.left_out:
            return words.say("exercise.left_out", name=self.name)
        return words.say("exercise.line", name=self.name, parts=self.parts(words))

    def parts(self, words: PatientWords) -> str:
        """Way, dose and how far in one line."""
        return words.joined(self.way, self.dose, self.how_far)


def told(item: ProgrammeItem, rules: Rules) -> Told:
    """An exercise of the programme in the patient's words."""
    words, named = rules.words, next((one for one in rules.exercises if one.name == item.exercise), None)
    return Told(
        words.exercise(item.exercise),
        _way(item, named, words),
        _dose(item, words),
        _how_far(item, named, rules),
    )


def _way(item: ProgrammeItem, named: Exercise | None, words: PatientWords) -> str:
    arc = words.say("exercise.arc", degrees=item.arc_to) if item.arc_to is not None else ""
    if item.assist == "other arm lifts":
        return words.listed(_lifted(item, named, words), arc)
    up = words.say("exercise.up", seconds=_seconds(item.lift_s, words)) if item.lift_s else ""
    pause = words.say("exercise.pause", seconds=_seconds(item.pause_s, words)) if item.pause_s else ""
    down = words.say("exercise.down", seconds=_lowering(item, words)) if item.lower_s else ""
    return words.listed(up, pause, down, arc)


def _lifted(item: ProgrammeItem, named: Exercise | None, words: PatientWords) -> str:
    """The other arm takes the load, this one lets it back."""
    band = item.band is not None or (named is not None and named.equipment == BAND)
    goes = "exercise.other_arm_band" if band else "exercise.other_arm_weight"
    return words.say(f"{goes}_over", seconds=_lowering(item, words)) if item.lower_s else words.say(goes)


def _lowering(item: ProgrammeItem, words: PatientWords) -> str:
    if not item.lower_s_high:
        return _seconds(item.lower_s or 0, words)
    longest = _seconds(item.lower_s_high, words)
    return words.say("exercise.seconds_range", least=item.lower_s, seconds=longest)


def _dose(item: ProgrammeItem, words: PatientWords) -> str:
    held = _held(item, words)
    return words.listed(
        _sets(item, words),
        words.say("exercise.weight", kilograms=words.number(item.load)) if item.load is not None else "",
        words.say("exercise.band", grade=item.band) if item.band is not None else "",
        words.say("exercise.hold", seconds=held) if held else "",
        words.say("exercise.rest", seconds=_seconds(item.rest, words)) if item.rest is not None else "",
        _how_often(item.per_week, words) if item.per_week is not None else "",
        words.say("exercise.both_arms") if item.sides == "both" else "",
    )


def _sets(item: ProgrammeItem, words: PatientWords) -> str:
    """ "3 sets of 10 to 15"; "5 times" of what is held, once a set."""
    reps, ranged = str(item.reps), bool(item.reps_low and item.reps_high)
    if item.load_class in ISOMETRIC:
        once = item.hold is None or item.reps == 1
    else:
        once = item.hold is not None and item.reps == 1 and not ranged
        if ranged:
            reps = words.say("exercise.repetitions_range", least=item.reps_low, most=item.reps_high)
    if once:
        return words.count("exercise.times", item.sets)
    return words.count("exercise.sets", item.sets, repetitions=reps)


def _held(item: ProgrammeItem, words: PatientWords) -> str:
    """How long each is held; in the isometric classes repetitions and their range are seconds."""
    if item.load_class not in ISOMETRIC:
        return _seconds(item.hold, words) if item.hold is not None else ""
    if item.reps_low and item.reps_high:
        longest = _seconds(item.reps_high, words)
        return words.say("exercise.seconds_range", least=item.reps_low, seconds=longest)
    return _seconds(item.reps if item.hold is None else item.hold, words)


def _how_often(per_week: int, words: PatientWords) -> str:
    if per_week >= 2 * WEEK:
        return words.count("exercise.times_a_day", per_week // WEEK)
    if per_week in EVERY:
        return words.say(EVERY[per_week])
    return words.count("exercise.times_a_week", per_week)


def _how_far(item: ProgrammeItem, named: Exercise | None, rules: Rules) -> str:
    """The effort; of movement without load that goes on as soon as it is easy, how far and with what pain."""
    if item.effort is not None:
        return rules.words.say("exercise.effort", effort=item.effort)
    easy = named is not None and named.climb == EASY and item.load_class in rules.mobility_classes
    return rules.words.say("exercise.easy", most=rules["ladder.during"]) if easy else ""


def _seconds(count: int, words: PatientWords) -> str:
    return words.count("exercise.seconds", count)
