"""An audit in words: tables of short texts, the same for the screen, plain text and a page.

Counts first. A per cent stands behind a count only from a denominator on, and never without one.
"""

from __future__ import annotations

from collections.abc import Iterator

from armrise.store.clinic.audit.counts import Group, Line, Overdue, Scores, lines
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Counted, Days, Share
from armrise.store.clinic.audit.stages import Past, StageTime
from armrise.store.record.light import dataclass
from armrise.store.record.words import PROMPT, count_days, full_date, words_date

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
FEW = "too few"
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

    def two(key: str, title: str, *notes: str) -> Table:
        return Table(key, title, ("what", "count"), _lined(audit, group, key), notes)

    made = [two("cases", "Cases")]
    if whole:
        made.append(_pathways(audit))
    made += [_stages(audit, group), _scores(audit, group)]
    made += [two("safety", "Safety", PROMPT), two("visits", "Reviews and visits")]
    made.append(two("decisions", "Decisions"))
    if group.overrides:
        made.append(_overrides(audit, group))
    made += [two("letters", "Letters and referrals"), _missing(audit, group), _weeks(audit, group)]
    return [*made, _supervision(audit), _rules(audit)] if whole else made


def _lined(audit: Audit, g: Group, section: str) -> tuple[tuple[str, ...], ...]:
    """The rows of a section, in the order its lines are declared."""
    found = sorted(lines(type(g)).items(), key=lambda named: named[1].late)
    return tuple(
        row for name, one in found if one.section == section for row in _rows_of(audit, g, name, one)
    )


def _rows_of(audit: Audit, g: Group, name: str, one: Line) -> Iterator[tuple[str, str]]:
    value, last = getattr(g, name), words_date(audit.period.last)
    if one.label:
        label = one.label.format(last=last, most=g.hold_most_days, after=audit.after_days)
        number = sum(n for _, n in value) if one.each else value
        yield label, _number_words(number, audit.percent_least) + one.more(g, last)
    if one.each:
        for word, number in value:
            yield one.each.format(word=word), str(number)


def _number_words(value: int | Share | Days | Overdue | Counted | None, least: int) -> str:
    match value:
        case Share():
            return share_words(value, least)
        case Days():
            return _days(value)
        case Overdue():
            return f"{value.case} {value.side}, {count_days(value.days)} of {value.interval}"
        case tuple():
            return _with_parts(value)
        case None:
            return NOTHING
        case _:
            return str(value)


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
    return f"{FEW} moved on" if stage.few else count_days(stage.median)


def _stages(audit: Audit, g: Group) -> Table:
    head = ("stage", "stays", "moved on", "of them in the period", "still there", "left other way", "median")
    head = (*head, "past usual", "not known yet", "past long", "not known yet")
    rows = [_stage_row(s, audit.percent_least) for s in g.stages]
    return Table("stages", "Time in stage", head, tuple(rows), (ALL_STAYS, NOT_KNOWN) if rows else ())


def _stage_row(s: StageTime, least: int) -> tuple[str, ...]:
    counts = (s.count, s.moved_on, s.moved_in_period, s.still_there, s.left_otherwise)
    limits = f"usual {s.usual.days}, long from {s.stall.days} days" if s.usual and s.stall else s.name
    name = f"{s.stage} {s.name}, {limits}" if s.usual else f"{s.stage}, {s.name}"
    median = FEW if s.few and s.median is not None else median_words(s)
    return (name, *map(str, counts), median, *_past(s.usual, least), *_past(s.stall, least))


def _past(past: Past | None, least: int) -> tuple[str, str]:
    """How many went past, and of how many nobody can know yet: they are not counted as within."""
    return (share_words(past.past, least), str(past.not_known)) if past else ("", "")


# --- outcome scores -------------------------------------------------------------------------------------


def _scores(audit: Audit, g: Group) -> Table:
    least = audit.percent_least
    rows = [
        (one.label, *(_number_words(getattr(scores, name), least) for scores in (g.ended, g.going_on)))
        for name, one in lines(Scores).items()
    ]
    head = ("outcome score", "discharged in the period", "being treated")
    owed = f"Outcome score due and not recorded: {share_words(g.score_owed, least)} being treated."
    first = f"{g.ended.entered} discharged, {g.ended.both.count} with both scores."
    return Table("scores", "Outcome scores", head, tuple(rows), (first, UNPAIRED, owed))


# --- the rest -------------------------------------------------------------------------------------------


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
    if audit.store_head:
        notes.append(f"Head of the store's chain: {audit.store_head}.")
    return tuple(notes)
