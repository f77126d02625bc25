"""HL7 FHIR R4 (4.0.1): a case as a bundle of resources, and what of a bundle the record can hold."""
