"""Every figure the rules ask for outside the pathways: what it means, its unit and what it may be.

A rule file that lacks one is refused. A new one is a line here and its number, with source and status, in
``rules.toml``.
"""

from __future__ import annotations

from armrise.store.record.light import NamedTuple
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
    "response.flare_over_during": Meaning(
        "during pain this far above the limit, or above what is usual, is a flare", "points"
    ),
    "response.flare_over_later": Meaning(
        "later pain this far above the limit, or above what is usual, is a flare", "points"
    ),
    "response.flare_morning": Meaning(
        "with a raised morning, a next morning at or above this is a flare", "points"
    ),
    "response.complete_percent": Meaning(
        "share of prescribed sets that makes a session complete", "per cent"
    ),
    "response.run_gap_days": Meaning("a longer gap to the next older session that counts ends a run", "days"),
    "response.run_window_days": Meaning("older sessions do not count in a run", "days"),
    "response.recall_days": Meaning("a morning recalled later than this does not qualify", "days"),
    "response.during_top": Meaning(
        "during pain from here on, and so far above the limit, is a flare", "points"
    ),
    "response.during_top_over": Meaning("how far above the limit during pain that high has to lie", "points"),
    "response.flare_over_later_healing": Meaning(
        "later pain this far above the limit is a flare where tissue heals", "points"
    ),
    "response.run_slips": Meaning("slips that a run of good sessions may hold"),
    "response.run_slips_healing": Meaning("the same where tissue heals", at_most="response.run_slips"),
    "response.slip_over": Meaning("pain this far above the limit is a slip, more ends the run", "points"),
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
    "flare.waking_more": Meaning("more nights woken than before", "nights a week"),
    "flare.waking_values": Meaning("values before it, the highest of which is compared with", least=1),
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
    "drift.half_fresh_days": Meaning("half of the other side counts when measured within", "days"),
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
    "silence.no_diary_extra": Meaning("without a diary not before the review interval and", "days"),
    "silence.diary_days": Meaning("a session or morning between visits within this is a diary", "days"),
    "screen.shared_days": Meaning(
        "a screen of the other shoulder counts if at most this long before", "days"
    ),
    "screen.question_days": Meaning(
        "a full screen, or the one question, is fresh for", "days", at_most="screen.full_days"
    ),
    "screen.full_days": Meaning("with the question asked, a full screen lasts", "days"),
    "screen.ask_after": Meaning("the question is due this long after the last fresh day", "days"),
    "screen.within_days": Meaning("a full screen is answered, and what is new is named, within", "days"),
    "stalled.rearm_days": Meaning("a plan-review note silences it for", "days"),
    "ready.waiting_days": Meaning("ready longer than this is printed as waiting", "days"),
    "ready.protected_overdue": Meaning(
        "protected stage: a review this overdue is to be seen before stepping", "days", least=1
    ),
    "ready.event_days": Meaning(
        "after a further dislocation or slip whether healing counts anew is asked for", "days"
    ),
    "ready.clock_decision_shortest": Meaning(
        "a decision about the healing clock has at least this many characters", least=1
    ),
    "in_hand.most_days": Meaning("an in-hand date lies at most this far ahead", "days"),
    "in_hand.most_days_today": Meaning(
        "the same for a reason of the first tier", "days", at_most="in_hand.most_days"
    ),
    "in_hand.load_cut_days": Meaning("a contact with load cut puts a flare in hand for", "days"),
    "hold.most_days": Meaning("a hold lasts at most", "days"),
    "reopening.same_episode_days": Meaning("a case reopened within this goes on in its episode", "days"),
    "step.back_within_days": Meaning(
        "a step back of at most this long keeps the minimum days served", "days"
    ),
    "step.override_shortest": Meaning("an override reason has at least this many characters"),
    "step.gated_least": Meaning("where healing days count, at least this long in the stage itself", "days"),
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
    "adherence.low_percent": Meaning("seldom done: below this in each of those weeks, counted", "per cent"),
    "adherence.few_percent": Meaning("adherence below this is printed as few sessions", "per cent"),
    "adherence.low_told": Meaning("seldom done: below this in a period as told", "per cent"),
    "adherence.weeks": Meaning("seldom done: weeks running", "weeks", least=1),
    "adherence.sessions_least": Meaning("sessions in each of them at least"),
    "adherence.told_days": Meaning("a percentage told counts for", "days"),
    "adherence.summary_days": Meaning("a period as told counts for", "days"),
    "adherence.summary_least": Meaning(
        "a period as told is long enough from", "days", at_most="summary.most_days"
    ),
    "adherence.answer_days": Meaning("a decision about it silences it for", "days"),
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
    "dose.sets_run": Meaning("good full sessions in a row before sets rise", least=1),
    "dose.done_run": Meaning("full sessions done alike whose dose is taken as the present one", least=1),
    "dose.arc_percent": Meaning("a smaller arc is this share of the last", "per cent"),
    "dose.arc_step": Meaning("an arc is rounded down to", "degrees", least=1),
    "dose.arc_least": Meaning("an arc is never smaller than", "degrees"),
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
    "usual.window_days": Meaning("days read back for usual pain", "days"),
    "usual.take": Meaning("values taken at most", least=1),
    "usual.least": Meaning("values needed at least", least=1, at_most="usual.take"),
    "usual.all_least": Meaning(
        "values needed at least where dates of a flare count too", least=1, at_most="usual.take"
    ),
    "usual.most": Meaning("usual pain raises a limit at most to this", "points"),
    "usual.healing_most": Meaning("where tissue heals, at most this far above the limit", "points"),
    "over.of": Meaning("sessions over the limit", least=1, at_most="over.among"),
    "over.among": Meaning("newest sessions looked at", least=1),
    "over.within_days": Meaning("and dated within", "days"),
    "over.answer_days": Meaning("an entry about it silences it for", "days"),
    "span.window_days": Meaning("good sessions and summaries within this make the span", "days"),
    "span.good_least": Meaning("good sessions needed where the stage asks for none", least=1),
    "visit.settle_days": Meaning("after surgery, fracture or dislocation values count from", "days"),
    "visit.once_rise": Meaning(
        "rest, night or usual morning pain this far above the best counts at once",
        "points",
        at_most="visit.once_alone",
    ),
    "visit.once_alone": Meaning("and alone when this far above the best", "points"),
    "visit.once_before": Meaning(
        "or beside another value after the best that lay this far above it", "points"
    ),
    "visit.rise": Meaning(
        "rest, night or usual morning pain this far above the best counts when confirmed",
        "points",
        at_most="visit.once_rise",
    ),
    "visit.confirm_days": Meaning("confirmed by a value at least this long before", "days"),
    "visit.worst_rise": Meaning("worst pain this far above the best counts when confirmed", "points"),
    "visit.waking_rise": Meaning("nights woken this far above the lowest", "nights a week"),
    "visit.waking_before": Meaning(
        "and the value before this far above it", "nights a week", at_most="visit.waking_rise"
    ),
    "visit.high_rest": Meaning("rest pain from here on, with night pain as high, counts by itself", "points"),
    "visit.high_night": Meaning(
        "night pain from here on, with rest pain as high, counts by itself", "points"
    ),
    "visit.back_within": Meaning("back within this of the best it ends", "points", at_most="visit.rise"),
    "function.passive_days": Meaning("passive flexion this near to the active value is its partner", "days"),
    "function.lift_loss": Meaning(
        "active lift lost against the best, same rater", "degrees", at_most="function.lift_loss_other"
    ),
    "function.lift_loss_other": Meaning(
        "active lift lost against the best, different or unknown rater", "degrees"
    ),
    "function.passive_kept": Meaning(
        "passive range is kept when less than this below its own best", "degrees"
    ),
    "function.gap_large": Meaning("or when it lies this far above the active value", "degrees"),
    "function.lift_least": Meaning("active flexion below this is no lift", "degrees"),
    "function.gap": Meaning(
        "when passive flexion lies this far above it", "degrees", at_most="function.gap_large"
    ),
    "function.other_least": Meaning(
        "or, passive not measured, the other side lifts at least this", "degrees"
    ),
    "function.strength_loss": Meaning(
        "strength lost against the best, same rater", "per cent", at_most="function.strength_loss_other"
    ),
    "function.strength_loss_other": Meaning(
        "strength lost against the best, different or unknown rater", "per cent"
    ),
    "function.strength_least": Meaning("and by at least this", "kg"),
    "function.strength_grades": Meaning("muscle grades lost against the best", "grades of 0 to 5", least=1),
    "function.limited_days": Meaning(
        "a value limited by pain counts when one this long before was so too", "days"
    ),
    "function.injury_days": Meaning("after an injury this long before it is urgent", "days"),
    "function.look_severity": Meaning(
        "a look to take again is a finding to act on as severe as this", least=1
    ),
    "function.back": Meaning(
        "lift back within this of the best ends it; lost again by this it speaks again", "degrees"
    ),
    "function.back_percent": Meaning("the same for strength", "per cent"),
    "other.flexion": Meaning("flexion of the other side below this", "degrees"),
    "other.abduction": Meaning("abduction of the other side below this", "degrees"),
    "other.flexion_old": Meaning("flexion below this in the old", "degrees", at_most="other.flexion"),
    "other.abduction_old": Meaning("abduction below this in the old", "degrees", at_most="other.abduction"),
    "other.rotation": Meaning("passive rotation below this", "degrees"),
    "other.rotation_old": Meaning(
        "passive rotation below this in the old", "degrees", at_most="other.rotation"
    ),
    "other.old_from": Meaning("old is an age band from", "years"),
    "other.strength": Meaning("strength of the other side below this", "kg"),
    "other.over": Meaning("the affected side above the other by more than this", "per cent"),
    "summary.least_days": Meaning(
        "a period is at least this long", "days", least=1, at_most="summary.most_days"
    ),
    "summary.most_days": Meaning("a period is at most this long", "days"),
    "summary.flare_mornings": Meaning("mornings worse than usual that are a flare", "mornings", least=1),
    "summary.mornings": Meaning(
        "mornings worse than usual that are good still", "mornings", at_most="summary.flare_mornings"
    ),
    "summary.worst_over": Meaning("the worst of weeks may lie this far above the limit", "points"),
    "summary.least_done": Meaning("days done at least for a good period", least=1),
    "summary.days_percent": Meaning("and at least this share of the days asked", "per cent"),
    "summary.counts_as": Meaning("good sessions a good period counts as", at_most="summary.long_counts_as"),
    "summary.two_count_as": Meaning("good sessions two good periods count as"),
    "summary.apart_least": Meaning(
        "two periods end at least this far apart", "days", at_most="summary.window_days"
    ),
    "summary.long_days": Meaning(
        "a long period, outside healing tissue", "days", at_most="summary.most_days"
    ),
    "summary.long_counts_as": Meaning("good sessions a long good period counts as"),
    "summary.window_days": Meaning("an older period counts up to", "days"),
    "summary.in_force_days": Meaning("an exercise in force this long was done in the period", "days"),
    "summary.stage_days": Meaning("days of the period that lie in the present stage at least", "days"),
    "summary.recorded_most": Meaning(
        "with this many sessions recorded in the period it adds nothing good", least=1
    ),
    "summary.cut_days": Meaning("a flare as told ends after load was cut and nothing newer came for", "days"),
    "range.intervals": Meaning("review intervals without a value of passive range", least=1),
    "message.after_days": Meaning("a message is owed an answer after", "days", at_most="message.urgent_days"),
    "message.urgent_days": Meaning("and urgently after", "days"),
    "message.in_hand_days": Meaning(
        "an urgent message is in hand at most for", "days", at_most="in_hand.most_days"
    ),
    "ladder.days": Meaning("dates running on which an exercise was easy", least=1),
    "ladder.during": Meaning("easy is pain during it of at most", "points"),
    "ladder.apart_days": Meaning("those dates are at most this far apart", "days"),
    "strip.most_days": Meaning("days of one line at most", "days", least=1),
    "privacy.blank_after_seconds": Meaning("the screen blanks itself when idle", "seconds"),
}
