"""What can mask pain, and for how long."""

from __future__ import annotations

from armrise.store.record.kinds.pain import Medicine
from armrise.store.rules.pathway import Rules


def mask_days(rules: Rules, medicine: Medicine) -> int:
    """For how many days ``medicine`` masks pain; 0 when it does not (ruling 50)."""
    if medicine.what == "injection":
        return 0 if medicine.change == "stopped" else rules["mask.injection_days"]
    return rules["mask.analgesic_days"] if medicine.change in ("new", "stronger") else 0
