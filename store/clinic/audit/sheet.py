"""An audit in words: tables of short texts, the same for the screen, plain text and a page.

Counts first. A per cent stands behind a count only from a denominator on, and never without one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from armrise.store.clinic.audit.counts import Group, Scores
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Counted, Days, Share
from armrise.store.clinic.audit.stages import Past, StageTime
from armrise.store.record.words import count_days, full_date, words_date

NOTHING = "none"
NO_CASES = "nothing to count"
UNPAIRED = (
    "Change is read from those with both scores alone; whoever lacks one is counted among those entered."
)
ALL_STAYS = (
    "Every stay up to the last day counts, of closed cases too; days on hold are included. A stay that is "
    "still going on, or ended another way, lasted at least so long: it is neither left out nor taken as "
    "finished (Kaplan-Meier)."
)
NOT_KNOWN = "Not known yet: still there, or left another way, before those days."


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a head. ``key`` names it for whoever draws something beside it."""

    key: str
    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()


def period_words(audit: Audit) -> str:
    """ "1 Feb 2026 to 28 Feb 2026", with the day it is known on where that is later."""
    period = audit.period
    said = f"{full_date(period.first)} to {full_date(period.last)}"
    if period.known > period.last:
        said += f", as known on {full_date(period.known)}"
    return said


def share_words(share: Share, least: int) -> str:
    """ "5 of 6", "22 of 35 (63 %)", or that there is nothing to count."""
    if not share.of:
        return NO_CASES
    words, percent = f"{share.count} of {share.of}", share.percent(least)
    if percent is None or share.count in (0, share.of):
        return words
    return f"{words} ({'under 1' if percent == 0 else 'over 99' if percent == 100 else percent} %)"


def tables(audit: Audit, group: Group) -> list[Table]:
    """The tables of one group; the whole clinic has those that only make sense for it as well."""
    whole = not group.code
    made = [_cases(audit, group)]
    if whole:
        made.append(_pathways(audit))
    made += [_stages(audit, group), _scores(audit, group), _safety(audit, group), _visits(audit, group)]
    made += [_decisions(audit, group)]
    if group.overrides:
        made.append(_overrides(audit, group))
    made += [_letters(audit, group), _missing(audit, group), _weeks(audit, group)]
    return [*made, _supervision(audit), _rules(audit)] if whole else made


TWO = ("what", "count")


def _cases(audit: Audit, g: Group) -> Table:
    last = words_date(audit.period.last)
    rows = [
        (f"being treated on {last}", f"{g.active}" + (f", {g.on_hold} of them on hold" if g.on_hold else "")),
        ("new: first visit of an episode in the period", str(g.new)),
        ("reopened", str(g.reopened)),
        ("discharged", str(g.discharged)),
        *((f"discharged, {outcome}", str(number)) for outcome, number in g.discharges),
    ]
    return Table("cases", "Cases", TWO, tuple(rows))


def _pathways(audit: Audit) -> Table:
    least = audit.percent_least
    rows = [
        (
            f"{g.code} {g.name}" if g.code else g.name,
            str(g.active),
            str(g.new),
            str(g.discharged),
            share_words(g.overdue, least),
            share_words(g.top_two, least),
        )
        for g in (*audit.groups[1:], audit.clinic)
    ]
    head = ("pathway", "being treated", "new", "discharged", "review overdue", "today or harm if left")
    return Table("pathways", "By pathway", head, tuple(rows))


# --- time in stage --------------------------------------------------------------------------------------


def median_words(stage: StageTime) -> str:
    """The median, that it was not reached, or that too few moved on to say it."""
    if stage.median is None:
        return "not reached"
    return "too few moved on" if stage.few else count_days(stage.median)


def _stages(audit: Audit, g: Group) -> Table:
    head = ("stage", "stays", "moved on", "of them in the period", "still there", "left otherwise", "median")
    head = (*head, "past usual", "not known yet", "past long", "not known yet")
    rows = [_stage_row(s, audit.percent_least) for s in g.stages]
    return Table("stages", "Time in stage", head, tuple(rows), (ALL_STAYS, NOT_KNOWN) if rows else ())


def _stage_row(s: StageTime, least: int) -> tuple[str, ...]:
    counts = (s.count, s.moved_on, s.moved_in_period, s.still_there, s.left_otherwise)
    limits = f"usual {s.usual.days}, long from {s.stall.days} days" if s.usual and s.stall else s.name
    name = f"{s.stage} {s.name}, {limits}" if s.usual else f"{s.stage}, {s.name}"
    return (name, *map(str, counts), median_words(s), *_past(s.usual, least), *_past(s.stall, least))


def _past(past: Past | None, least: int) -> tuple[str, str]:
    """How many went past, and of how many nobody can know yet: they are not counted as within."""
    return (share_words(past.past, least), str(past.not_known)) if past else ("", "")


# --- outcome scores -------------------------------------------------------------------------------------


def _scores(audit: Audit, g: Group) -> Table:
    least = audit.percent_least
    ended, going = list(_score_rows(g.ended, least)), list(_score_rows(g.going_on, least))
    rows = [(what, at_end, now) for (what, at_end), (_, now) in zip(ended, going, strict=True)]
    head = ("outcome score", "discharged in the period", "being treated")
    owed = f"Outcome score due and not recorded: {share_words(g.score_owed, least)} being treated."
    first = f"{g.ended.entered} discharged, {g.ended.both.count} with both scores."
    return Table("scores", "Outcome scores", head, tuple(rows), (first, UNPAIRED, owed))


def _score_rows(s: Scores, least: int) -> Iterator[tuple[str, str]]:
    yield "entered", str(s.entered)
    yield "first and last score", share_words(s.both, least)
    yield "first score", share_words(s.baseline, least)
    yield "last score", share_words(s.newest, least)
    yield "neither", share_words(s.neither, least)
    yield "both, not comparable", str(s.not_comparable)
    yield "response reached, of those measured", share_words(s.responded, least)
    yield "response reached, of those entered", share_words(s.responded_entered, least)
    yield "better beyond error, of those measured", share_words(s.beyond_error, least)
    yield "better beyond error, of those entered", share_words(s.beyond_error_entered, least)
    yield "worse beyond error, of those measured", share_words(s.worse, least)
    yield "first score too good to respond", str(s.no_room)


# --- the rest -------------------------------------------------------------------------------------------


def _safety(audit: Audit, g: Group) -> Table:
    least, last = audit.percent_least, words_date(audit.period.last)
    screened = share_words(g.screened, least)
    if g.screen_declined:
        screened += f"; an answer declined in {g.screen_declined}"
    broken = f"{g.broken}" + (f", {g.broken_unanswered} not answered by {last}" if g.broken else "")
    rows = (
        ("red-flag screen complete at the first visit, of new cases", screened),
        ("healing limits broken", broken),
        ("cases with a limit broken, of those with healing limits", share_words(g.broken_cases, least)),
    )
    notes = ("The red-flag list is a prompt, not a rule-out.",)
    return Table("safety", "Safety", TWO, rows, notes)


def _visits(audit: Audit, g: Group) -> Table:
    least = audit.percent_least
    worst = g.worst
    words = f"{worst.case} {worst.side}, {count_days(worst.days)} of {worst.interval}" if worst else NOTHING
    rows = (
        (f"review overdue on {words_date(audit.period.last)}", share_words(g.overdue, least)),
        ("worst, against its interval", words),
        ("booked slots", str(sum(n for _, n in g.slots))),
        *((f"slots, {outcome}", str(number)) for outcome, number in g.slots),
        ("missed, of booked slots", share_words(g.missed, least)),
    )
    return Table("visits", "Reviews and visits", TWO, rows)


def _decisions(audit: Audit, g: Group) -> Table:
    least = audit.percent_least
    rows = (
        ("steps back, of all steps", share_words(g.step_backs, least)),
        ("holds begun", _with_parts(g.holds)),
        (f"on hold for over {g.hold_most_days} days in total", share_words(g.held_long, least)),
        ("overrides", _with_parts(g.override_categories)),
        (f"flare within {audit.after_days} days of an override", share_words(g.override_flares, least)),
    )
    return Table("decisions", "Decisions", TWO, rows)


def _with_parts(found: Counted) -> str:
    total = sum(number for _, number in found)
    return f"{total}: " + ", ".join(f"{word} {number}" for word, number in found) if found else "0"


def _overrides(audit: Audit, g: Group) -> Table:
    head = ("override", "against", "category", "reason", f"within {audit.after_days} days")
    rows = [
        (f"{o.case}, {words_date(o.on)}", o.against, o.category, o.reason, o.followed) for o in g.overrides
    ]
    notes = ("Not known: no session with all its scores was told in those days.",)
    return Table("overrides", "Overrides and what followed", head, tuple(rows), notes)


def _letters(audit: Audit, g: Group) -> Table:
    rows = (
        ("letters sent in the period, days from owed to sent", _days(g.letters_sent)),
        (f"letters owed on {words_date(audit.period.last)}, days so far", _days(g.letters_owed)),
        ("referrals on, something came back", share_words(g.referred, audit.percent_least)),
        ("referrals on, nothing came back, days so far", _days(g.referrals_waiting)),
    )
    return Table("letters", "Letters and referrals", TWO, rows)


def _days(found: Days) -> str:
    if found.median is None or found.longest is None:
        return NOTHING
    if found.count == 1:
        return f"1, {count_days(found.longest)}"
    return f"{found.count}, median {found.median:g}, longest {found.longest}"


def _missing(audit: Audit, g: Group) -> Table:
    head = ("value", "due", "recorded", "missing", "declined", "prohibited")
    rows = [
        (
            m.name,
            str(m.due),
            str(m.recorded),
            share_words(Share(m.missing, m.due), audit.percent_least),
            str(m.declined),
            str(m.prohibited),
        )
        for m in g.missing
    ]
    note = (
        "A measure is due at a visit when the stage's exit criteria read it; a video visit cannot measure. "
        "A value carried forward counts as missing."
    )
    return Table("missing", "Missing values", head, tuple(rows), (note,) if rows else ())


def _weeks(audit: Audit, g: Group) -> Table:
    head = ("week ending", "today or harm if left, of those being treated")
    rows = [(full_date(end), share_words(share, audit.percent_least)) for end, share in g.weeks]
    note = "By what is known now: what was told late counts on the day it happened."
    return Table("weeks", "The first two tiers of the list", head, tuple(rows), (note,))


def _supervision(audit: Audit) -> Table:
    rows = [(f"{p.case} {p.side}", p.why) for p in audit.supervision]
    own = audit.own
    notes = (_own_words(audit),) if own is not None else ()
    return Table("supervision", "For supervision, chosen by rule", ("case", "why"), tuple(rows), notes)


def _own_words(audit: Audit) -> str:
    """ "Your overrides: 11, flares after: 2": one's own alone, and what is not known of them."""
    own = audit.own
    assert own is not None
    said = f"Your overrides ({own.author}): {own.overrides}"
    if not own.overrides:
        return f"{said}."
    said += f", flares after: {own.flares}, no flare: {own.no_flare}"
    if own.nothing_told:
        said += f", not known: {own.nothing_told}"
    if own.not_over:
        said += f", {audit.after_days} days not over: {own.not_over}"
    return f"{said}."


def _rules(audit: Audit) -> Table:
    rows = [(v.rules, str(v.count), words_date(v.first), words_date(v.last)) for v in audit.versions]
    head = ("rules at a step or override", "how many", "first", "last")
    return Table("rules", "Rule versions of the period", head, tuple(rows), rule_notes(audit))


def rule_notes(audit: Audit) -> tuple[str, ...]:
    """Whether like is compared with like: the version counted with, and those decided under."""
    notes = [f"Counted with rules version {audit.rule_version}, {audit.signed_off}."]
    if not audit.versions:
        notes.append("No step or override of the period says which version it was taken under.")
    others = [v for v in audit.versions if v.rules.split(" ")[0] != audit.rule_version]
    if others or len({v.rules for v in audit.versions}) > 1:
        notes.append("Verdicts of the period rest on differing rules: unlike may be compared with unlike.")
    return tuple(notes)
