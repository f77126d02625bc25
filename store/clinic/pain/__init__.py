"""How the shoulder answers to load: baseline, classes of session, runs of good ones, flares, irritability."""
