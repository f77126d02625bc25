"""Reads the rule files (``pathways``) and refuses, in one sentence, any that do not hold together.

A rule file is edited by clinicians, and a number nobody checked would steer care: nothing is guessed, no key
is ignored, and the files are taken all together or not at all. The head of ``rules.toml`` describes the
syntax. Hardly any library is imported here, because the list waits for this at every start.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from armrise.store.record.bounded import read_bounded
from armrise.store.record.kinds.measured import FINDINGS, INSTRUMENTS, MEASURES
from armrise.store.rules.declared import Around
from armrise.store.rules.do import what_to_do
from armrise.store.rules.exercise import CATALOGUE, class_order, exercises, ladders, mobility_classes
from armrise.store.rules.figure import Figure
from armrise.store.rules.figures import FIGURES
from armrise.store.rules.folder.parsed import refusal, tables
from armrise.store.rules.folder.place import COMMON, LARGEST, SHIPPED, earlier_versions
from armrise.store.rules.folder.signature import NAME_LONGEST, of_folder, read_files
from armrise.store.rules.pathway import Pathway, Rank, Rules
from armrise.store.rules.read_form import constant_points, instrument, measure
from armrise.store.rules.read_pathway import pathway
from armrise.store.rules.red_flag import leads, message_words, screen_items
from armrise.store.rules.table import Faults, RuleFileError, Table, shown
from armrise.store.rules.tiers import TIERS
from armrise.store.rules.trigger import contradictions, triggers
from armrise.store.rules.words.read import english

__all__ = ["COMMON", "FIRST_RANKS", "SHIPPED", "RuleFileError", "codes", "faults", "load"]

BY_HAND = "signed without armrise rules sign"
CHANGED = "changed since signed"
COMPLETED = "completed from the shipped rules"
"""Why a signature does not count."""
FIRST_RANKS = {"RED": 1, "INJ": 2, "LIM": 3}
"""Reasons whose rank and tier no rule file may change: harm that cannot be undone tomorrow."""

NEVER, MADE_FROM, FIRST = "never", "made_from", "1"
HIGHEST_RANK = 99
"""Ranks leave room between them: their order counts, and no two are alike."""


def load(folder: Path | None = None) -> Rules:
    """All rules of ``folder`` (by default the ones shipped with the program), checked.

    Raises :class:`RuleFileError`, whose text is one sentence naming the file, the stage and the field.
    """
    return _load(folder or SHIPPED, Faults())


def faults(folder: Path | None = None) -> tuple[str, ...]:
    """Everything that is wrong with the rules of ``folder``, one sentence each; nothing when they hold."""
    kept = Faults(keep=True)
    with suppress(RuleFileError):  # what stopped the reading is among the faults
        _load(folder or SHIPPED, kept)
    return tuple(kept.found)


def _load(folder: Path, said: Faults) -> Rules:
    texts, completed = _completed(folder)
    common = _open(folder, COMMON, said, texts)
    version = common.words("version", 20)
    _check_made_from(common)
    signed_by, signed_on, doubt = _sign_off(common, folder)
    codes = _pathway_codes(common, folder)
    figures = _figures(common.table("figures"))
    measures = {key: measure(key, part) for key, part in _each(common, "measures", MEASURES)}
    instruments = {key: instrument(key, part) for key, part in _each(common, "instruments", INSTRUMENTS)}
    first = leads(common)
    around = Around({"leads": [lead.name for lead in first], "stages": ()})
    stale, lasts = _finding_stale(common.table("finding_stale"))
    catalogue = _open(folder, CATALOGUE, said, texts)
    rules = Rules(
        version=version,
        signed_by=signed_by,
        signed_on=signed_on,
        doubt=COMPLETED if completed else doubt,
        completed=completed,
        figures=figures,
        measures=measures,
        instruments=instruments,
        ranks=(reasons := _ranks(common.table("ranks"))),
        do=what_to_do(common, tuple(reasons)),
        leads=first,
        screen_items=screen_items(common, around),
        message_words=message_words(common.table("message_words")),
        triggers=triggers(common, around),
        contradictions=contradictions(common),
        finding_stale_days=stale,
        finding_lasts=lasts,
        exercises=(named := exercises(catalogue, codes)),
        class_order=class_order(catalogue),
        mobility_classes=mobility_classes(catalogue),
        ladders=ladders(catalogue, named),
        constant=constant_points(common.table("constant")),
        words=english(),
    )
    common.done()
    catalogue.done()
    opened = ((code, _open(folder, f"{code}.toml", said, texts)) for code in codes)
    found = common.gather(opened, lambda named: pathway(named[1], named[0], rules))
    if not any(one.placing for one in found):
        found = [_placed_as_shipped(one) for one in found]
    rules.pathways.update({one.code: one for one in found})
    return rules


def _placed_as_shipped(found: Pathway) -> Pathway:
    """A pathway of a folder written before files could say ``placing``: as the shipped one of its code."""
    shipped = SHIPPED / f"{found.code}.toml"
    if found.clock or not shipped.exists():
        return found
    return replace(found, placing=_read(shipped).get("placing"))


@cache
def _shipped() -> tuple[str, tuple[str, ...]]:
    """The version of the rules that came with the program, and the inside codes of their reasons."""
    path = SHIPPED / COMMON
    common = tables(path, read_bounded(path, LARGEST))
    return common["version"], tuple(common["ranks"])


def shipped_version() -> str:
    """The version of the rules that came with the program."""
    return _shipped()[0]


def _head(folder: Path) -> dict[str, Any]:
    """What ``rules.toml`` states before its first table."""
    import tomllib

    text = read_bounded(folder / COMMON, LARGEST).decode("utf-8-sig")
    return tomllib.loads(text[: text.index("\n[")])


def made_from(folder: Path) -> str:
    """The shipped version that the rules of a folder were made from; the first where they do not say."""
    try:
        said = _head(folder).get(MADE_FROM, FIRST)
    except (OSError, ValueError):  # what is wrong with the file is said where it is read
        return shipped_version()
    return said if isinstance(said, str) else shipped_version()


def _check_made_from(common: Table) -> None:
    if not common.has(MADE_FROM):
        return
    common.choice(MADE_FROM, (*earlier_versions(), shipped_version()))


def _completed(folder: Path) -> tuple[Mapping[str, str], tuple[str, ...]]:
    """The files of an older folder with the parts it lacks, and which those are; nothing for any other."""
    if folder == SHIPPED or (base := made_from(folder)) == shipped_version():
        return {}, ()
    from armrise.store.rules.upgrade.merge import completed

    own = read_files(folder)
    if base not in earlier_versions() or not all(_is_toml(text) for text in own.values()):
        return {}, ()
    made = completed(own, read_files(SHIPPED), base)
    return made.files, made.added


def _is_toml(text: str) -> bool:
    import tomllib

    try:
        return bool(tomllib.loads(text))
    except (ValueError, RecursionError):
        return False


def _open(folder: Path, name: str, said: Faults, texts: Mapping[str, str]) -> Table:
    """The table of a file; an empty one that says nothing more where the file cannot be read."""
    if name in texts:
        import tomllib

        return Table(tomllib.loads(texts[name], parse_float=Decimal), name, faults=said)
    try:
        return Table(_read(folder / name), name, faults=said)
    except RuleFileError as fault:
        said.say(str(fault))
        return Table({}, name, faults=said, silent=True)


def _read(path: Path) -> dict[str, Any]:
    try:
        return tables(path, read_bounded(path, LARGEST))
    except FileNotFoundError:
        fault = f"is missing from {path.parent}; put back the rule file that came with armrise"
    except OSError as error:
        fault = f"cannot be read ({error.strerror or 'unknown error'})"
    except UnicodeDecodeError as error:
        fault = f"is not UTF-8 text (byte {error.start + 1}); save it as UTF-8"
    except (ValueError, ArithmeticError, RecursionError) as error:
        fault = f"is not valid TOML ({refusal(error)})"
    raise RuleFileError(f"{path.name}: {fault}.")


def _sign_off(common: Table, folder: Path) -> tuple[str, date | None, str]:
    """Who signed and when, and why the signature does not count, if it does not."""
    signed_by = common.words("signed_by", NAME_LONGEST, empty=True).strip()
    digest = common.words("signed_digest", 80) if common.has("signed_digest") else ""
    signed_on = common.data["signed_on"] if common.has("signed_on") else None
    if signed_on is None:
        if signed_by:
            common.fault(
                "signed_on", "is missing, needed is the date (2026-01-31) because signed_by is stated"
            )
        return "", None, ""
    if not isinstance(signed_on, date) or isinstance(signed_on, datetime):
        say = f"is {shown(signed_on)}, allowed is a date such as 2026-01-31, without quotes"
        common.fault("signed_on", say)
        return "", None, ""
    if not signed_by:
        common.fault("signed_by", "is empty, needed is a name because signed_on is stated")
    if not digest:
        return signed_by, signed_on, BY_HAND
    return signed_by, signed_on, "" if digest == of_folder(folder) else CHANGED


def _pathway_codes(common: Table, folder: Path) -> tuple[str, ...]:
    there = {path.name for path in folder.glob("*.toml")}
    if common.silent:  # nothing is said of a list that cannot be read
        return tuple(sorted(name[:2] for name in there if _is_code(name.removesuffix(".toml"))))
    codes = common.lines("pathways")
    for code in codes:
        if not _is_code(code):
            common.fault("pathways", f"holds {shown(code)}, allowed are codes of two capital letters")
    if not codes or len(set(codes)) < len(codes):
        common.fault("pathways", "is empty or names a code twice, needed is each pathway's code once")
    stray = sorted(there - {COMMON, CATALOGUE} - {f"{code}.toml" for code in codes})
    if stray:
        common.fault(
            "pathways", f"does not name {stray[0]}, which lies in the folder; name it or remove the file"
        )
    return tuple(code for code in dict.fromkeys(codes) if _is_code(code))


def _is_code(code: str) -> bool:
    return len(code) == 2 and code.isascii() and code.isalpha() and code.isupper()


def _each(common: Table, key: str, names: Iterable[str]) -> Iterable[tuple[str, Table]]:
    parts = common.table(key)
    for name in names:
        part = parts.table(name)
        yield name, part
        part.done()
    parts.done()


def _figures(table: Table) -> dict[str, Figure]:
    groups: dict[str, Table] = {}
    figures: dict[str, Figure] = {}
    for key, rule in FIGURES.items():
        group, _, name = key.partition(".")
        part = groups.get(group) or groups.setdefault(group, table.table(group))
        figures[key] = part.figure(name, rule.under)
        if part.spoiled(name):
            table.faulty.add(key)
    for part in (*groups.values(), table):
        part.done()
    _check_figures(table, figures)
    return figures


def _check_figures(table: Table, figures: dict[str, Figure]) -> None:
    for key, rule in FIGURES.items():
        value = figures[key].value
        if value < rule.least and not table.spoiled(key):
            table.fault(key, f"is {value}, allowed is {rule.least} or more")
        if rule.below is not None and value >= rule.below:
            table.fault(key, f"is {value}, allowed is less than {rule.below}")
        if rule.at_most and value > figures[rule.at_most].value and not table.spoiled(key, rule.at_most):
            most = figures[rule.at_most].value
            table.fault(key, f"is {value}, allowed is at most {rule.at_most}, {most}")


def codes() -> tuple[str, ...]:
    """The inside codes of the reasons: those of the shipped rank table, which other files may reorder."""
    return _shipped()[1]


def _ranks(table: Table) -> dict[str, Rank]:
    ranks: dict[str, Rank] = {}
    for code in codes():
        part = table.table(code)
        rank = int(part.number("rank", (1, HIGHEST_RANK)))
        ranks[code] = Rank(rank, code, part.choice("tier", TIERS[:-1]), part.words("name", 40))
        part.done()
        if part.silent or part.faulty:
            table.faulty.add(code)
    table.done()
    if not table.spoiled(*codes()):
        _check_ranks(table, ranks)
    return dict(sorted(ranks.items(), key=lambda row: row[1].rank))


def _check_ranks(table: Table, ranks: dict[str, Rank]) -> None:
    for code, rank in FIRST_RANKS.items():
        if (ranks[code].rank, ranks[code].tier) != (rank, TIERS[0]):
            table.fault(
                code,
                f"is rank {ranks[code].rank} in {ranks[code].tier!r}, allowed is only rank {rank} "
                f"in {TIERS[0]!r}: the first three ranks are for safety",
            )
    in_order = sorted(ranks.values(), key=lambda row: row.rank)
    for before, row in pairwise(in_order):
        if row.rank == before.rank:
            table.fault(row.code, f"has rank {row.rank} like {before.code}, allowed is each rank once")
        if TIERS.index(row.tier) < TIERS.index(before.tier):
            table.fault(
                row.code,
                f"is in {row.tier!r} below {before.code} in {before.tier!r}, "
                "allowed are tiers in their order",
            )
    if len({row.name for row in in_order}) < len(in_order):
        table.fault("", "gives one name to two reasons, allowed is each name once")


def _finding_stale(table: Table) -> tuple[dict[str, Figure], tuple[str, ...]]:
    """After how long findings go stale, and which never do."""
    stated = [name for name in FINDINGS if table.has(name)]
    table.done()
    lasts = tuple(name for name in stated if table.data[name] == NEVER)
    return {name: table.figure(name, "days", (1, 3660)) for name in stated if name not in lasts}, lasts
