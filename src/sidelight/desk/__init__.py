"""Desk: one function for each thing a person asks, returning a frozen report."""
