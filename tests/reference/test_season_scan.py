"""Windows against a brute-force scan: ERFA's whole chain to the observer at every instant, no shortcut of ours."""

import datetime as dt
import warnings
from collections.abc import Callable

import erfa
import numpy as np
import pytest
from tests.strategies.season import grazing_places, random_places, random_site

from sidelight.season.windows import SeasonTable, target_windows
from sidelight.sky.site import Site

STEP_S = 60.0
EDGE_S = 10.0
GRAZING_DEG = 2.0 / 3600.0
MJD_ZERO = 2400000.5
TT_MINUS_UTC_DAYS = 69.184 / 86400.0  # since 2017, IERS Bulletin C
SUN_PARALLAX_DEG = 8.794143 / 3600.0  # at 1 au, IAU 1976

Margin = Callable[[float, float, np.ndarray], np.ndarray]


class Scan:
    """The sky over a site at many instants by ERFA (apco13, atciq, atioq), without air; the air by Bennett."""

    def __init__(self, site: Site, mjd: np.ndarray) -> None:
        self.site = site
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", erfa.ErfaWarning)
            self.frame, self.origins = erfa.apco13(
                *(MJD_ZERO, mjd, 0.0, np.radians(site.longitude_deg), np.radians(site.latitude_deg)),
                *(site.elevation_m, 0.0, 0.0, 0.0, 0.0, 0.0, 0.5),
            )
        earth = erfa.epv00(MJD_ZERO, mjd + TT_MINUS_UTC_DAYS)[0]["p"]
        sun_deg, _ = self.altitude_azimuth(*np.degrees(erfa.c2s(-earth)))
        self.sun_deg = sun_deg - SUN_PARALLAX_DEG * np.cos(np.radians(sun_deg)) / np.linalg.norm(earth, axis=-1)

    def altitude_azimuth(self, ra_deg: np.ndarray | float, dec_deg: np.ndarray | float) -> tuple[np.ndarray, ...]:
        """Return true altitude and azimuth of an ICRS place, degrees."""
        place = erfa.atciq(np.radians(ra_deg), np.radians(dec_deg), 0.0, 0.0, 0.0, 0.0, self.frame)
        azimuth, zenith_distance, *_ = erfa.atioq(*place, self.frame)
        return 90.0 - np.degrees(zenith_distance), np.degrees(azimuth)

    def margin_deg(self, ra_deg: float, dec_deg: float) -> np.ndarray:
        """Return by how much a target is usable: the smaller of its height over the edge and the Sun's depth."""
        true_deg, azimuth = self.altitude_azimuth(ra_deg, dec_deg)
        horizon = self.site.horizon
        edge = np.interp(azimuth, horizon.azimuth_deg, horizon.altitude_deg, period=360.0)
        edge = np.maximum(edge, self.site.floor_deg)
        over = true_deg - (edge - lift_deg(edge, self.site.elevation_m))
        return np.minimum(over, self.site.twilight_deg - self.sun_deg)


def lift_deg(apparent_deg: np.ndarray, elevation_m: float) -> np.ndarray:
    """Return refraction by Bennett's formula (Meeus 16.3) in the International Standard Atmosphere (ISO 2533)."""
    kelvin = 288.15 - 0.0065 * elevation_m
    pressure = 1013.25 * (kelvin / 288.15) ** 5.25588
    bennett = 1.0 / np.tan(np.radians(apparent_deg + 7.31 / (apparent_deg + 4.4))) / 60.0
    return np.maximum(bennett, 0.0) * pressure / 1010.0 * 283.0 / (kelvin - 0.15)


def disagreements(site: Site, table: SeasonTable, number: int, ra: np.ndarray, dec: np.ndarray) -> list[str]:
    """Return where the windows of one night and the scan disagree.

    Every minute both must say the same, but within 10 s of a window's edge or where the margin is under 2″. Around
    each edge the state must change within 10 s either way; or else the object grazes (its altitude against the edge
    changes by less than 0.2″ a second), and the margin at the edge must be under 2″.
    """
    night = table.darkness.nights[number]
    grid = np.arange(night.start_mjd, night.end_mjd, STEP_S / 86400.0)
    scan = Scan(site, grid)
    found, owner, edges = [], [], []
    for row in range(len(ra)):
        windows = table.windows(row, number)
        inside = np.any((grid[:, None] > windows[:, 0]) & (grid[:, None] < windows[:, 1]), axis=1)
        near = np.min(np.abs(grid[:, None] - windows.ravel()), axis=1, initial=1.0) * 86400.0 <= EDGE_S
        margin = scan.margin_deg(ra[row], dec[row])
        wrong = ~near & ((margin > 0) != inside) & (np.abs(margin) > GRAZING_DEG)
        found += [f"target {row} at {mjd:.5f}: margin {m:.5f}" for mjd, m in zip(grid[wrong], margin[wrong])]  # noqa: B905
        inner = windows[(windows > night.start_mjd + 1e-9) & (windows < night.end_mjd - 1e-9)]
        owner += [row] * len(inner)
        edges += inner.tolist()
    if edges:
        at = np.array(edges)
        asides = np.array([-EDGE_S, -1.0, -0.1, 0.0, 0.1, 1.0, EDGE_S]) / 86400.0
        margins = np.array([Scan(site, at + aside).margin_deg(ra[owner], dec[owner]) for aside in asides])
        changes = np.any(margins > 0, axis=0) & np.any(margins <= 0, axis=0)
        loose = np.flatnonzero(~changes & (np.abs(margins[3]) > GRAZING_DEG))
        found += [f"edge of target {owner[k]} at {at[k]:.5f}: {margins[:, k]}" for k in loose]
    return found


@pytest.mark.parametrize("seed", range(12))
def test_random_windows_agree_with_a_scan(seed: int) -> None:
    """For random sites, skylines, targets and dates each edge is within 10 s of the scan's, and none is missing."""
    random = np.random.default_rng(seed)
    site = random_site(random)
    places = [random_places(random, 40), grazing_places(random, site, 10)]
    ra, dec = (np.concatenate(column) for column in zip(*places, strict=True))
    first = dt.date(2017, 6, 1) + dt.timedelta(days=int(random.integers(0, 12_000)))
    table = target_windows(site, ra, dec, first, 365)
    # nights with many edges among them
    lively = np.argsort(np.diff(table.offsets).reshape(len(ra), -1).sum(axis=0))[-40:]
    for number in [*random.choice(365, 2, replace=False).tolist(), int(random.choice(lively))]:
        found = disagreements(site, table, number, ra, dec)
        assert not found, f"{site} night {number} from {first}\n" + "\n".join(found)
