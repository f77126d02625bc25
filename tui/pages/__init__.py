"""Pages over the whole caseload: the weekly sweep, the audit, the trial of changed rules."""
