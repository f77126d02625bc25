"""The letter to a referrer or surgeon: eight plain lines of numbers and dates, no adjectives."""
