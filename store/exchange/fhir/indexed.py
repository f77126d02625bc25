"""A bundle as it was decoded, its resources found by their references; what is wrong with its shape.

Nothing of it is trusted: a bundle may come from anywhere, and an element may hold anything.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, cast

from armrise.store.entries.words import Fault, quoted, shown
from armrise.store.exchange.fhir.systems import BUNDLES, STATUSES
from armrise.store.exchange.into.strict_json import TWICE
from armrise.store.record.visible import visible

Json = dict[str, Any]
DEEPEST = 40
"""Levels that a resource may be nested: the deepest of the standard's own examples has half as many."""
LABEL = 60


def mapping(value: Any) -> Json:
    """The value where it is an object, else an empty one."""
    return cast("Json", value) if isinstance(value, dict) else {}


def several(value: Any) -> list[Any]:
    """The value where it is a list, else an empty one."""
    return cast("list[Any]", value) if isinstance(value, list) else []


def text_of(value: Any) -> str:
    """The value where it is a text, else an empty one."""
    return value if isinstance(value, str) else ""


def objects(value: Any) -> list[Json]:
    """The objects in a list."""
    return [cast("Json", one) for one in several(value) if isinstance(one, dict)]


def coded(value: Any, system: str) -> list[str]:
    """The codes of one system in a CodeableConcept."""
    codings = objects(mapping(value).get("coding"))
    return [text_of(one.get("code")) for one in codings if one.get("system") == system]


def identified(value: Any, system: str) -> list[str]:
    """The different values of one system in a list of identifiers."""
    values = [text_of(one.get("value")) for one in objects(value) if one.get("system") == system]
    return list(dict.fromkeys(filter(None, values)))


@dataclass(frozen=True, slots=True, eq=False)
class Resource:
    """One resource: its type, what a fault calls it, and what it holds."""

    type: str
    label: str
    body: Json


@dataclass
class Indexed:
    """The resources of a bundle in their order, by every reference that may lead to them, and the faults."""

    resources: list[Resource] = field(default_factory=list[Resource])
    by_reference: dict[str, Resource] = field(default_factory=dict[str, Resource])
    faults: list[Fault] = field(default_factory=list[Fault])
    without: int = 0
    """Entries that hold no resource."""

    def fault(self, where: Resource | None, element: str, message: str) -> None:
        """Keep one fault of an element of a resource."""
        self.faults.append(Fault("", where.label if where else "", element, message))

    def of(self, kind: str) -> Iterator[Resource]:
        """The resources of one type."""
        return (resource for resource in self.resources if resource.type == kind)

    def led_to(self, reference: Any) -> Resource | None:
        """The resource a Reference leads to, None for one that is not in the bundle."""
        return self.by_reference.get(text_of(mapping(reference).get("reference")))


def is_fhir(data: Any) -> bool:
    """True for what calls itself a resource, a bundle or another."""
    return isinstance(data, dict) and "resourceType" in data


def indexed(data: Json) -> Indexed:
    """The bundle taken apart, with every fault of its shape."""
    found = Indexed()
    kind, sort, entries = data.get("resourceType"), data.get("type"), data.get("entry", [])
    if kind != "Bundle":
        found.fault(None, "resourceType", f'{shown(kind)} is not allowed, allowed is "Bundle"')
    elif sort not in BUNDLES:
        found.fault(None, "type", f"{shown(sort)} is not allowed, allowed is one of {quoted(BUNDLES)}")
    elif not isinstance(entries, list):
        found.fault(None, "entry", f"{shown(entries)} is no list of entries")
    elif TWICE in data:
        found.fault(None, shown(several(data[TWICE])[0]), "is given twice in one object")
    if not found.faults:
        for number, entry in enumerate(cast("list[Any]", entries), 1):
            _add(found, number, entry)
        _doubled(found, cast("list[Any]", entries))
        for resource in found.resources:
            _look(found, resource)
    return found


def _add(found: Indexed, number: int, raw: Any) -> None:
    entry = mapping(raw)
    if "resource" not in entry and isinstance(raw, dict):
        found.without += 1
        return
    body = mapping(entry.get("resource"))
    kind = text_of(body.get("resourceType"))
    if not kind:
        found.fault(None, f"entry {number}", "holds no resource with a resourceType")
        return
    name = text_of(body.get("id"))
    label = visible(f"{kind}/{name}" if name else f"entry {number} ({kind})")
    resource = Resource(kind, label if len(label) <= LABEL else f"{label[: LABEL - 3]}...", body)
    found.resources.append(resource)
    for reference in (text_of(entry.get("fullUrl")), f"{kind}/{name}" if name else ""):
        if reference:
            found.by_reference.setdefault(reference, resource)


def _doubled(found: Indexed, entries: list[Any]) -> None:
    # A history holds several versions of one resource, which armrise does not tell apart.
    urls = Counter(text_of(mapping(entry).get("fullUrl")) for entry in entries)
    for url, times in urls.items():
        if url and times > 1:
            found.fault(None, "fullUrl", f"{shown(url)} is given to {times} entries, each needs its own")
    names = Counter((r.type, text_of(r.body.get("id"))) for r in found.resources if text_of(r.body.get("id")))
    for (kind, name), times in names.items():
        if times > 1 and not any(n > 1 for url, n in urls.items() if url.endswith(name)):
            found.fault(None, "id", f"{shown(f'{kind}/{name}')} is given to {times} resources")


def _look(found: Indexed, resource: Resource) -> None:
    """The faults of any resource: nested too deeply, a key twice, a status, a dead reference."""
    allowed = STATUSES.get(resource.type)
    status = resource.body.get("status")
    if allowed and (not isinstance(status, str) or status not in allowed):
        say = "is missing, needed" if status is None else f"{shown(status)} is not allowed, allowed"
        found.fault(resource, "status", f"{say} is one of {quoted(allowed)}")
    waiting: list[tuple[Any, int]] = [(resource.body, 1)]
    while waiting:
        value, depth = waiting.pop()
        if depth > DEEPEST:
            found.fault(resource, "", f"is nested deeper than {DEEPEST} levels")
            return
        if isinstance(value, list):
            waiting += [(part, depth + 1) for part in cast("list[Any]", value)]
        elif isinstance(value, dict):
            told = cast("Json", value)
            _look_at(found, resource, told)
            waiting += [(part, depth + 1) for name, part in told.items() if name != TWICE]


def _look_at(found: Indexed, resource: Resource, told: Json) -> None:
    if TWICE in told:
        found.fault(resource, shown(several(told[TWICE])[0]), "is given twice in one object")
    reference = told.get("reference")
    # A urn leads to nothing outside its bundle; an address may, and is asked for where it is needed.
    if isinstance(reference, str) and reference.startswith("urn:") and reference not in found.by_reference:
        found.fault(resource, "reference", f"{shown(reference)} is not in the bundle")
