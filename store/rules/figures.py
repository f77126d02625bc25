"""Every figure the rules ask for outside the pathways: what it means, its unit and what it may be.

A rule file that lacks one is refused. A new one is a line here and its number, with source and status, in
``rules.toml``.
"""

from __future__ import annotations

from typing import NamedTuple

from armrise.store.rules.table import UNITS


class Meaning(NamedTuple):
    """What one figure means, in which unit, and what it may be beyond the range of its unit."""

    meaning: str
    unit: str = ""
    """As it is shown ("per cent"); empty for a plain count."""
    least: int = 0
    below: int | None = None
    """It has to stay under this."""
    at_most: str = ""
    """A figure it may not exceed."""

    @property
    def words(self) -> str:
        """The meaning with the unit in brackets."""
        return f"{self.meaning} ({self.unit})" if self.unit else self.meaning

    @property
    def under(self) -> str:
        """The name the number is written under in the file, one of :data:`UNITS`."""
        said = self.unit.replace("per cent", "percent")
        return next((unit for unit in UNITS if said.startswith(unit)), "value")


FIGURES = {
    "response.flare_over_during": Meaning("during pain this far above the limit is a flare", "points"),
    "response.flare_over_later": Meaning("later pain this far above the limit is a flare", "points"),
    "response.flare_morning": Meaning(
        "with a raised morning, a next morning at or above this is a flare", "points"
    ),
    "response.complete_percent": Meaning(
        "share of prescribed sets that makes a session complete", "per cent"
    ),
    "response.run_gap_days": Meaning("a longer gap to the next older session ends a run", "days"),
    "response.run_window_days": Meaning("older sessions do not count in a run", "days"),
    "response.recall_days": Meaning("a morning recalled later than this does not qualify", "days"),
    "baseline.window_days": Meaning("mornings read back for a baseline", "days"),
    "baseline.take": Meaning("mornings taken at most", least=1),
    "baseline.least": Meaning("mornings needed at least", least=1, at_most="baseline.take"),
    "baseline.usual_days": Meaning("usual morning pain from the last visit holds this long", "days"),
    "baseline.stands_days": Meaning("the last computable baseline stands this long", "days"),
    "creep.points": Meaning("baseline this far above the first is creep", "points"),
    "ceiling.baseline": Meaning("baseline at or above this cannot show a rise", "points"),
    "ceiling.morning": Meaning("at the ceiling, a morning at or above this is a flare", "points"),
    "flare.last": Meaning(
        "this many newest sessions all flares is sustained", least=1, at_most="flare.among"
    ),
    "flare.of": Meaning(
        "flares among the newest sessions that are sustained", least=1, at_most="flare.among"
    ),
    "flare.among": Meaning("newest sessions looked at"),
    "flare.within_days": Meaning("and dated within this many days"),
    "flare.morning_rise": Meaning("mornings this far above baseline", "points"),
    "flare.mornings": Meaning("on this many calendar days running"),
    "flare.waking_more": Meaning("more nights woken than the value before", "nights a week"),
    "flare.horizon_days": Meaning("nothing older counts", "days"),
    "flare.settled_mornings": Meaning("settled mornings that clear a flare"),
    "flare.settled_within": Meaning("a settled morning is within this of baseline", "points"),
    "drift.same_watch": Meaning("watch allowance, same rater", "degrees", at_most="drift.same_act"),
    "drift.same_act": Meaning("act allowance, same rater", "degrees", at_most="drift.other_act"),
    "drift.other_watch": Meaning(
        "watch allowance, different or unknown rater", "degrees", at_most="drift.other_act"
    ),
    "drift.other_act": Meaning("act allowance, different or unknown rater", "degrees"),
    "drift.confirm_days": Meaning("two measurements at least this far apart", "days"),
    "drift.confirm_within": Meaning("the later one within this of the first, or lower", "degrees"),
    "drift.large_multiple": Meaning("a loss of this many act allowances needs no second measurement"),
    "drift.half_percent": Meaning("below this share of the other side", "per cent"),
    "drift.half_least_other": Meaning("where the other side has at least this", "degrees"),
    "outcome.fresh_days": Meaning("a score no older than this lets a checkpoint be judged", "days"),
    "outcome.early_pain": Meaning("early look: worst pain down by at least", "points"),
    "outcome.early_function": Meaning("early look: patient-specific function up by at least", "points"),
    "score_due.first_day": Meaning(
        "first outcome score due", "days from first treatment visit", at_most="score_due.second_day"
    ),
    "score_due.second_day": Meaning("second outcome score due", "days from first treatment visit"),
    "score_due.answered_before_days": Meaning("a total up to this long before answers it", "days"),
    "lost.overdue_days": Meaning("protected case: review overdue by at least", "days"),
    "lost.contact_days": Meaning("a contact silences it for", "days"),
    "missed.in_row": Meaning("missed visits in a row"),
    "missed.contact_days": Meaning("one missed visit without contact for", "days"),
    "missed.letter_days": Meaning("days to reply to a letter about missed visits", "days"),
    "discharge.protected_attempts": Meaning(
        "protected stage: days on which contact was tried before a discharge"
    ),
    "sweep.phone_days": Meaning("a phone decision takes a case out of the weekly sweep for", "days"),
    "sweep.unanswered_protected_days": Meaning("the same in a protected stage when nobody answered", "days"),
    "sweep.refer_days": Meaning("a referral is followed up after", "days"),
    "silence.numerator": Meaning("silence threshold as a share of the review interval: numerator"),
    "silence.denominator": Meaning(
        "silence threshold as a share of the review interval: denominator", least=1
    ),
    "silence.floor_days": Meaning("never sooner than", "days", at_most="silence.cap_days"),
    "silence.cap_days": Meaning("never later than", "days"),
    "screen.shared_days": Meaning(
        "a screen of the other shoulder counts if at most this long before", "days"
    ),
    "stalled.rearm_days": Meaning("a plan-review note silences it for", "days"),
    "ready.waiting_days": Meaning("ready longer than this is printed as waiting", "days"),
    "in_hand.most_days": Meaning("an in-hand date lies at most this far ahead", "days"),
    "in_hand.most_days_today": Meaning(
        "the same for a reason of the first tier", "days", at_most="in_hand.most_days"
    ),
    "in_hand.load_cut_days": Meaning("a contact with load cut puts a flare in hand for", "days"),
    "summary.least_days": Meaning("a period summary covers at least", "days", 1, at_most="summary.most_days"),
    "summary.most_days": Meaning("a period summary covers at most", "days", 1),
    "hold.most_days": Meaning("a hold lasts at most", "days"),
    "reopening.same_episode_days": Meaning("a case reopened within this goes on in its episode", "days"),
    "step.back_within_days": Meaning(
        "a step back of at most this long keeps the minimum days served", "days"
    ),
    "step.override_shortest": Meaning("an override reason has at least this many characters"),
    "mask.analgesic_days": Meaning("a new or stronger analgesic masks pain for", "days"),
    "mask.injection_days": Meaning("an injection masks pain for", "days"),
    "contradiction.active_over_passive": Meaning(
        "active above passive by more than this contradicts", "degrees"
    ),
    "contradiction.rotation_lost": Meaning(
        "internal rotation lost by this while hand behind back improves", "degrees"
    ),
    "contradiction.same_day": Meaning(
        "two values of one day and rater differing by more than this", "degrees"
    ),
    "contradiction.morning_after_zero": Meaning(
        "later 0 and next morning at or above this: check the day", "points"
    ),
    "contradiction.duplicate_minutes": Meaning(
        "identical check-ins recorded this close are questioned", "minutes"
    ),
    "adherence.window_days": Meaning("adherence looks back", "days"),
    "adherence.low_percent": Meaning("adherence below this is printed as few sessions", "per cent"),
    "strength.error_same": Meaning(
        "strength change within error, one rater", "per cent", at_most="strength.error_other"
    ),
    "strength.error_other": Meaning("strength change within error, two raters", "per cent"),
    "dose.deload_percent": Meaning(
        "a deload takes the largest load at home of at most this share", "per cent"
    ),
    "dose.flare_before": Meaning(
        "another flare among this many sessions before it asks for the verdict", least=1
    ),
    "dose.flare_rest_days": Meaning("after a flare at least this many days without exercise", "days"),
    "dose.restart_days": Meaning(
        "a last session this long ago restarts lower", "days", at_most="dose.reassess_days"
    ),
    "dose.reassess_days": Meaning(
        "a last session longer ago than this is looked at again before any dose", "days"
    ),
    "dose.window_days": Meaning("older sessions do not count towards a raise", "days"),
    "dose.reps_run": Meaning("good full sessions in a row before repetitions rise", least=1),
    "dose.reps_step": Meaning("repetitions rise by", least=1),
    "dose.hold_step": Meaning("seconds of isometric work rise by", "seconds"),
    "dose.small_step_percent": Meaning("a next load at most this much heavier is a small step", "per cent"),
    "dose.small_run": Meaning(
        "good full sessions in a row before a small step of load", least=1, at_most="dose.large_run"
    ),
    "dose.large_run": Meaning("good full sessions in a row before a larger step, or a band grade", least=1),
    "dose.load_days": Meaning("a load stays at least this long", "days"),
    "dose.short_run": Meaning("dose not completed this many times running: it may be too long"),
    "dose.blame_days": Meaning("an exercise raised this long before is to blame for pain", "days"),
    "prompt.surgical_opinion_under_age": Meaning(
        "offer a surgical opinion after a first dislocation under", "years"
    ),
    "irritability.high_from": Meaning("worst pain from here on is high", "points"),
    "irritability.moderate_from": Meaning(
        "worst pain from here on is moderate, below it low", "points", at_most="irritability.high_from"
    ),
    "placing.settle_night": Meaning("night pain from here on: settle first", "points"),
    "placing.frozen_night": Meaning("stiff shoulder: night pain from here on is pain-predominant", "points"),
    "placing.frozen_rest": Meaning("stiff shoulder: rest pain from here on is pain-predominant", "points"),
    "placing.plane_loss": Meaning(
        "passive range this far below the other side is a loss in its plane", "degrees"
    ),
    "placing.about_equal": Meaning("active and passive range this close are about equal", "degrees"),
    "trend.least_values": Meaning("dated values needed at least", least=1),
    "trend.window_days": Meaning("older values say nothing of the present pace", "days"),
    "trend.confidence_percent": Meaning("how sure the interval of a pace is", "per cent", least=1, below=100),
    "trend.longest_weeks": Meaning("further ahead than this many weeks is not projected"),
    "stays.least": Meaning("stays that moved on, needed before their median is said", least=1),
    "audit.percent_least": Meaning("a proportion of fewer than this many is given without a per cent"),
    "audit.after_days": Meaning("a flare this long after an override is said to have followed it", "days"),
    "audit.baseline_days": Meaning(
        "a score this long after the first visit is the first of the episode", "days"
    ),
    "placing.exercises": Meaning("exercises proposed to begin with"),
    "privacy.blank_after_seconds": Meaning("the screen blanks itself when idle", "seconds"),
}
