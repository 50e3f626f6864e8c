"""Sidelight plans a deep-sky imaging season: season, set-up, bench, night, ledger."""

__version__ = "0.1.0"
