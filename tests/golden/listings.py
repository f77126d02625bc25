"""What the command line prints over the demonstration."""

from __future__ import annotations

import json
import shutil
from datetime import timedelta

from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store
from armrise.store.record.kinds.care import SWEEP_DECISIONS
from tests.golden.demo import AUTHOR, NOW, TODAY, Demo, printed
from tests.golden.samples import sample

MONTH = ("--from", "2026-02-01", "--to", "2026-02-28")
YEAR = ("--from", "2025-03-01", "--to", "2026-02-28")
JSON_CASES = 12
"""Cases printed as JSON too: each says every key, and the plain text of all cases says every value."""
EARLIER = (("BY-007", "2026-02-20"), ("BY-015", "2026-02-16"), ("BY-024", "2026-02-27"))


def listing_files(demo: Demo) -> dict[str, str]:
    """Every listing as a file."""
    return {
        "standings.json": _cases(demo),
        "list.txt": demo.said("list"),
        "due.txt": demo.said("due"),
        "minutes.txt": demo.said("minutes") + _minutes_decided(demo),
        "audit.txt": demo.said("audit", *MONTH),
        "audit.json": demo.said("audit", "--json", *MONTH),
        "audit-year.txt": demo.said("audit", *YEAR),
        "audit.html": _page(demo),
        "keys.txt": printed(["keys"]),
        "cases.txt": "".join(_headed(code, demo.said("case", code)) for code in demo.codes),
        "cases.json": "".join(_headed(code, demo.said("case", code, "--json")) for code in _chosen(demo)),
        "why.txt": "".join(_earlier(demo, code, day) for code, day in EARLIER),
    }


def _cases(demo: Demo) -> str:
    """The list as JSON, without what stands around its cases."""
    return json.dumps(json.loads(demo.said("list", "--json"))["cases"], indent=2) + "\n"


def _headed(head: str, text: str) -> str:
    return f"##### {head}\n{text}\n"


def _chosen(demo: Demo) -> list[str]:
    """Some cases of every pathway and state, in the order of the list."""
    seen: dict[tuple[str, str], str] = {}
    for standing in demo.standings:
        seen.setdefault((standing.pathway, standing.status), standing.code)
    first = list(seen.values())
    more = [standing.code for standing in demo.standings if standing.code not in first]
    return [*first, *more][: max(JSON_CASES, len(first))]


def _earlier(demo: Demo, code: str, day: str) -> str:
    where = ("--store", str(demo.door.store.path), "--as-of", day)
    return _headed(f"{code} on {day}", printed(["why", code, *where]))


def _page(demo: Demo) -> str:
    """The page of the audit, a tag a line."""
    page = demo.folder / "audit.html"
    demo.said("audit", "--html", str(page), *MONTH)
    return page.read_text(encoding="utf-8").replace("><", ">\n<")


def _minutes_decided(demo: Demo) -> str:
    """The minutes after one decision of each sort was recorded of the first cases of the queue."""
    path = demo.folder / "decided.armrise"
    shutil.copy(demo.door.store.path, path)
    ledger = Ledger(Store.open(path), AUTHOR, lambda: NOW, demo.rules)
    until = (TODAY + timedelta(days=7)).isoformat()
    for case, decision in zip(demo.door.sweep().remaining, SWEEP_DECISIONS, strict=False):
        reasons = ", ".join(reason.name for reason in case.reasons)
        stated = {"decision": decision, "until": until, "reasons": reasons, "author": AUTHOR}
        ledger.append(case.standing.code, [sample("sweep decision", stated)])
    return _headed("after one decision of each sort", demo.said("minutes", store=path))
