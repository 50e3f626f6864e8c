"""Targets: deep-sky objects, their names and outlines, and the user's own targets."""
