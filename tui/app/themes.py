"""The colours, dark and light: calm, one accent."""

from __future__ import annotations

from dataclasses import replace

from textual.theme import Theme

DARK = Theme(
    name="armrise-dark",
    primary="#b4b0a5",
    accent="#b4b0a5",
    foreground="#dcd9d0",
    background="#1f2022",
    surface="#26272a",
    panel="#33353a",
    warning="#e0b35a",
    error="#e58a6b",
    success="#8fb9a8",
    secondary="#8fb9a8",
    dark=True,
    variables={
        "text-muted": "#a3a199",
        "footer-key-foreground": "#dcd9d0",
        "act-today": "#e0b35a",
        "side-left": "#9dbbd8",
        "side-right": "#c8b0d4",
    },
)
LIGHT = Theme(
    name="armrise-light",
    primary="#65625a",
    accent="#65625a",
    foreground="#22211f",
    background="#faf8f2",
    surface="#f1eee5",
    panel="#dedace",
    warning="#7a4e00",
    error="#9c3312",
    success="#2e6a57",
    secondary="#2e6a57",
    dark=False,
    variables={
        "text-muted": "#5d5a52",
        "footer-key-foreground": "#22211f",
        "act-today": "#7a4e00",
        "side-left": "#27567f",
        "side-right": "#6b3f7c",
    },
)

# A terminal of sixteen colours shows the nearest it has: of the colours above one grey for what to act
# on today and for what can be looked up, and on light ground a row under the cursor like every other.
FEW_DARK = replace(
    DARK,
    variables=DARK.variables | {"act-today": "#ffff00", "side-left": "#ffffff", "side-right": "#ffffff"},
)
FEW_LIGHT = replace(
    LIGHT,
    error="#000000",
    panel="#c0c0c0",
    variables=LIGHT.variables
    | {"act-today": "#800000", "text-muted": "#000000", "side-left": "#000080", "side-right": "#800080"},
)
