"""Laws of splitting, fetching, moving and merging stars."""

import tempfile
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ground import declinations, right_ascensions
from tests.strategies.stars import fields

from sidelight.ground.angles import separation_deg
from sidelight.stars import cache
from sidelight.stars.answer import Answer
from sidelight.stars.asking import Asker
from sidelight.stars.catalogue import embedded
from sidelight.stars.fetching import cone_for, fetch_stars, split
from sidelight.stars.merged import MergedCatalogue, merge
from sidelight.stars.motion import places_at
from sidelight.stars.service import Cone, ConeService, SkyField, StarTable
from sidelight.stars.sphere import place_from

SERVICE = ConeService("Pretend", "http://localhost/?", pause_s=0.0)


def pretend_sky(field: tuple[float, float, float, float], count: int, seed: int) -> StarTable:
    """Return faint stars spread over a field and a little beyond."""
    random = np.random.default_rng(seed)
    away = 1.3 * field[3] * np.sqrt(random.uniform(0, 1, count))
    ra, dec = place_from(field[0], field[1], away, random.uniform(0, 360, count))
    nothing = np.zeros(count)
    return StarTable(ra, dec, random.uniform(11.9, 14.0, count), nothing, nothing, np.full(count, 2000.0))


class PretendAsker(Asker):
    """A service in memory that flags what it cuts."""

    sky: StarTable
    most: int

    def ask(self, cone: Cone) -> Answer:
        """Return what a service with a row limit would."""
        self.questions += 1
        away = separation_deg(cone.ra_deg, cone.dec_deg, self.sky.ra_deg, self.sky.dec_deg)
        rows = np.flatnonzero(away <= cone.radius_deg)
        kept = self.sky.pick(rows[: self.most])
        return Answer(kept, len(rows) > self.most, len(kept), 0, float(away[rows].max(initial=0.0)))


@settings(max_examples=30, deadline=None)
@given(right_ascensions, declinations, st.floats(0.05, 5.0), st.integers(0, 2**32 - 1))
def test_seven_parts_cover_a_cone(ra: float, dec: float, radius: float, seed: int) -> None:
    """Every place of a cone, its edge included, lies in one of its parts."""
    random = np.random.default_rng(seed)
    away = radius * np.sqrt(np.r_[random.uniform(0, 1, 300), np.ones(100)])
    place_ra, place_dec = place_from(ra, dec, away, random.uniform(0, 360, 400))
    parts = split(Cone(ra, dec, radius))
    inside = [separation_deg(p.ra_deg, p.dec_deg, place_ra, place_dec) <= p.radius_deg for p in parts]
    assert np.all(np.any(inside, axis=0))
    assert all(part.radius_deg < 0.52 * radius for part in parts)


@settings(max_examples=25, deadline=None)
@given(fields(), st.integers(1, 200), st.integers(30, 90), st.integers(0, 2**32 - 1))
def test_a_fetch_brings_every_star_of_the_annulus(
    field: tuple[float, float, float, float], count: int, most: int, seed: int
) -> None:
    """Whatever the service's row limit, no star of the annulus is missing, and nothing is asked twice."""
    asker = PretendAsker(SERVICE, 14.0)
    asker.sky, asker.most = pretend_sky(field, count, seed), most
    wanted = SkyField("x", *field)
    with tempfile.TemporaryDirectory() as name:
        fetch_stars(Path(name), [wanted], SERVICE, 14.0, asker=asker)
        before = asker.questions
        fetch_stars(Path(name), [wanted], SERVICE, 14.0, asker=asker)
        assert asker.questions == before
        pieces, _ = cache.load_all(Path(name))
    away = separation_deg(field[0], field[1], asker.sky.ra_deg, asker.sky.dec_deg)
    needed = (away >= field[2]) & (away <= field[3])
    kept = {place for piece in pieces for place in zip(piece.stars.ra_deg, piece.stars.dec_deg, strict=True)}
    assert set(zip(asker.sky.ra_deg[needed], asker.sky.dec_deg[needed], strict=True)) <= kept
    covers = [cone for piece in pieces for cone in piece.covers]
    inside = [
        separation_deg(c.ra_deg, c.dec_deg, asker.sky.ra_deg, asker.sky.dec_deg) <= c.radius_deg for c in covers
    ]
    assert np.all(np.any(inside, axis=0)[needed]) if covers else not np.any(needed)


@given(fields())
def test_the_cone_of_a_field_holds_it(field: tuple[float, float, float, float]) -> None:
    """What is asked for is never narrower than the field, and less than a tenth of a degree wider."""
    cone = cone_for(SkyField("x", *field))
    assert field[3] < cone.radius_deg < field[3] + 0.1


@settings(deadline=None)
@given(
    right_ascensions,
    st.floats(-90.0, 90.0),
    st.floats(-10_000, 10_000),
    st.floats(-10_000, 10_000),
    st.floats(-50, 50),
)
def test_motion_goes_as_far_as_it_says(ra: float, dec: float, pm_ra: float, pm_dec: float, years: float) -> None:
    """A star moves in a straight line by its proper motion times the years, in any direction, at the poles too."""
    one = StarTable(*(np.array([value]) for value in (ra, dec, 9.0, pm_ra, pm_dec, 2016.0)))
    moved = places_at(one, 2016.0 + years)
    away = separation_deg(ra, dec, *moved)[0] * 3.6e6
    straight = np.degrees(np.arctan(np.radians(abs(years) * np.hypot(pm_ra, pm_dec) / 3.6e6))) * 3.6e6
    assert abs(away - straight) < 0.01


@settings(max_examples=20, deadline=None)
@given(fields(), st.integers(0, 60), st.integers(0, 2**32 - 1))
def test_merging_loses_no_star_and_doubles_none(
    field: tuple[float, float, float, float], count: int, seed: int
) -> None:
    """Merged with a deep table, a cone has each deep star once, and each shipped star or its match once."""
    deep = pretend_sky(field, count, seed)
    here = Cone(field[0], field[1], field[3])
    base = embedded().cone(*vars(here).values())
    pieces = [cache.Piece("Deep", "http://deep/?", (here,), 14.0, 14.0, deep)]
    merged = MergedCatalogue(merge(pieces, embedded()), embedded(), 2000.0).cone(*vars(here).values())
    places = list(zip(merged.ra_deg.round(7), merged.dec_deg.round(7), strict=True))
    assert len(places) == len(set(places))
    away = separation_deg(here.ra_deg, here.dec_deg, deep.ra_deg, deep.dec_deg)
    assert merged.origin is not None
    assert int(np.sum(merged.origin == 1)) == int(np.sum(away <= here.radius_deg))
    for ra, dec in zip(base.ra_deg, base.dec_deg, strict=True):
        assert separation_deg(ra, dec, merged.ra_deg, merged.dec_deg).min() * 3600.0 <= 3.0
