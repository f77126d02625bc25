"""The reasons for attention: when each is true, how severe, in what words, what ends it, who carries it.

Rank, tier and name are data (the rank table); nothing is weighed against anything else. A reason is added as
a row of that table and, with the same inside code, as a :class:`ReasonRule` of the file of its theme.
"""

from __future__ import annotations

from armrise.store.clinic.standing.care import OF_THE_CARE
from armrise.store.clinic.standing.rule import ReasonRule
from armrise.store.clinic.standing.shoulder import OF_THE_SHOULDER

REASONS: dict[str, ReasonRule] = {**OF_THE_SHOULDER, **OF_THE_CARE}
"""Every reason by its inside code, which is that of its row of the rank table."""
