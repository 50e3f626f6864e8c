"""Disturbing the physics one spot at a time: the spots, the tests that pass through them, the runs, the page."""
