"""Command line: what people type."""
