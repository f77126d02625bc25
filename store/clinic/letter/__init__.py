"""The letter to a referrer or surgeon: eight plain lines from the record, numbers and dates, no adjectives."""
