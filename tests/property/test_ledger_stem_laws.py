"""Whatever the stem and however its camera is seated: exact places give it back exactly."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.stem import FOCAL_MM, Spot, Stem, sightings_of, true_stems

from sidelight.ground.angles import turn_deg
from sidelight.ledger.stem_fit import fit_stem

CORNERS = [Spot(1.6, 2.8, 1e-5), Spot(-1.2, 2.1, 1e-5), Spot(1.3, -2.5, 1e-5), Spot(-0.4, -1.8, 1e-5)]


@given(stem=true_stems, count=st.integers(2, 4))
@settings(max_examples=40, deadline=None)
def test_exact_places_give_the_stem_back(stem: Stem, count: int) -> None:
    """From a stem hardly longer than the sensor to a long one, turned, tilted and mirrored as it may be."""
    # two stars mirrored may be taken for a stem that stands elsewhere
    stem = stem if count > 2 else replace(stem, quarters=0, mirrored=False)
    fit = fit_stem(sightings_of(stem, CORNERS[:count]), FOCAL_MM, seat_deg=2.0, seating_known=count == 2)
    assert (fit.quarter_turns, fit.mirrored, fit.seating_settled) == (stem.quarters, stem.mirrored, True)
    assert fit.stem_radius_mm.value == pytest.approx(stem.radius_mm, abs=1e-5)
    assert abs(turn_deg(fit.stem_offset_deg.value, stem.offset_deg)) < 1e-4
    assert fit.tilt_deg.value == pytest.approx(stem.tilt_deg, abs=1e-4)
    assert fit.misfit_mm < 1e-6
    assert fit.determined
    assert [note for note in fit.notes if "against what the rig says" not in note] == []
