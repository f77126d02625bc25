"""Why a case stood where it stood at an earlier instant, in words; and what is known of it since."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from armrise.store.record.light import NamedTuple
from armrise.tui.earlier.instants import Then, words_then

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.clinic.standing.placed import Later, Place, Since
    from armrise.store.database.place import Store
    from armrise.store.record.kinds.head import Names
    from armrise.store.rules.pathway import Rules


class Why(NamedTuple):
    """One case at an instant: when in words, its place (None: not on the list), and what came later."""

    when: str
    rules: str
    standing: Standing
    place: Place | None
    since: Since | None
    """None when everything that is known now was known."""
    names: Names


class Section(NamedTuple):
    """A head and its sentences."""

    head: str
    lines: tuple[str, ...]


def look(store: Store, rules: Rules, code: str, then: Then) -> Why:
    """Read a case and the list around it as known then. Raises a store error in one sentence."""
    from armrise.store.caseload import read as caseload
    from armrise.store.clinic.standing.placed import known_since, place_of
    from armrise.store.clinic.standing.stand import stand
    from armrise.store.database.place import StoreError
    from armrise.store.exchange.out.listing import on_list
    from armrise.tui.words.standing import day, rules_words

    was = caseload.case(store, code, known_at=then.known_at)
    if was.registered_on > then.today:
        raise StoreError(f"{code} was registered on {day(was.registered_on)}: choose a day from then on")
    listed = on_list(caseload.standings(store, rules, then.today, then.known_at))
    now = caseload.case(store.as_known(None), code)
    since = None if then.known_at is None else known_since(was, now, rules, then.today)
    place = place_of(listed, code)
    standing = place.standing if place else stand(was, rules, then.today)
    return Why(
        words_then(store, then), rules_words(rules.version, rules.sign_off), standing, place, since, rules
    )


def sections(why: Why) -> Iterator[Section]:
    """The whole answer, the place first."""
    s = why.standing
    yield Section(f"{s.code} {s.side}, as known {why.when}", (_place(why), why.rules))
    if why.place:
        yield Section("Why there", why.place.sentences or ("It was the only case of the list.",))
    yield Section("Reasons then", tuple(_reasons(s)) or ("No live reason.",))
    yield Section("Verdict then", (_verdict(s),))
    yield Section("Known since", tuple(_since(why)))


def _place(why: Why) -> str:
    if why.place is None:
        return f"It was not on the list: {why.standing.status}, and nothing was asked."
    tier = why.place.standing.tier
    return f"It stood {why.place.words}, " + ("with nothing asked." if tier == "none" else f"under {tier}.")


def _reasons(standing: Standing) -> Iterator[str]:
    from armrise.tui.words.standing import reason_line

    for reason in standing.reasons:
        yield f"{reason_line(reason, standing.as_of)} (tier {reason.tier})"


def _verdict(standing: Standing) -> str:
    from armrise.store.clinic.case.standing import Word

    decided = standing.verdict
    if decided.word is Word.NONE:
        return f"No verdict: {decided.line or standing.status}."
    return f"{decided.word}: {decided.line}" if decided.line else str(decided.word)


def _since(why: Why) -> Iterator[str]:
    if why.since is None:
        yield "This is what is known now: nothing was left out."
        return
    if not why.since.later:
        yield "Nothing about days up to then was recorded or withdrawn later."
        return
    for later in why.since.later:
        yield _later(later, why.names)
    if why.since.changes:
        yield f"Had all of it been known: {'; '.join(why.since.changes)}."
    else:
        yield "Had all of it been known, the case would have read the same."


def _later(later: Later, names: Names) -> str:
    from armrise.store.record.phrase import phrase
    from armrise.tui.words.standing import day, plural

    entry = later.entry
    days = (entry.recorded_on - entry.on).days
    told = f"recorded {plural(days, 'day')} later" if days else "recorded later that day"
    said = f"{day(entry.on)}, {'withdrawn since' if later.withdrawn else told}: {phrase(entry, names)}"
    end = "" if said.endswith((".", "?", "!")) else "."
    return f"{said}{end} Alone: {'; '.join(later.changes) if later.changes else 'changes nothing'}."


def as_text(why: Why) -> str:
    """The answer as plain text of at most 80 columns."""
    from armrise.store.exchange.out.plain_text import wrapped

    lines: list[str] = []
    for section in sections(why):
        lines += ["", section.head] if lines else [section.head]
        for line in section.lines:
            lines += wrapped(line, "  ", "    ")
    return "\n".join(lines) + "\n"


def as_json(why: Why) -> dict[str, Any]:
    """The answer as plain data."""
    from armrise.store.clinic.standing.rows import plain, reason_row
    from armrise.store.record.phrase import dated

    s, place, since = why.standing, why.place, why.since
    return plain(
        {
            "code": s.code,
            "as_of": s.as_of,
            "as_known": why.when,
            "rule_version": s.verdict.rule_version,
            "place": place.number if place else None,
            "of": place.of if place else None,
            "tier": s.tier,
            "why_there": list(place.sentences) if place else [],
            "reasons": [reason_row(reason) for reason in s.reasons],
            "verdict": s.verdict.word.value,
            "verdict_line": s.verdict.line,
            "known_since": [
                {
                    "entry": later.entry.id,
                    "on": later.entry.on,
                    "recorded_on": later.entry.recorded_on,
                    "withdrawn": later.withdrawn,
                    "says": dated(later.entry, why.names),
                    "changes": list(later.changes),
                }
                for later in (since.later if since else ())
            ],
            "had_it_been_known": list(since.changes) if since else [],
        }
    )
