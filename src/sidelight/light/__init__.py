"""Light: effective hours, exposure maths, the guider's reach."""
