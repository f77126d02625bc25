"""A trial run of changed rules in words: totals with their denominators, then each case and its days."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from armrise.store.clinic.audit.trial import CaseTrial, Difference, Said, Trial, per_hundred, runs
from armrise.store.clinic.standing.rows import plain
from armrise.store.exchange.out.plain_text import wrapped
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date
from armrise.store.rules.pathway import Rules

WHAT_COUNTS = (
    "Counted are days on which a case was on the list under either version, each read with what was known at "
    "the end of that day. An alarm is a reason of the tiers today and harm if left that begins. Severity and "
    "days open are not compared."
)


class Part(NamedTuple):
    """A head and its lines, each a row that may be wrapped."""

    head: str
    lines: tuple[str, ...]


def parts(trial: Trial) -> Iterator[Part]:
    """The whole report, totals first."""
    yield Part("Trial run of changed rules", tuple(_versions(trial)))
    yield Part("In all", tuple(_totals(trial)))
    if reasons := trial.reasons():
        rows = [(name, str(gained), str(lost)) for name, (gained, lost) in reasons.items()]
        yield Part("Reasons, in case-days", tuple(table([("reason", "gained", "lost"), *rows])))
    if trial.verdicts:
        yield Part("Verdicts, in case-days", tuple(table([("old", "new", "days"), *_verdicts(trial)])))
    for case in trial.differing:
        days = _counted(len(case.differences), "day", "days")
        yield Part(f"{case.code}: {days} of {case.days} read differently", tuple(_case(case)))
    yield Part("What is counted", (WHAT_COUNTS,))


def named(rules: Rules) -> str:
    """ "version 2, NOT SIGNED OFF"."""
    return f"version {rules.version}, {rules.sign_off}"


def _versions(trial: Trial) -> Iterator[str]:
    alike = trial.old.version == trial.new.version
    for word, rules in (("old", trial.old), ("new", trial.new)):
        yield f"{word}: {named(rules)}" + (f", {rules.origin}" if alike and rules.origin else "")
    start = f"from {full_date(trial.since)}" if trial.since else "from each registration"
    yield f"{start} to {full_date(trial.until)}"
    if trial.partial:
        yield f"PARTIAL: stopped after {len(trial.cases)} of {_counted(trial.planned, 'case', 'cases')}"


def _totals(trial: Trial) -> Iterator[str]:
    yield f"{_counted(trial.days, 'case-day', 'case-days')} of {_counted(len(trial.cases), 'case', 'cases')}"
    if not trial.differences:
        yield "no day of any case would have read differently"
    else:
        yield (
            f"{_counted(len(trial.differences), 'case-day', 'case-days')} would have read differently, on "
            f"{_counted(trial.dates, 'date', 'dates')}, in {_counted(len(trial.differing), 'case', 'cases')}"
        )
    old, new = trial.alarms
    yield f"alarms that began: old {old}, new {new}"
    hundred = (per_hundred(old, trial.days), per_hundred(new, trial.days))
    yield f"alarms for each 100 case-days: old {hundred[0]}, new {hundred[1]}"


def _counted(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"


def _verdicts(trial: Trial) -> Iterator[tuple[str, str, str]]:
    """Verdict by verdict, what changed first."""
    pairs = sorted(trial.verdicts.items(), key=lambda item: (item[0][0] == item[0][1], -item[1], item[0]))
    for (old, new), days in pairs:
        yield _word(old), "the same" if old == new else _word(new), str(days)


def _word(verdict: str) -> str:
    return "no verdict" if verdict == "NONE" else verdict


def table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Rows as columns of equal width; a column of numbers stands to the right."""
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    numbers = [all(row[at].isdigit() for row in rows[1:]) for at in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.rjust(width) if number else cell.ljust(width)
            for cell, width, number in zip(row, widths, numbers, strict=True)
        ]
        yield "   ".join(cells).rstrip()


def _case(case: CaseTrial) -> Iterator[str]:
    for first, last in runs(case.differences):
        days = (last.on - first.on).days + 1
        until = "" if days == 1 else f" to {full_date(last.on)}, {days} days"
        yield f"{full_date(first.on)}{until}: {'; '.join(changes(first))}"


def changes(difference: Difference) -> list[str]:
    """ "gained: ready to step forward", "verdict NOT YET -> READY", "tier none -> move on"."""
    old, new = difference.old, difference.new
    told = {
        "gained": difference.gained,
        "lost": difference.lost,
        "in hand under the new": _only(new, old),
        "no longer in hand": _only(old, new),
    }
    found = [f"{word}: {', '.join(names)}" for word, names in told.items() if names]
    if old.verdict != new.verdict:
        found.append(f"verdict {_word(old.verdict)} -> {_word(new.verdict)}")
    if old.tier != new.tier:
        found.append(f"tier {old.tier} -> {new.tier}")
    return found or ["the rank or tier of a reason"]


def _only(one: Said, other: Said) -> list[str]:
    """Reasons in hand in one reading that are live and unanswered in the other."""
    return [name for name in one.in_hand if name in other.reasons and name not in other.in_hand]


def as_text(trial: Trial) -> str:
    """The report as plain text of at most 80 columns."""
    lines: list[str] = []
    for part in parts(trial):
        lines += ["", part.head] if lines else [part.head]
        for line in part.lines:
            lines += [f"  {line}"] if len(line) < 78 else wrapped(line, "  ", "    ")
    return "\n".join(lines) + "\n"


def as_json(trial: Trial) -> dict[str, Any]:
    """The report as plain data: every case-day that reads differently."""
    old, new = trial.alarms
    return plain(
        {
            "old": {"version": trial.old.version, "signed_off": trial.old.sign_off},
            "new": {"version": trial.new.version, "signed_off": trial.new.sign_off},
            "from": trial.since,
            "to": trial.until,
            "partial": trial.partial,
            "cases": len(trial.cases),
            "cases_planned": trial.planned,
            "case_days": trial.days,
            "case_days_that_differ": len(trial.differences),
            "dates_that_differ": trial.dates,
            "cases_that_differ": len(trial.differing),
            "alarms": {"old": old, "new": new},
            "reasons": [
                {"name": name, "gained": gained, "lost": lost}
                for name, (gained, lost) in trial.reasons().items()
            ],
            "verdicts": [
                {"old": before, "new": after, "days": days}
                for (before, after), days in sorted(trial.verdicts.items())
            ],
            "differences": [_row(case.code, one) for case in trial.differing for one in case.differences],
        }
    )


def _row(code: str, difference: Difference) -> dict[str, Any]:
    return {
        "code": code,
        "on": difference.on,
        "gained": list(difference.gained),
        "lost": list(difference.lost),
        "old": _said(difference.old),
        "new": _said(difference.new),
    }


def _said(one: Said) -> dict[str, Any]:
    return {
        "verdict": one.verdict,
        "tier": one.tier,
        "reasons": list(one.reasons),
        "in_hand": list(one.in_hand),
    }
