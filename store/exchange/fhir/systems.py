"""The names FHIR goes by: systems of codes and identifiers, and the words the standard allows.

A system of our own is a urn:uuid, drawn once: no host of anybody is named, nothing can be fetched from it.
"""

from __future__ import annotations

from uuid import UUID

VERSION = "4.0.1"
PERSON = "urn:uuid:6bddb065-7a30-4d30-b4ca-20db9d00fb45"
"""Codes of persons, as the cases of a clinic carry them."""
CASE = "urn:uuid:cbb17052-8595-4060-aaa4-c18d1c3de402"
"""Codes of cases."""
STAFF = "urn:uuid:79ef16c4-fe0d-4f62-9074-b77f68d2397f"
"""Initials of those who treat and record."""
LOCAL = "urn:uuid:51733250-a564-40d6-83c8-67efa985e4f1"
"""The record's own words, where they are codes."""
PATHWAY = "urn:uuid:d4aeec05-ed24-42e6-85ce-da4b73941e38"
"""Pathways and stages, by the codes of the rule files."""
STATED = "urn:uuid:e5d0083b-ceda-4a86-a3f3-4b30e36b7edd"
"""The extension with what an entry states and no element of the standard says."""
NAMESPACE = UUID("82d55c4c-e0a1-43de-b27d-d55839fb3d6b")

LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
ABSENT_ELEMENT = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
EPISODE = "http://hl7.org/fhir/StructureDefinition/workflow-episodeOfCare"
"""The standard's own extension that says to which episode of care a resource belongs."""
CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"
CLINICAL = "http://terminology.hl7.org/CodeSystem/condition-clinical"
CLASS = "http://terminology.hl7.org/CodeSystem/v3-ActCode"
CANCELLED = "http://terminology.hl7.org/CodeSystem/appointment-cancellation-reason"
REASON = "http://terminology.hl7.org/CodeSystem/v3-ActReason"

STATUSES: dict[str, tuple[str, ...]] = {
    "Observation": (
        *("registered", "preliminary", "final", "amended", "corrected"),
        *("cancelled", "entered-in-error", "unknown"),
    ),
    "EpisodeOfCare": (
        *("planned", "waitlist", "active", "onhold", "finished", "cancelled", "entered-in-error"),
    ),
    "Encounter": (
        *("planned", "arrived", "triaged", "in-progress", "onleave", "finished", "cancelled"),
        *("entered-in-error", "unknown"),
    ),
    "CarePlan": (*("draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"),),
    "Appointment": (
        *("proposed", "pending", "booked", "arrived", "fulfilled", "cancelled", "noshow"),
        *("entered-in-error", "checked-in", "waitlist"),
    ),
    "Task": (
        *("draft", "requested", "received", "accepted", "rejected", "ready", "cancelled"),
        *("in-progress", "on-hold", "failed", "completed", "entered-in-error"),
    ),
}
"""The status that each resource may have, as R4 lists them: a validator of shapes does not look."""
STANDS = ("final", "amended", "corrected")
"""The statuses of an Observation whose value stands."""
BUNDLES = (
    *("collection", "document", "message", "searchset", "transaction", "batch"),
    *("transaction-response", "batch-response", "history"),
)
WITHDRAWN = "entered-in-error"
REVIEW = "review"
"""The code of a Task that is a review owed."""
