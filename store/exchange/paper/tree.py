"""An HTML page as a tree of elements: whatever a record holds is escaped, and nothing is fetched."""

from __future__ import annotations

from importlib.resources import files
from xml.etree.ElementTree import Element, tostring

from armrise.store.record.visible import visible

POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""No script, no image, no font, no address: what a page may do where it is opened."""


def element(tag: str, text: str = "", **attributes: object) -> Element:
    """An element; ``_`` at the end of a name is dropped and one inside it is a hyphen. Every sign is seen."""
    named = {key.rstrip("_").replace("_", "-"): visible(str(value)) for key, value in attributes.items()}
    made = Element(tag, named)
    made.text = visible(text) or None
    return made


def lined(tag: str, text: str, **attributes: object) -> Element:
    """An element whose text may have several lines."""
    first, *more = text.split("\n")
    made = element(tag, first, **attributes)
    for line in more:
        made.append(element("br"))
        made[-1].tail = visible(line)
    return made


def mark_of(kind: str) -> str:
    """How every page of a kind begins: a file that begins otherwise is never replaced by one."""
    return f"<!doctype html>\n<!-- {kind[:1].upper()}{kind[1:]}, written by armrise -->\n"


def as_document(kind: str, title: str, style: str, body: Element, language: str = "en") -> str:
    """The whole page: its mark, one head for all of the program, and the body. ``style`` is a style sheet."""
    root = element("html", lang=language)
    root.extend([_head(title, style), body])
    return mark_of(kind) + tostring(root, encoding="unicode", method="html") + "\n"


def _head(title: str, style: str) -> Element:
    head = element("head")
    head.append(element("meta", charset="utf-8"))
    head.append(Element("meta", {"http-equiv": "Content-Security-Policy", "content": POLICY}))
    head.append(element("meta", name="viewport", content="width=device-width, initial-scale=1"))
    head.append(element("title", title))
    sheet = element("style")
    sheet.text = style
    head.append(sheet)
    return head


def style_sheet(name: str) -> str:
    """The text of a style sheet that lies beside this."""
    return files("armrise.store.exchange.paper").joinpath(name).read_text("utf-8")
