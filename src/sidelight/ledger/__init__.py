"""Ledger: frames collected, FITS headers, measured angles."""
