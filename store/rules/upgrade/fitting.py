"""What was shipped fitted to a clinic that took exercises, stages or pathways out of its rules."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from armrise.store.rules.upgrade.blocks import Block, Statement

Made = Mapping[str, list[Block]]


def fitted(made: Made) -> None:
    """Leaves out what names an exercise, a stage or a pathway that the clinic does not have."""
    for found in made.values():
        _ladders(found)
        stages = [str(block.said.get("code")) for block in found if block.path == ("stage",)]
        _stages(found[0], stages)
        for block in found:
            elsewhere = block.said.get("load_class_in", {})
            if any(f"{code}.toml" not in made for code in elsewhere):
                del block.statements["load_class_in"]


def _ladders(found: list[Block]) -> None:
    known = [str(block.said.get("name")) for block in found if block.path == ("exercise",)]
    for block in [one for one in found if one.path == ("ladder",)]:
        rungs: list[str] = [rung for rung in block.said["rungs"] if rung in known]
        _listed(block, "rungs", rungs)
        if len(rungs) < 2:
            found.remove(block)


def _stages(head: Block, stages: Sequence[str]) -> None:
    """A reason without the stage it begins with holds from the first day on."""
    if "measure_range" in head.statements:
        _listed(head, "measure_range", [one for one in head.said["measure_range"] if one in stages])
    begins: Any = head.said.get("lift_rule_from")
    if isinstance(begins, dict) and "stage" in begins and begins["stage"] not in stages:
        del head.statements["lift_rule_from"]


def _listed(block: Block, key: str, words: Sequence[str]) -> None:
    if words != block.said[key]:
        block.statements[key] = Statement([f"{key} = {json.dumps(words, ensure_ascii=False)}"], words)
