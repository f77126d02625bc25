"""Properties of the clinical computation that hold for every record, tried on random ones.

Sources: practice notes 2.3 ("total order, reproducible"), 4 ("same inputs, same answer"), 4.8 (three values:
a missing value is unknown, never a failure), clarification 11.1 (reading the record as of an earlier date).
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.standing import Reason, Standing, Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.standing.reasons import asking
from armrise.store.clinic.standing.triage import order, sort_key, why_above
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.kinds.head import NEWS, Entry
from armrise.store.record.kinds.measured import FINDINGS
from armrise.store.record.kinds.safety import EVENTS, SCREEN_ITEMS
from tests.clinic.build import OPENS, TODAY, WORDS, Builder, case, rules, standing_of

few = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
more = settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))

STAGES = [s for p in ("RC", "FS", "PO", "AD", "OA", "FX") for s in (f"{p}{n}" for n in range(1, 6))]
PAIN = st.integers(0, 10)
PAIN_OR_NOT = st.none() | PAIN

# -- random records ---------------------------------------------------------------------------------------

MESSAGES = ("can I swim?", "the wound is leaking", "no fever at all", "the strap is torn")
Adder = Callable[[Builder, int, Any], Any]

ADDERS: list[Adder] = [
    lambda m, d, draw: m.session(min(d, -1), draw(PAIN_OR_NOT), draw(PAIN_OR_NOT), draw(PAIN_OR_NOT)),
    lambda m, d, draw: m.session(
        min(d, -1), draw(PAIN), 2, 2, **{draw(st.sampled_from(["P1", "A2", "R1", "R2"])): (3, 10)}
    ),
    lambda m, d, draw: m.morning(d, draw(PAIN_OR_NOT)),
    lambda m, d, draw: m.morning(d, draw(PAIN)),
    lambda m, d, draw: m.measure(
        d, draw(st.sampled_from(["worst_pain", "rest_pain", "night_pain"])), draw(PAIN)
    ),
    lambda m, d, draw: m.measure(d, "night_waking", draw(st.integers(0, 7))),
    lambda m, d, draw: m.measure(
        d,
        draw(st.sampled_from(["active_flexion", "passive_flexion", "passive_external_rotation"])),
        draw(st.integers(0, 110)),
        other=draw(st.booleans()),
        rater=draw(st.sampled_from(["TK", "AB", None])),
        limited_by=draw(st.sampled_from([None, None, "pain"])),
        repeated=draw(st.sampled_from([False, False, True])),
    ),
    lambda m, d, draw: m.percent(d, "external_rotation_strength", draw(st.integers(20, 120))),
    lambda m, d, draw: m.score(
        d, draw(st.sampled_from(["SPADI", "QuickDASH", "WOOS"])), draw(st.none() | st.integers(0, 100))
    ),
    lambda m, d, draw: m.score(d, "PSFS", draw(PAIN)),
    lambda m, d, draw: m.screen_all_no(d),
    lambda m, d, draw: m.screen(
        d, draw(st.sampled_from(SCREEN_ITEMS)), draw(st.sampled_from(["yes", "no", "not asked", "declined"]))
    ),
    lambda m, d, draw: m.flag_outcome(d),
    lambda m, d, draw: m.finding(d, draw(st.sampled_from(FINDINGS)), draw(st.sampled_from(["yes", "no"]))),
    lambda m, d, draw: m.summary(
        d,
        d - draw(st.integers(5, 28)),
        " ".join(
            [
                f"{draw(st.integers(0, 5))}/5",
                *(draw(st.sampled_from([".", "2", "4", "9"])) for _ in range(2)),
                draw(st.sampled_from([".", "0", "2", "4"])),
                draw(st.sampled_from(list("wpm."))),
                draw(st.sampled_from(list("sn."))),
            ]
        ),
    ),
    lambda m, d, draw: m.event(d, draw(st.sampled_from(EVENTS))),
    lambda m, d, draw: m.contact(d, draw(st.sampled_from(["spoke", "no answer", "message received"]))),
    lambda m, d, draw: m.contact(d, load_cut=True, plan_corrected=draw(st.booleans())),
    lambda m, d, draw: m.contact(d, "message received", note=draw(st.sampled_from(MESSAGES))),
    lambda m, d, draw: m.contact(d, surgeon_told=True, anything_new=draw(st.sampled_from(NEWS))),
    lambda m, d, draw: m.visit(d, anything_new=draw(st.sampled_from(NEWS))),
    lambda m, d, draw: m.visit(d, draw(st.sampled_from([None, 7, 21]))),
    lambda m, d, draw: m.visit(d, injury_assessed=True, decision=True, usual_morning=draw(PAIN)),
    lambda m, d, draw: m.missed(d),
    lambda m, d, draw: m.booked(draw(st.integers(0, 20)), made=d),
    lambda m, d, draw: m.programme(d, draw(st.sampled_from(["A1", "R1", "R3"])), per_week=3),
    lambda m, d, draw: m.hold(d, d + draw(st.integers(0, 42)), named="consultant A"),
    lambda m, d, draw: m.in_hand(d, draw(st.sampled_from(list(WORDS))), d + draw(st.integers(1, 7))),
    lambda m, d, draw: m.orders(d, sling_until=d + 10, external_rotation_limit=30),
    lambda m, d, draw: m.clearance(d, "surgeon", draw(st.sampled_from(["yes", "no", "withdrawn"]))),
    lambda m, d, draw: m.referral(d, draw(st.sampled_from(["plateau", "losing range", "image cuff"]))),
    lambda m, d, draw: m.decision(d, draw(st.sampled_from(["stalled", "review not needed", "plateau"]))),
    lambda m, d, draw: m.medicine(d, draw(st.sampled_from(["injection", "analgesic"]))),
    lambda m, d, draw: m.target(d, "passive_external_rotation", draw(st.integers(10, 80))),
    lambda m, d, draw: m.override(d, "ready to step forward"),
    lambda m, d, draw: m.letter(d, draw(st.sampled_from(["referral", "progress"]))),
]


def ranges(made: Builder, day: int, draw: Any) -> None:
    """A series of passive range up to ``day``, three days to two weeks apart, and the other side."""
    name = draw(
        st.sampled_from(["passive_flexion", "passive_external_rotation", "passive_external_rotation"])
    )
    for _ in range(draw(st.integers(2, 4))):
        limited = draw(st.sampled_from([None, None, None, "pain"]))
        rater = draw(st.sampled_from(["TK", "TK", "TK", "AB"]))
        made.measure(day, name, draw(st.integers(3, 13)) * 5, rater=rater, limited_by=limited)
        day -= draw(st.sampled_from([3, 6, 7, 8, 14]))
    made.measure(day, name, draw(st.integers(30, 70)), other=True)


def sessions(made: Builder, day: int, draw: Any) -> None:
    """Three usual mornings, then a run of sessions every second day with a mood of its own, up to ``day``."""
    count, day = draw(st.integers(2, 6)), min(day, -1)
    usual = draw(st.integers(0, 4))
    rises = st.sampled_from(draw(st.sampled_from([[0, 0, 0, 1], [0, 1, 2, 3], [3, 4], [-1, 0]])))
    made.mornings(day - 2 * count - 4, usual, usual, usual)
    for back in reversed(range(count)):
        woke = max(0, usual + draw(rises))
        made.session(day - 2 * back, draw(st.integers(1, 4)), 2, woke, recorded=day - 2 * back + 1)


def criteria(made: Builder, day: int, draw: Any) -> None:
    """Values that meet most exit criteria, measured on ``day``."""
    for name, passing, other in (("active_flexion", 160, 165), ("passive_flexion", 160, 165)):
        made.both(day, name, passing, other)
    for name in ("night_pain", "rest_pain", "worst_pain"):
        made.measure(day - 15, name, 2).measure(day, name, draw(st.sampled_from([1, 2, 2, 6])))
    for name in ("external_rotation_strength", "internal_rotation_strength"):
        made.percent(day, name, draw(st.sampled_from([60, 92, 92])))
    made.score(day, "PSFS", 9).finding(day, "pain mainly at end range").finding(day, "goal met")
    made.clearance(day, "surgeon").clearance(day, "surgeon", scope="resisted").clearance(day, "union")
    for name, answer in (
        ("shrug seen", "no"),
        ("wound dry", "yes"),
        ("sling weaned", "yes"),
        ("sling off", "yes"),
    ):
        made.finding(day, name, answer)


RICH: list[Adder] = [ranges, sessions, criteria]


@st.composite
def built(draw: Any, most: int = 20) -> Builder:
    """A random case: any stage, any day, up to ``most`` entries of any kind in any order."""
    stage = draw(st.sampled_from([s for s in STAGES if _exists(s)]))
    day = draw(st.sampled_from([*range(0, 130, 9), 75, 90]))
    gap = draw(st.integers(0, 30))
    onset = draw(st.sampled_from([None, None, OPENS.get(stage, 0) + day + gap, -1]))
    made = case(
        stage,
        day=day,
        onset=onset,
        first=draw(st.sampled_from([None, None, day + gap])),
        last_visit=draw(st.sampled_from([1, None, 15])),
        screened=draw(st.booleans()),
        scored=draw(st.booleans()),
        ordered=draw(st.booleans()),
        age_band=draw(st.sampled_from(["under 16", "20s", "50s", None])),
        linked=draw(st.sampled_from([(), ("C-02",)])),
    )
    span = min((TODAY - made.head["registered_on"]).days, 90)
    for _ in range(draw(st.integers(0, most))):
        draw(st.sampled_from(ADDERS))(made, -draw(st.integers(0, span)), draw)
    for rich in draw(st.lists(st.sampled_from(RICH), max_size=3 if span >= 70 else 0)):
        rich(made, -draw(st.integers(0, min(span, 10))), draw)
    ending = draw(st.sampled_from(["", "", "", "discharge", "reopened"]))
    if ending:
        made.discharge(-min(span, 3), draw(st.sampled_from(["goal met", "died"])))
    if ending == "reopened" and made.entries[-1].outcome != "died":  # type: ignore[attr-defined]
        made.reopen(-min(span, 1))
    return made


def _exists(stage: str) -> bool:
    return rules().pathways[stage[:2]].stage(stage) is not None


def only(record: CaseRecord, keep: Callable[[Entry], bool]) -> CaseRecord:
    """The record with those entries alone for which ``keep`` is true."""
    kinds = {f: tuple(e for e in getattr(record, f) if keep(e)) for f in FIELD_OF_KIND.values()}
    return replace(record, **kinds)


@more
@given(built(30))
def test_every_valid_record_has_a_standing(made: Builder):
    """No exception, whatever the entries; the reasons come in order of rank, each at most once; no severity
    and no days open below zero; a verdict whose word fits its criteria."""
    found = standing_of(made)
    ranks = [r.rank for r in found.reasons]
    assert ranks == sorted(set(ranks))
    assert all(r.severity >= 0 and r.days_open >= 0 for r in found.reasons)
    assert all(r.since == TODAY - timedelta(days=r.days_open) for r in found.reasons)
    assert all(r.sentence and "\n" not in r.sentence for r in found.reasons)
    states = [c.state for c in (*found.verdict.blocks, *found.verdict.criteria)]
    if found.verdict.word is Word.READY:
        assert set(states) <= {Truth.MET}
        assert "RDY" in [r.code for r in found.reasons]
    if found.verdict.word is Word.UNKNOWN:
        assert Truth.NOT_MET not in states
    if found.status == "closed":
        assert {r.code for r in found.reasons} <= {"RED", "INJ", "MSG", "LTR"}  # ruling 58
    live = {r.code for r in found.reasons}
    assert not {"OVD1", "OVD2"} <= live  # clarification 11.2
    assert not {"WAT", "STF"} <= live
    assert not {"LOST", "DNA"} <= live


@few
@given(built())
def test_a_flare_or_a_flag_is_never_ready(made: Builder):
    """Rulings 1, 2 and 19: any live flare, open flag, injury, broken limit or lost range blocks READY."""
    found = standing_of(made)
    if {"RED", "INJ", "LIM", "FLA", "STF", "SCR"} & {r.code for r in found.reasons}:
        assert found.verdict.word is not Word.READY


# -- order of entries, entries of the future --------------------------------------------------------------


@few
@given(built(), st.randoms(use_true_random=False))
def test_the_standing_does_not_depend_on_the_order_of_entries(made: Builder, shuffler: random.Random):
    """4: pure functions of the record; the order in which its entries are handed over is no fact."""
    record = made.record()
    kinds: dict[str, tuple[Entry, ...]] = {}
    for name in FIELD_OF_KIND.values():
        found = list(getattr(record, name))
        shuffler.shuffle(found)
        kinds[name] = tuple(found)
    assert standing_of(replace(record, **kinds)) == standing_of(record)


@few
@given(built(), st.integers(1, 40))
def test_what_happens_later_changes_nothing(made: Builder, back: int):
    """Clarification 11.1: the record as of an earlier date holds what had happened by then."""
    record = made.record()
    today = TODAY - timedelta(days=back)
    then = only(record, lambda e: e.on <= today)
    assert standing_of(record, today) == standing_of(then, today)


@few
@given(built())
def test_same_inputs_same_answer(made: Builder):
    """4: same inputs, same answer."""
    assert standing_of(made.record()) == standing_of(made.record())


@few
@given(built())
def test_a_window_of_the_history_says_the_same_or_asks_for_all_of_it(made: Builder):
    """The list reads the newest sessions and mornings only: never another answer, if need be a refusal."""
    from armrise.store.clinic.standing.stand import NeedsFullHistory

    record = made.record()
    known_from = TODAY - timedelta(days=70)
    early = timedelta(days=CaseRecord.EARLY_DAYS)
    stage, first = max(s.on for s in record.steps), record.registered_on

    def is_read(entry: Entry) -> bool:
        return entry.on >= known_from or entry.on < first + early or stage <= entry.on < stage + early

    kept = {name: tuple(e for e in getattr(record, name) if is_read(e)) for name in ("sessions", "mornings")}
    try:
        found = standing_of(replace(record, **kept, known_from=known_from))
    except NeedsFullHistory:
        return
    assert found == standing_of(record)


def test_the_last_pain_triple_is_read_from_before_the_window():
    """The same, for the one session that is older than the window and younger than the early days."""
    from armrise.store.clinic.standing.stand import NeedsFullHistory

    record = case("RC2", day=150, first=200).session(-80, 3, 2, 2).record()
    kept = replace(record, sessions=(), known_from=TODAY - timedelta(days=70))
    assert standing_of(record).pain.days_ago == 80
    with pytest.raises(NeedsFullHistory):
        standing_of(kept)


@few
@given(built())
def test_days_open_count_from_the_first_day_of_an_unbroken_stretch(made: Builder):
    """Clarification 11.1: since the first date from which it has been true without a break, found by reading
    the record as of each earlier date with what is known now. One that was answered and is open again counts
    from the first day of what the answer did not know (ruling 46), and was there before."""
    record = made.record()
    renewed = {one.row.code for one in asking(View.of(record, rules(), TODAY)) if one.fresh is not None}
    for each in standing_of(record).reasons:
        if each.code not in {"FLA", "STF", "WRS", "RDY", "WAT"} - renewed:
            continue
        for back in {0, each.days_open // 2, each.days_open}:
            then = standing_of(record, TODAY - timedelta(days=back))
            assert each.code in [r.code for r in then.reasons], (each, back)
        before = standing_of(record, TODAY - timedelta(days=each.days_open + 1))
        assert each.code not in [r.code for r in before.reasons], each


# -- what may hide what, and what may not ------------------------------------------------------------------

NEVER_HIDDEN = {
    "RED",
    "MSU",
    "MSG",
    "INJ",
    "LIM",
    "FUN",
    "FND",
    "FLA",
    "LOST",
    "STF",
    "VIS",
    "WRS",
    "SCR",
    "LTR",
}


@few
@given(built(), st.integers(0, 30), st.integers(1, 12))
def test_a_hold_hides_nothing_that_can_harm(made: Builder, back: int, ahead: int):
    """Rulings 37 and 63 (and 54 for the letter): a hold never hides these reasons."""
    before = {r.code for r in standing_of(made).reasons}
    held = standing_of(made.hold(-back, ahead, named="consultant A"))
    assert before & NEVER_HIDDEN <= {r.code for r in held.reasons}
    if held.status == "on hold":
        assert {r.code for r in held.reasons} <= NEVER_HIDDEN


@few
@given(built(), st.sampled_from(SCREEN_ITEMS), st.sampled_from([2, 3]))
def test_a_new_red_flag_is_always_seen(made: Builder, item: str, severity: int):
    """2.2 rank 1 and ruling 3: whatever else is recorded, today's flag stands first and means REFER."""
    if any(e.KIND == "discharge" for e in made.entries):
        return
    found = standing_of(made.screen(0, item, "yes", severity=severity))
    assert found.reasons[0].code == "RED"
    assert found.reasons[0].severity >= severity
    assert found.tier == "today"
    assert not found.reasons[0].in_hand, "ruling 4: an earlier answer does not cover a later item"
    assert found.verdict.word is Word.REFER


@few
@given(built(), st.integers(0, 20))
def test_no_gate_opens_early(made: Builder, days: int):
    """3.3: READY is never issued before the gate day, whatever the pain; days counted from the newest date of
    surgery or injury, and fewer than any stage after the present one asks for."""
    path = made.stage[:2]
    if (
        path not in ("PO", "AD", "FX")
        or made.stage == "PO1"
        or any(e.KIND == "discharge" for e in made.entries)
    ):
        return
    made.onset(-min(days, 6), {"PO": "surgery", "AD": "dislocation", "FX": "fracture"}[path])
    found = standing_of(made)
    last = rules().pathways[path].stages[-1].code == made.stage
    assert last or found.verdict.word is not Word.READY


@few
@given(built(), st.sampled_from(list(WORDS)))
def test_an_answer_to_one_reason_changes_no_other(made: Builder, code: str):
    """Ruling 46: in hand belongs to one reason; it changes neither what is live nor the verdict."""
    before = standing_of(made)
    after = standing_of(made.in_hand(0, code, 5))
    assert [r._replace(in_hand_until=None, in_hand_action="") for r in after.reasons if r.code == code] == [
        r._replace(in_hand_until=None, in_hand_action="") for r in before.reasons if r.code == code
    ]
    assert [r for r in after.reasons if r.code != code] == [r for r in before.reasons if r.code != code]
    assert after.verdict == before.verdict
    assert all(r.in_hand for r in after.reasons if r.code == code)


# -- a missing value --------------------------------------------------------------------------------------

WORSE = {Word.READY: 0, Word.UNKNOWN: 1, Word.NOT_YET: 2, Word.STEP_BACK: 3, Word.REFER: 4}
VALUES: dict[str, list[tuple[str, int, int]]] = {
    "RC1": [("worst_pain", 3, 8), ("active_flexion", 150, 60)],
    "RC2": [("active_flexion", 150, 60), ("external_rotation_strength", 90, 40)],
    "RC3": [("external_rotation_strength", 90, 40)],
    "AD3": [("external_rotation_strength", 90, 40), ("internal_rotation_strength", 90, 40)],
    "PO5": [("external_rotation_strength", 90, 40)],
}
"""Stage: its measures with a value that passes and one that fails, the other side being 150 degrees."""


@st.composite
def lacking(draw: Any) -> tuple[Builder, list[tuple[str, int, int]]]:
    """A case in one of the stages above that has any of the values, and those it lacks."""
    stage = draw(st.sampled_from(list(VALUES)))
    made = case(stage, day=draw(st.integers(1, 60))).measure(-1, "active_flexion", 150, other=True)
    if draw(st.booleans()):
        made.mornings(-12, 2, 2, 2).good(draw(st.integers(0, 3)))
    lacks = []
    for name, passing, failing in VALUES[stage]:
        has = draw(st.sampled_from(["pass", "fail", "lack", "lack"]))
        if has == "lack":
            lacks.append((name, passing, failing))
        else:
            add_value(made, name, passing if has == "pass" else failing)
    return made, lacks


def add_value(made: Builder, name: str, value: int) -> None:
    """The value of yesterday; strength as per cent of the other side."""
    if name.endswith("strength"):
        made.percent(-1, name, value)
    else:
        made.measure(-1, name, value)


@more
@given(lacking())
def test_a_missing_value_never_counts_against_the_case(
    given_case: tuple[Builder, list[tuple[str, int, int]]],
):
    """4.8: unknown is no failure. Adding a value that passes never makes the verdict worse; adding one that
    fails makes it NOT YET and nothing else; a case that lacks a value is never READY."""
    made, lacks = given_case
    before = standing_of(made).verdict.word
    if lacks:
        assert before is not Word.READY
    for name, passing, failing in lacks:
        entries = list(made.entries)
        add_value(made, name, passing)
        assert WORSE[standing_of(made).verdict.word] <= WORSE[before]
        made.entries = list(entries)
        add_value(made, name, failing)
        after = standing_of(made).verdict.word
        assert after is (before if WORSE[before] > WORSE[Word.NOT_YET] else Word.NOT_YET)
        made.entries = entries


@few
@given(lacking())
def test_taking_a_passing_value_away_is_unknown_and_not_failed(
    given_case: tuple[Builder, list[tuple[str, int, int]]],
):
    """The same the other way round: removing every value of a measure leaves its criterion unknown."""
    made, _ = given_case
    names = {name for name, _, _ in VALUES[made.stage]}
    bare = only(made.record(), lambda e: getattr(e, "name", None) not in names)
    labels = [rules().measures[name].label.lower() for name in names]
    for each in standing_of(bare).verdict.criteria:
        if any(label in each.text.lower() for label in labels):
            assert each.state is Truth.UNKNOWN


# -- the sort ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def plain() -> Standing:
    """A standing without a reason."""
    return standing_of(case("RC2", day=10))


@st.composite
def reasons(draw: Any) -> tuple[Reason, ...]:
    """Up to four live reasons, some in hand."""
    chosen = draw(st.lists(st.sampled_from(sorted(rules().ranks)), max_size=4, unique=True))
    made = []
    for rank in sorted((rules().ranks[code] for code in chosen), key=lambda r: r.rank):
        days_open = draw(st.integers(0, 3))
        made.append(
            Reason(
                code=rank.code,
                name=rank.name,
                rank=rank.rank,
                tier=rank.tier,
                severity=draw(st.integers(1, 3)),
                days_open=days_open,
                since=TODAY - timedelta(days=days_open),
                sentence=f"{rank.name}: evidence",
                in_hand_until=draw(st.sampled_from([None, None, date(2026, 3, 6)])),
            )
        )
    return tuple(made)


@more
@given(st.lists(reasons(), min_size=2, max_size=12), st.randoms(use_true_random=False))
def test_the_list_is_a_total_order(plain: Standing, given_reasons: list[Any], shuffler: random.Random):
    """2.3: total order, reproducible, whatever the order of the input; and every neighbour is explained."""
    made = [plain._replace(code=f"C-{n:02}", reasons=found) for n, found in enumerate(given_reasons)]
    first = order(made)
    shuffled = list(made)
    shuffler.shuffle(shuffled)
    assert order(shuffled) == first
    keys = [sort_key(s) for s in first]
    assert all(upper < lower for upper, lower in pairwise(keys))
    tiers = ("today", "harm if left", "contact owed", "move on", "none")
    places = [tiers.index(s.tier) for s in first]
    assert places == sorted(places)
    for upper, lower in pairwise(first):
        assert why_above(upper, lower)


@few
@given(reasons())
def test_an_answer_never_lifts_a_case(plain: Standing, found: tuple[Reason, ...]):
    """2.2 "in hand": answering a reason never moves the case up the list."""
    before = plain._replace(reasons=found)
    for place, each in enumerate(found):
        answered = each._replace(in_hand_until=date(2026, 3, 5))
        after = plain._replace(reasons=(*found[:place], answered, *found[place + 1 :]))
        assert sort_key(after) >= sort_key(before)


def test_the_record_has_no_field_the_shuffle_forgets():
    """Guards the tests above: every tuple of entries of a record is one the shuffle knows."""
    tuples = {f.name for f in fields(CaseRecord)} - set(FIELD_OF_KIND.values())
    heads = {"code", "person", "side", "pathway", "dominance", "age_band", "clinician", "referrer"}
    assert tuples == heads | {"registered_on", "known_from", "known_spans", "came", "linked"}
