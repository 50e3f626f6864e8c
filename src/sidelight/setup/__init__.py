"""Set-up: rings, framing, the joint solution, and what would help."""
