"""Laws of light at the desk: more Moon, more camera noise and a brighter sky never add worth where they cannot."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.desk.exposure import exposure_report
from sidelight.desk.exposure_records import ExposureQuestion
from sidelight.desk.light import effective_hours_table, filter_of
from sidelight.notebook.read import Notebook
from sidelight.season.windows import target_windows

FILTERS = ("L", "R", "G", "B", "Ha", "OIII", "SII")


@given(
    day=st.dates(dt.date(2025, 1, 1), dt.date(2045, 1, 1)),
    name=st.sampled_from(FILTERS),
    latitude=st.floats(-80.0, 80.0),
)
@settings(max_examples=25, deadline=None)
def test_effective_hours_never_exceed_dark_ones(book: Notebook, day: dt.date, name: str, latitude: float) -> None:
    """Wherever and whenever: effective hours ≤ moonless effective ones ≤ dark ones, and none where there is none."""
    there = replace(book, site=replace(book.site, latitude_deg=latitude))
    ra, dec = [one.ra_deg for one in book.targets], [one.dec_deg for one in book.targets]
    table = target_windows(there.site, ra, dec, day, 3)
    hours = effective_hours_table(there, book.targets, table, filter_of(book, name))
    assert np.all(hours.effective_h <= hours.moonless_h + 1e-9)
    assert np.all(hours.moonless_h <= table.dark_hours_h + 1e-4)
    assert np.all((hours.moonless_h > 0) == (table.dark_hours_h > 0))
    assert np.all((hours.moon_cost_share >= 0) & (hours.moon_cost_share <= 1))


@given(
    name=st.sampled_from(FILTERS),
    hours=st.floats(0.1, 500.0),
    brightness=st.floats(15.0, 30.0),
    fainter=st.floats(0.1, 3.0),
)
@settings(max_examples=25, deadline=None)
def test_fainter_objects_need_more_hours(
    book: Notebook, name: str, hours: float, brightness: float, fainter: float
) -> None:
    """A fainter object reaches less in the same hours and needs more for the same; twice the hours give √2."""

    def asked(mag: float, time_h: float) -> tuple[float, float]:
        question = ExposureQuestion(
            dt.date(2027, 3, 6), filters=(name,), hours_h=time_h, brightness_mag_arcsec2=mag, wanted_snr=5.0
        )
        (one,) = exposure_report(book, question).filters
        assert one.snr_per_arcsec2 is not None
        assert one.hours_for_snr_per_arcsec2 is not None
        return one.snr_per_arcsec2, one.hours_for_snr_per_arcsec2

    snr, needed = asked(brightness, hours)
    faint_snr, faint_needed = asked(brightness + fainter, hours)
    assert faint_snr < snr
    assert faint_needed > needed
    assert asked(brightness, 2.0 * hours)[0] == pytest.approx(snr * np.sqrt(2.0))
