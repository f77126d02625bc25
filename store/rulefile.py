"""Reads the rule files (``store/pathways``) and refuses, in one sentence, any that do not hold together.

A rule file is edited by clinicians, and a number nobody checked would steer care: nothing is guessed, no key
is ignored, and the files are taken all together or not at all. The head of ``rules.toml`` describes the
syntax. Only ``tomllib`` and dataclasses are used here, because the list waits for this at every start.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

from store.clinic import record
from store.clinic.pathway import FIGURES, Figure, InstrumentSpec, MeasureSpec, Rank, Rules
from store.clinic.standing import TIERS
from store.rulecatalogue import CATALOGUE, class_order, exercises
from store.ruleform import constant_points, form
from store.rulepathway import pathway
from store.ruletable import RuleFileError, Table

__all__ = ["CODES", "COMMON", "FIRST_RANKS", "SHIPPED", "RuleFileError", "load"]

SHIPPED = Path(__file__).parent / "pathways"
COMMON = "rules.toml"
CODES = (
    *("RED", "INJ", "LIM", "FLA", "LOST", "STF", "WRS", "SCR", "OVD2"),
    *("DNA", "MSG", "OVD1", "SIL", "RDY", "STL", "PRM", "LTR", "WAT"),
)
"""The inside codes of the reasons, one row of the rank table each."""
FIRST_RANKS = {"RED": 1, "INJ": 2, "LIM": 3}
"""Reasons whose rank and tier no rule file may change: harm that cannot be undone tomorrow."""

_UNIT_WORDS = {
    "days": "days",
    "points": "points",
    "per cent": "percent",
    "degrees": "degrees",
    "nights": "nights",
    "seconds": "seconds",
    "years": "years",
}
_NOT_ZERO = (
    *("silence.denominator", "flare.last", "flare.of", "baseline.take", "baseline.least"),
    *("dose.reps_run", "dose.small_run", "dose.large_run", "dose.reps_step", "dose.flare_before"),
    *("trend.least_values", "trend.confidence_percent", "stays.least"),
)
_NOT_WHOLE = ("trend.confidence_percent",)
"""Per cents that may not be 100."""
_IN_ORDER = (
    ("irritability.moderate_from", "irritability.high_from"),
    ("drift.same_watch", "drift.same_act"),
    ("drift.other_watch", "drift.other_act"),
    ("drift.same_act", "drift.other_act"),
    ("silence.floor_days", "silence.cap_days"),
    ("baseline.least", "baseline.take"),
    ("flare.of", "flare.among"),
    ("flare.last", "flare.among"),
    ("score_due.first_day", "score_due.second_day"),
    ("in_hand.most_days_today", "in_hand.most_days"),
    ("strength.error_same", "strength.error_other"),
    ("dose.restart_days", "dose.reassess_days"),
    ("dose.small_run", "dose.large_run"),
)
_LEAST_CHANGE = Decimal("0.01")


def load(folder: Path | None = None) -> Rules:
    """All rules of ``folder`` (by default the ones shipped with the program), checked.

    Raises :class:`RuleFileError`, whose text is one sentence naming the file, the stage and the field.
    """
    folder = folder or SHIPPED
    common = Table(_read(folder / COMMON), COMMON)
    version, signed_by, signed_on = common.words("version", 20), *_sign_off(common)
    codes = _pathway_codes(common, folder)
    figures = _figures(common.table("figures"))
    measures = {key: _measure(key, part) for key, part in _each(common, "measures", record.MEASURES)}
    instruments = {
        key: _instrument(key, part) for key, part in _each(common, "instruments", record.INSTRUMENTS)
    }
    catalogue = Table(_read(folder / CATALOGUE), CATALOGUE)
    rules = Rules(
        version=version,
        signed_by=signed_by,
        signed_on=signed_on,
        figures=figures,
        measures=measures,
        instruments=instruments,
        ranks=_ranks(common.table("ranks")),
        screen_severity=_screen_severity(common.table("screen_severity")),
        finding_stale_days=_finding_stale(common.table("finding_stale")),
        exercises=exercises(catalogue),
        class_order=class_order(catalogue),
        constant=constant_points(common.table("constant")),
    )
    common.done()
    catalogue.done()
    for code in codes:
        file = f"{code}.toml"
        rules.pathways[code] = pathway(Table(_read(folder / file), file), code, rules)
    return rules


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"), parse_float=Decimal)
    except FileNotFoundError:
        fault = f"is missing from {path.parent}; put back the rule file that came with armrise"
    except OSError as error:
        fault = f"cannot be read ({error.strerror or 'unknown error'})"
    except UnicodeDecodeError as error:
        fault = f"is not UTF-8 text (byte {error.start + 1}); save it as UTF-8"
    except tomllib.TOMLDecodeError as error:
        fault = f"is not valid TOML ({str(error)[:120]})"
    except (ValueError, RecursionError):
        fault = "is not valid TOML (a number or a nesting beyond all measure)"
    raise RuleFileError(f"{path.name}: {fault}.")


def _sign_off(common: Table) -> tuple[str, date | None]:
    signed_by = common.words("signed_by", 80, empty=True).strip()
    if not common.has("signed_on"):
        if signed_by:
            common.refuse(
                "signed_on", "is missing, needed is the date (2026-01-31) because signed_by is stated"
            )
        return "", None
    signed_on = common.take("signed_on", "a date")
    if not isinstance(signed_on, date) or isinstance(signed_on, datetime):
        common.refuse("signed_on", f"is {signed_on!s}, allowed is a date such as 2026-01-31, without quotes")
    if not signed_by:
        common.refuse("signed_by", "is empty, needed is a name because signed_on is stated")
    return signed_by, signed_on


def _pathway_codes(common: Table, folder: Path) -> tuple[str, ...]:
    codes = common.lines("pathways")
    for code in codes:
        if len(code) != 2 or not (code.isascii() and code.isalpha() and code.isupper()):
            common.refuse("pathways", f"holds {code!r}, allowed are codes of two capital letters")
    if not codes or len(set(codes)) < len(codes):
        common.refuse("pathways", "is empty or names a code twice, needed is each pathway's code once")
    stray = sorted(
        {path.name for path in folder.glob("*.toml")}
        - {COMMON, CATALOGUE}
        - {f"{code}.toml" for code in codes}
    )
    if stray:
        common.refuse(
            "pathways", f"does not name {stray[0]}, which lies in the folder; name it or remove the file"
        )
    return codes


def _each(common: Table, key: str, names: Iterable[str]) -> Iterable[tuple[str, Table]]:
    parts = common.table(key)
    for name in names:
        part = parts.table(name)
        yield name, part
        part.done()
    parts.done()


def _unit_of(description: str) -> str:
    words = description.rpartition("(")[2] if description.endswith(")") else ""
    return next((unit for start, unit in _UNIT_WORDS.items() if words.startswith(start)), "value")


def _figures(table: Table) -> dict[str, Figure]:
    groups: dict[str, Table] = {}
    figures: dict[str, Figure] = {}
    for key, description in FIGURES.items():
        group, _, name = key.partition(".")
        part = groups.get(group) or groups.setdefault(group, table.table(group))
        figures[key] = part.figure(name, _unit_of(description))
    for part in (*groups.values(), table):
        part.done()
    for key in _NOT_ZERO:
        if figures[key].whole < 1:
            table.refuse(key, "is 0, allowed is 1 or more")
    for key in _NOT_WHOLE:
        if figures[key].value >= 100:
            table.refuse(key, f"is {figures[key].value}, allowed is less than 100")
    for small, large in _IN_ORDER:
        if figures[small].value > figures[large].value:
            table.refuse(
                small, f"is {figures[small].value}, allowed is at most {large}, {figures[large].value}"
            )
    return figures


def _ranks(table: Table) -> dict[str, Rank]:
    ranks: dict[str, Rank] = {}
    for code in CODES:
        part = table.table(code)
        rank = int(part.number("rank", (1, len(CODES))))
        ranks[code] = Rank(rank, code, part.choice("tier", TIERS[:-1]), part.words("name", 40))
        part.done()
    table.done()
    for code, rank in FIRST_RANKS.items():
        if (ranks[code].rank, ranks[code].tier) != (rank, TIERS[0]):
            table.refuse(
                code,
                f"is rank {ranks[code].rank} in {ranks[code].tier!r}, allowed is only rank {rank} "
                f"in {TIERS[0]!r}: the first three ranks are for safety",
            )
    in_order = sorted(ranks.values(), key=lambda row: row.rank)
    for before, row in pairwise(in_order):
        if row.rank == before.rank:
            table.refuse(row.code, f"has rank {row.rank} like {before.code}, allowed is each rank once")
        if TIERS.index(row.tier) < TIERS.index(before.tier):
            table.refuse(
                row.code,
                f"is in {row.tier!r} below {before.code} in {before.tier!r}, "
                "allowed are tiers in their order",
            )
    if len({row.name for row in in_order}) < len(in_order):
        table.refuse("", "gives one name to two reasons, allowed is each name once")
    return ranks


def _screen_severity(table: Table) -> dict[str, Figure]:
    found = {item: table.figure(item, "value", (1, 3)) for item in record.SCREEN_ITEMS}
    table.done()
    return found


def _finding_stale(table: Table) -> dict[str, Figure]:
    stated = [name for name in record.FINDINGS if table.has(name)]
    table.done()
    return {name: table.figure(name, "days", (1, 3660)) for name in stated}


def _scale(part: Table) -> tuple[Decimal, Decimal]:
    low, high = (part.number(key, (-10000, 10000), whole=False) for key in ("low", "high"))
    if low >= high:
        part.refuse("low", f"is {low}, allowed is less than high, {high}")
    return low, high


def _measure(key: str, part: Table) -> MeasureSpec:
    low, high = _scale(part)
    part.take("lower_is_better", "true or false")
    part.take("question", "true or false")
    return MeasureSpec(
        key=key,
        label=part.words("label", 60),
        unit=part.words("unit", 30),
        low=low,
        high=high,
        stale_days=part.figure("stale", "days", (1, 3660)),
        lower_is_better=part.yes("lower_is_better"),
        question=part.yes("question"),
    )


def _instrument(key: str, part: Table) -> InstrumentSpec:
    low, high = _scale(part)
    part.take("lower_is_better", "true or false")
    return InstrumentSpec(
        key=key,
        low=low,
        high=high,
        lower_is_better=part.yes("lower_is_better"),
        response=part.maybe_figure("response", "points", (_LEAST_CHANGE, high - low), whole=False),
        detectable=part.maybe_figure("detectable", "points", (_LEAST_CHANGE, high - low), whole=False),
        acceptable=part.maybe_figure("acceptable", "points", (low, high), whole=False),
        stale_days=part.figure("stale", "days", (1, 3660)),
        region=part.yes("region"),
        detectable_single=part.maybe_figure(
            "detectable_single", "points", (_LEAST_CHANGE, high - low), whole=False
        ),
        form=form(part.table("form"), high) if part.has("form") else None,
    )
