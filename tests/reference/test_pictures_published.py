"""The pictures against published rules: contrast of WCAG, arcs of the SVG standard, the Moon's lit area."""

import math
import re

import pytest
from tests.strategies.picture_reading import arc_centre, commands, sky_angle

from sidelight.pictures.palette import contrast, luminance, palette
from sidelight.pictures.sheet import Sheet, moon_disc
from sidelight.pictures.svg import arc_data, sector_data


def test_luminance_and_contrast_of_wcag() -> None:
    """Black and white are 21 : 1, as the definition of contrast ratio in WCAG 2.2 states for its upper end."""
    assert luminance("#ffffff") == pytest.approx(1.0)
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#123456", "#123456") == pytest.approx(1.0)


def test_luminance_of_the_primaries_of_srgb() -> None:
    """Red, green and blue have the weights of ITU-R BT.709, which sRGB (IEC 61966-2-1) uses."""
    assert [luminance(f"#{one}") for one in ("ff0000", "00ff00", "0000ff")] == pytest.approx([0.2126, 0.7152, 0.0722])


def test_grey_at_the_edge_of_the_criterion() -> None:
    """#767676 passes 4.5 : 1 on white and #777777 fails (a value from memory, no source)."""
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("theme", ["day", "print"])
def test_text_inks_on_paper_and_water(theme: str) -> None:
    """Inks keep 4.5 : 1 on paper, the main ink on every tint, the land and the dark sky (WCAG 2.2, 1.4.3)."""
    colours = palette(theme)  # type: ignore[arg-type]
    assert min(contrast(ink, colours.paper) for ink in colours.text_inks) >= 4.5
    grounds = [*colours.tints, colours.land, colours.beam, colours.sky[-1]]
    assert min(contrast(colours.ink, ground) for ground in grounds) >= 4.5


@pytest.mark.parametrize("theme", ["day", "print", "night"])
def test_needle_and_frames_stand_out(theme: str) -> None:
    """Marks that carry meaning keep 3 : 1 on the paper (WCAG 2.2, success criterion 1.4.11)."""
    colours = palette(theme)  # type: ignore[arg-type]
    assert contrast(colours.overlay, colours.paper) >= 3.0
    assert contrast(colours.ink, colours.paper) >= 3.0


@pytest.mark.parametrize(("start", "end"), [(0.0, 10.0), (10.0, 200.0), (350.0, 370.0), (90.0, 449.0), (0.0, 180.0)])
def test_arcs_have_the_centre_that_the_standard_computes(start: float, end: float) -> None:
    """The centre found from an arc's end points by SVG 1.1, appendix F.6.5, is the centre it was drawn about."""
    centre, radius = (300.0, 250.0), 120.0
    (_, begin), (_, (rx, ry, _, large, sweep, x, y)) = commands(arc_data(centre, radius, start, end))
    assert rx == ry == radius
    assert sweep == 0  # counter-clockwise on the page: negative angles in SVG's y-down frame
    found = arc_centre((begin[0], begin[1]), (x, y), radius, int(large), int(sweep))
    if end - start == 180.0:
        assert math.dist(found, centre) < 0.05  # a half circle fixes its centre poorly
    else:
        assert found == pytest.approx(centre, abs=0.35)
    assert sky_angle(centre, (begin[0], begin[1])) == pytest.approx(start % 360, abs=0.02)
    assert math.cos(math.radians(sky_angle(centre, (x, y)) - end)) == pytest.approx(1.0, abs=1e-7)


def test_a_sector_runs_out_and_back() -> None:
    """A piece of a ring goes one way on the outer radius and back on the inner one."""
    data = commands(sector_data((0.0, 0.0), 50.0, 60.0, 20.0, 80.0))
    assert [name for name, _ in data] == ["M", "A", "L", "A", "Z"]
    assert (data[1][1][4], data[3][1][4]) == (0.0, 1.0)


@pytest.mark.parametrize("waxing", [True, False])
@pytest.mark.parametrize("lit", [0.03, 0.34, 0.5, 0.81, 1.0])
def test_the_moons_lit_area_is_its_lit_fraction(lit: float, waxing: bool) -> None:
    """The lit area of the drawn disc is the illuminated fraction of the disc.

    The fraction of the disc's area, which is also that of the diameter perpendicular to the cusps
    (Meeus, Astronomical Algorithms, chapter 48); lit on the right when waxing, for a northern observer.
    """
    radius = 100.0
    text = str(moon_disc(Sheet("day", "wide", "m"), (0.0, 0.0), radius, lit, waxing=waxing))
    data = re.search(r' d="([^"]+)"', text)
    assert data is not None
    (_, first), (_, outer), (_, inner), _ = commands(data[1])
    bulge = inner[0]
    half = math.pi * radius**2 / 2
    # the limb runs from the top to the bottom; the terminator comes back on the same side (crescent) or the other
    crescent = inner[4] != outer[4]
    area = half - math.pi * radius * bulge / 2 if crescent else half + math.pi * radius * bulge / 2
    assert area / (math.pi * radius**2) == pytest.approx(lit, abs=1e-3)
    assert (outer[4] == 1.0) == waxing  # sweep 1 from the top goes clockwise, over the right
    assert first[0] == 0.0
