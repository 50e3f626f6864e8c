"""Astropy's table of the Earth's rotation as it lies in its package: nothing is fetched, no date is refused."""

import contextlib
from collections.abc import Iterator


@contextlib.contextmanager
def rotation_as_packed() -> Iterator[None]:
    """Let astropy use the table it has, however old, and UT1 = UTC after the table's end."""
    from astropy.utils import iers

    with (
        iers.conf.set_temp("auto_download", False),
        iers.conf.set_temp("auto_max_age", None),
        iers.conf.set_temp("iers_degraded_accuracy", "ignore"),
    ):
        yield
