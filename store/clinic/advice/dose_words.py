"""One exercise with its dose in the patient's words."""

from __future__ import annotations

from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.words import plain


def dose_words(item: ProgrammeItem) -> str:
    """One exercise and its dose: "rows with band: 3 sets of 8 to 12, band grade 2, 3 times a week"."""
    reps = f"{item.reps_low} to {item.reps_high}" if item.reps_low and item.reps_high else str(item.reps)
    once = item.hold is not None and reps == "1"
    sets = f"{item.sets} time" if once else f"{item.sets} set"
    parts = [f"{sets}{'' if item.sets == 1 else 's'}{'' if once else f' of {reps}'}"]
    if item.load is not None:
        parts.append(f"{plain(item.load)} kg")
    if item.band is not None:
        parts.append(f"band grade {item.band}")
    if item.hold is not None:
        parts.append(f"hold each for {_seconds(item.hold)}")
    if item.rest is not None:
        parts.append(f"rest {_seconds(item.rest)} between sets")
    if item.per_week is not None:
        parts.append("once a week" if item.per_week == 1 else f"{item.per_week} times a week")
    if item.sides == "both":
        parts.append("both arms")
    return f"{item.exercise}: {', '.join(parts)}"


def _seconds(count: int) -> str:
    return f"{count} second{'' if count == 1 else 's'}"
