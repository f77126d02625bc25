"""What a patient with a possible red flag is to do, the most urgent first (ruling 85)."""

from __future__ import annotations

from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.screening import open_flags
from armrise.store.record.kinds.safety import RETIRED_SCREEN_ITEMS
from armrise.store.rules.words import beside_rules


def flag_lines(view: View) -> list[str]:
    """The lead and words of each open item, by how soon it has to be seen; its further leads below it.

    An item of earlier screens is told by its parts: what was asked under its name may have been any of them.
    """
    rules = view.rules
    names = [part for f in open_flags(view) for part in RETIRED_SCREEN_ITEMS.get(f.item, (f.item,))]
    items = [rules.screen_items[name] for name in dict.fromkeys(names)]
    order = [lead.name for lead in rules.leads]
    items.sort(key=lambda item: order.index(item.lead) if item.lead else len(order))
    return list(dict.fromkeys(line for item in items for line in beside_rules.flag_lines(rules, item.name)))
