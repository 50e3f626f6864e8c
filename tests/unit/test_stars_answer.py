"""Tables of stars as services and files give them: columns, units, gaps, encodings."""

import io

import numpy as np
import pytest
from astropy.io.votable import from_table
from astropy.table import Column, MaskedColumn, Table
from tests.vo_server.faulty import NEW_UCDS, OLD_UCDS, votable

from sidelight.ground.errors import BadInput
from sidelight.stars.answer import Broken, Refused, read_answer
from sidelight.stars.columns import star_table
from sidelight.stars.gaia import v_from_gaia_mag
from sidelight.stars.service import ColumnMap, Cone, ConeService

HERE = Cone(10.0, 40.0, 1.0)
PLAIN = ConeService("Test", "http://localhost/?", epoch_year=2000.0)
ROWS = [("A", 10.0, 40.0, 9.0), ("B", 10.1, 40.1, 12.5), ("C", 30.0, 40.0, 8.0)]


def column(name: str, values: list[object], ucd: str = "", unit: str | None = None) -> Column:
    """Return a column with a UCD and a unit."""
    return Column(values, name=name, unit=unit, meta={"ucd": ucd} if ucd else {})


def gaia_table() -> Table:
    """Return three stars with the archive's column names: one without colour, one without proper motion."""
    gap = float("nan")
    return Table(
        [
            column("source_id", [1, 2, 3], "meta.id;meta.main"),
            column("ra", [10.0, 10.1, 10.2], "pos.eq.ra;meta.main", "deg"),
            column("dec", [40.0, 40.1, 40.2], "pos.eq.dec;meta.main", "deg"),
            column("ref_epoch", [2016.0] * 3, "meta.ref;time.epoch", "yr"),
            column("pmra", [100.0, 5.0, gap], "pos.pm;pos.eq.ra", "mas/yr"),
            column("pmdec", [-50.0, 5.0, gap], "pos.pm;pos.eq.dec", "mas/yr"),
            column("phot_g_mean_mag", [12.0, 13.0, 14.0], "phot.mag;em.opt", "mag"),
            column("phot_bp_mean_mag", [12.3, 13.9, gap], "phot.mag;em.opt.B", "mag"),
            column("phot_rp_mean_mag", [11.5, 12.1, gap], "phot.mag;em.opt.R", "mag"),
        ]
    )


def test_stars_in_the_cone_and_above_the_limit() -> None:
    """Rows outside the cone or below the limit are dropped, and counted."""
    answer = read_answer(votable(ROWS), "text/xml", HERE, PLAIN, 12.0)
    assert answer.stars.mag.tolist() == [9.0]
    assert (answer.rows, answer.outside, answer.truncated) == (3, 1, False)
    assert 0.1 < answer.farthest_deg < 0.2


@pytest.mark.parametrize("ucds", [OLD_UCDS, NEW_UCDS])
@pytest.mark.parametrize("prefix", [False, True])
def test_ucds_and_namespaces(ucds: tuple[str, ...], prefix: bool) -> None:
    """Both generations of UCDs are read, with VOTable's names under a prefix or not."""
    body = votable(ROWS, ucds).decode()
    if prefix:
        for tag in ("VOTABLE", "RESOURCE", "TABLEDATA", "TABLE ", "TABLE>", "FIELD", "DATA>", "TR>", "TD>"):
            body = body.replace(f"<{tag}", f"<v:{tag}").replace(f"</{tag}", f"</v:{tag}")
        body = body.replace("xmlns=", "xmlns:v=")
    assert read_answer(body.encode(), "", HERE, PLAIN, 20.0).stars.mag.tolist() == [9.0, 12.5]


@pytest.mark.parametrize("encoding", ["tabledata", "binary", "binary2"])
def test_encodings_of_votable(encoding: str) -> None:
    """Tables in text, BINARY and BINARY2 give the same stars."""
    out = io.BytesIO()
    from_table(gaia_table()).to_xml(out, tabledata_format=encoding)
    answer = read_answer(out.getvalue(), "", HERE, PLAIN, 20.0)
    np.testing.assert_allclose(answer.stars.ra_deg, [10.0, 10.1, 10.2])
    np.testing.assert_allclose(answer.stars.mag, v_from_gaia_mag([12, 13, 14], [12.3, 13.9, np.nan], [11.5, 12.1, 0]))


def test_gaia_columns() -> None:
    """Gaia's positions, motions, epoch and colours are understood by name; gaps are said."""
    stars, notes = star_table(gaia_table(), ColumnMap(), 2000.0)
    assert stars.epoch_year.tolist() == [2016.0] * 3
    assert stars.pm_ra_mas_per_year.tolist() == [100.0, 5.0, 0.0]
    assert "1 stars have no colour" in notes[0]
    assert np.all(stars.mag > [12.0, 13.0, 14.0])


def test_catalogue_server_names_of_gaia() -> None:
    """The names of the Strasbourg tables are understood too, and ICRS positions win over computed ones."""
    table = Table(
        [
            column("_RAJ2000", [11.0], "pos.eq.ra;meta.main", "deg"),
            column("_DEJ2000", [41.0], "pos.eq.dec;meta.main", "deg"),
            column("RA_ICRS", [10.0], "pos.eq.ra", "deg"),
            column("DE_ICRS", [40.0], "pos.eq.dec", "deg"),
            column("pmRA", [7.0], "pos.pm;pos.eq.ra", "mas/yr"),
            column("pmDE", [8.0], "pos.pm;pos.eq.dec", "mas/yr"),
            column("Gmag", [12.0], "phot.mag;em.opt", "mag"),
            column("BPmag", [12.4], "phot.mag;em.opt.B", "mag"),
            column("RPmag", [11.4], "phot.mag;em.opt.R", "mag"),
        ]
    )
    stars, _ = star_table(table, ColumnMap(), 2016.0)
    assert (stars.ra_deg[0], stars.dec_deg[0], stars.pm_dec_mas_per_year[0]) == (10.0, 40.0, 8.0)
    assert stars.mag[0] == pytest.approx(v_from_gaia_mag(12.0, 12.4, 11.4))


def test_units_are_converted() -> None:
    """Radians, hours, arcseconds a year and sexagesimal text become degrees and milliarcseconds a year."""
    table = Table(
        [
            column("ra", [np.radians(10.0)], "pos.eq.ra;meta.main", "rad"),
            column("dec", ["+40 30 00"], "pos.eq.dec;meta.main"),
            column("pmra", [0.1], "pos.pm;pos.eq.ra", "arcsec/yr"),
            column("v", [9.0]),
        ]
    )
    stars, _ = star_table(table, ColumnMap(), 2000.0)
    assert stars.ra_deg[0] == pytest.approx(10.0)
    assert stars.dec_deg[0] == pytest.approx(40.5)
    assert stars.pm_ra_mas_per_year[0] == pytest.approx(100.0)
    hours = Table([column("ra", ["00:40:00"]), column("dec", [40.0]), column("mag", [9.0])])
    assert star_table(hours, ColumnMap(), 2000.0)[0].ra_deg[0] == pytest.approx(10.0)


def test_gaps_are_left_out_and_said() -> None:
    """Masked, empty and infinite values drop their row, not the table."""
    table = Table(
        [
            MaskedColumn([10.0, 10.1, 10.2, 10.3], name="ra", mask=[False, True, False, False]),
            column("dec", [40.0, 40.0, float("inf"), 40.0]),
            column("mag", ["9.0", "9.1", "9.2", ""]),
        ]
    )
    stars, notes = star_table(table, ColumnMap(), 2000.0)
    assert stars.mag.tolist() == [9.0]
    assert any("3 rows" in note for note in notes)


@pytest.mark.parametrize("bad", [{"dec": [95.0]}, {"ra": [400.0]}, {"ra": [-200.0]}])
def test_positions_off_the_sphere_are_refused(bad: dict[str, list[float]]) -> None:
    """Numbers that are no degrees on the sky refuse the table."""
    values = {"ra": [10.0], "dec": [40.0], "mag": [9.0], **bad}
    with pytest.raises(BadInput, match="degrees on the sky"):
        star_table(Table(values), ColumnMap(), 2000.0)


def test_a_column_that_is_not_there_is_told_with_near_misses() -> None:
    """A misspelt column in the notebook gets a suggestion."""
    table = Table({"ra": [10.0], "dec": [40.0], "Vmagnitude": [9.0]})
    with pytest.raises(BadInput, match='no column "Vmagnitud"') as caught:
        star_table(table, ColumnMap(mag="Vmagnitud"), 2000.0)
    assert "Vmagnitude" in (caught.value.problems[0].suggestion or "")


def test_errors_of_columns_are_no_columns() -> None:
    """An error column with the word of its quantity in its UCD is not taken for the quantity."""
    table = Table(
        [
            column("e_ra", [0.1], "stat.error;pos.eq.ra;meta.main"),
            column("ra", [10.0], "pos.eq.ra;meta.main"),
            column("dec", [40.0], "pos.eq.dec;meta.main"),
            column("e_vmag", [0.02], "stat.error;phot.mag;em.opt.V"),
            column("vmag", [9.0], "phot.mag;em.opt.V"),
        ]
    )
    stars, _ = star_table(table, ColumnMap(), 2000.0)
    assert (stars.ra_deg[0], stars.mag[0]) == (10.0, 9.0)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"plain text",
        b"<html><body>Hello</body></html>",
        votable(ROWS)[:-40],
        b'<VOTABLE version="1.1"></VOTABLE>',
    ],
)
def test_what_is_no_answer_is_broken(body: bytes) -> None:
    """Anything but a whole VOTable with a table or an error is no answer."""
    with pytest.raises(Broken):
        read_answer(body, "text/html", HERE, PLAIN, 20.0)


def test_an_error_word_inside_a_table_is_no_error() -> None:
    """A table whose own parameter is called Error is still an answer."""
    body = votable(ROWS).replace(b"<TABLE>", b'<TABLE><PARAM name="Error" datatype="double" value="0.1"/>')
    assert len(read_answer(body, "", HERE, PLAIN, 20.0).stars) == 2


def test_an_error_beside_a_table_wins() -> None:
    """A service that reports an error and sends rows as well is not believed."""
    with pytest.raises(Refused, match="went wrong"):
        read_answer(votable(ROWS, head='<INFO name="ERROR" value="went wrong"/>'), "", HERE, PLAIN, 20.0)
