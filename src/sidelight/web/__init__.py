"""Web: the local page."""
