"""An audit as plain data for other programs: the counts, each share with its denominator."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from fractions import Fraction
from typing import Any, cast

from armrise.store.clinic.audit.counts import Group
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Counted, Share


def audit_rows(audit: Audit) -> dict[str, Any]:
    """The audit ready for JSON: dates as ISO dates, a share as count and denominator, unknown as null."""
    return {
        "period": _plain(audit.period, audit),
        "rule_version": audit.rule_version,
        "signed_off": audit.signed_off,
        "versions": _plain(audit.versions, audit),
        "groups": [_group(group, audit) for group in audit.groups],
        "supervision": _plain(audit.supervision, audit),
        "own": _plain(audit.own, audit),
        "percent_least": audit.percent_least,
        "after_days": audit.after_days,
        "store_head": audit.store_head,
    }


COUNTED = tuple(one.name for one in fields(Group) if one.type == "Counted")
"""Fields that hold words with their counts."""


def _group(group: Group, audit: Audit) -> dict[str, Any]:
    found = _plain(group, audit)
    for name in COUNTED:
        found[name] = dict(cast("Counted", getattr(group, name)))
    found["weeks"] = [{"week_end": end.isoformat(), **_plain(share, audit)} for end, share in group.weeks]
    return found


def _plain(value: Any, audit: Audit) -> Any:
    if isinstance(value, Share):
        return {"count": value.count, "of": value.of, "percent": value.percent(audit.percent_least)}
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name), audit) for f in fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(part, audit) for key, part in cast("Mapping[str, Any]", value).items()}
    if isinstance(value, (tuple, list)):
        return [_plain(part, audit) for part in cast("list[Any]", value)]
    if isinstance(value, Fraction):
        return round(float(value), 4)
    if isinstance(value, float):
        return round(value, 4)
    return value.isoformat() if isinstance(value, date) else value
