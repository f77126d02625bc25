"""The activities a patient named for themselves: what the ratings of the patient-specific score are of."""

from __future__ import annotations

from collections.abc import Iterable

from armrise.store.record.kinds.measured import Score


def own_activities(scores: Iterable[Score]) -> tuple[str, ...]:
    """The names by their places, as the newest score that names any says; "" for a place without a name."""
    named = [score for score in scores if score.activities]
    return max(named, key=lambda s: (s.on, s.recorded_at, s.id)).named if named else ()
