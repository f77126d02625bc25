"""Reading how long own past cases took in a stage: their steps, visits and discharges, no sessions."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from armrise.store.caseload.recorded import known_up_to
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time.duration import own_cases, own_stays
from armrise.store.database.reading import entries_of, withdrawn, without
from armrise.store.record.case import CaseRecord

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules

KINDS_READ = ("step", "visit", "discharge")
"""What a stay rests on. A visit tells where the record began, and so which steps are an earlier episode's."""

_EVER_IN = """
SELECT c.id, c.code, c.person, c.side, c.pathway, c.registered_on FROM cases c
WHERE c.id IN (SELECT s.case_id FROM step s WHERE s.stage = ?) ORDER BY c.code"""


def own_past_cases(
    store: Store, record: CaseRecord, rules: Rules, today: date, known_at: datetime | None = None
) -> str:
    """How long the other cases of the store took in the present stage of ``record``, in words.

    Empty when too few of them moved on, when the case is closed or not placed, and in a stage that time
    protects: how long others were held there is no reason to go on earlier. Raises a store error.
    """
    view = View.of(record, rules, today)
    if view.closed or view.stage is None or view.stage.protected:
        return ""
    others = ever_in(store, view.stage.code, known_at)
    return own_cases(own_stays(others, rules, view, view.stage.code), rules["stays.least"])


def ever_in(store: Store, stage: str, known_at: datetime | None = None) -> list[CaseRecord]:
    """Every case that was ever placed in ``stage``, with what :data:`KINDS_READ` names and nothing else.

    These records answer for stays alone.
    """
    known = known_up_to(store, known_at)
    with store.reading() as connection:
        heads = connection.execute(_EVER_IN, (stage,)).fetchall()
        ids = [head[0] for head in heads]
        gone = withdrawn(connection, ids, known)
        found = {k: without(entries_of(connection, k, ids, known), gone) for k in KINDS_READ}
    return [
        CaseRecord(
            code=code,
            person=person,
            side=side,
            pathway=pathway,
            registered_on=date.fromisoformat(registered_on),
            steps=tuple(found["step"].get(key, ())),
            visits=tuple(found["visit"].get(key, ())),
            discharges=tuple(found["discharge"].get(key, ())),
        )
        for key, code, person, side, pathway, registered_on in heads
    ]
