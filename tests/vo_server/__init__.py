"""Servers of stars for the tests: one of our own that misbehaves on demand, and how to set up a real one."""
