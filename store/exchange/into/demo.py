"""Where the fictional caseload lies: asked before anything is imported that reads one."""

from __future__ import annotations

from pathlib import Path


def demo_path() -> Path:
    """The fictional caseload: beside the installed packages, or at the top of the working copy."""
    return Path(__file__).resolve().parents[3] / "demo_caseload.json"
