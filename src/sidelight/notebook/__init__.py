"""Notebook: reading, checking and writing the user's plain files."""
