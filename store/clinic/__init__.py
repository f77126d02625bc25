"""The clinical computation: pure functions of the record, the rule version and the clinic date."""
