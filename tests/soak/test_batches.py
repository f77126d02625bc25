"""What hangs, dies or goes wrong in a batch is counted by its kind, and what comes after it is done."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.soak import batches
from tests.soak.batches import Part, Result, Trial, run
from tests.soak.tally import Counted, Tally


def _good() -> Result:
    return Result({})


def _dies() -> Result:
    os._exit(3)


def _hangs() -> Result:
    time.sleep(60)
    return Result({})


def _wrong() -> Result:
    return Result({"lost": "one"}, times=2, most=1.5)


def part(*done: Callable[[], Result]) -> Part:
    def draw(_seed: int, _room: Path) -> Iterator[Trial]:
        while True:
            yield from (Trial(do.__name__.strip("_"), "a trial", do) for do in done)

    return Part("a part", "lost", lambda folder: draw, share=1, size=len(done))


def test_what_dies_hangs_or_is_wrong_is_counted_and_the_rest_is_done(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(batches, "GIVEN_UP", 0.4)
    tally = Tally()
    of = part(_good, _dies, _good, _hangs, _wrong, _good)
    run(of, tally, lambda done: done >= 6, seed=1, wanted=6)
    found = {kind: (one.done, one.wrong) for kind, one in tally.counted["a part"].items()}
    assert found == {"good": (3, 0), "dies": (1, 1), "hangs": (1, 1), "wrong": (2, 1)}
    said = capsys.readouterr().err
    assert "a part, dies: the process died: and told nothing more (a trial; seed 1, batch 0, trial 2)" in said
    assert "a part, hangs: hangs: and was ended (a trial; seed 1, batch 0, trial 4)" in said
    assert "a part, wrong: lost: one (a trial; seed 1, batch 0, trial 5)" in said


def test_the_number_wanted_is_met_and_no_more() -> None:
    tally = Tally()
    run(part(_good, _good, _good), tally, lambda done: done >= 8, seed=0, at_once=2, wanted=8)
    assert tally.done("a part") == 8


def test_a_run_goes_on_where_it_stopped_and_adds_up(tmp_path: Path) -> None:
    file = tmp_path / "kept"
    first = Tally(file, lambda: "these")
    first.add("a part", first.next_batch("a part"), {"good": Counted(3), "wrong": Counted(1, 1, 2.5)})
    second = Tally(file, lambda: "these")
    assert second.next_batch("a part") == 1
    second.add("a part", 1, {"good": Counted(4, 1, 0.5)})
    third = Tally(file, lambda: "these")
    kinds = third.counted["a part"]
    assert {kind: (one.done, one.wrong, one.most) for kind, one in kinds.items()} == {
        "good": (7, 1, 0.5),
        "wrong": (1, 1, 2.5),
    }
    with pytest.raises(SystemExit, match="counts trials of other sources"):
        Tally(file, lambda: "others")
