"""Ground: angles, interval sets, root finding that knows no sky, and the error family."""
