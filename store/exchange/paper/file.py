"""A page for paper as a file: HTML or PDF, as its name ends; over nothing but a page of its own kind."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from armrise.store.database.place import StoreError
from armrise.store.exchange.out.private_file import Mark, write_private
from armrise.store.exchange.paper.html import as_html
from armrise.store.exchange.paper.page import Page
from armrise.store.exchange.paper.pdf import as_pdf, producer
from armrise.store.exchange.paper.tree import mark_of

HTML, PDF = ".html", ".pdf"


def form_of(name: str) -> str:
    """How a page of that name is written, ".html" or ".pdf". Raises StoreError for any other ending."""
    ending = Path(name).suffix.casefold()
    if ending not in (HTML, PDF):
        raise StoreError(f"a page for paper is HTML or PDF: give a name that ends in {HTML} or {PDF}")
    return ending


def made(page: Page, form: str, size: str = "A4") -> tuple[str | bytes, Mark]:
    """The page in a form, and what knows a file of its kind. Raises StoreError without the library."""
    if form == HTML:
        return as_html(page), mark_of(page.kind)
    return as_pdf(page, size), lambda path: is_pdf_of(path, page.kind)


def write_page(path: Path, page: Page, size: str = "A4", force: bool | None = None) -> None:
    """Write the page whole or not at all, for its owner alone. Raises StoreError.

    What lies there and is no page of this kind is kept, unless ``force``; None where nobody can ask for that.
    """
    text, mark = made(page, form_of(path.name), size)
    write_private(path, text, page.kind, mark, force)


def is_pdf_of(path: Path, kind: str) -> bool:
    """Whether a PDF of that kind, written here, lies there."""
    try:
        with path.open("rb") as file:
            begins = file.read(5)
            return begins == b"%PDF-" and producer(kind) in file.read()
    except OSError:
        return False


def write_for_paper(path: Path, page: Page) -> str:
    """Write the page as HTML and, where its library is installed, as PDF, beside ``path``.

    Gives ``path`` with what was written beside it, in words. Raises StoreError.
    """
    forms = [HTML, *([PDF] if find_spec("fpdf") else [])]
    for form in forms:
        write_page(path.with_suffix(form), page)
    beside = ", ".join(form for form in forms if form != path.suffix)
    return f"{path} and {beside} beside it" if beside else str(path)
