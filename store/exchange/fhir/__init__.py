"""HL7 FHIR R4: a caseload as a bundle of resources, and back."""
