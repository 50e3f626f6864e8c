"""From any table of stars to ours: columns found by name, by UCD of either generation, or as the person says."""

from collections.abc import Iterable
from typing import Any

import numpy as np

from sidelight.ground.angles import parse_angle_deg
from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.ground.types import FloatArray
from sidelight.stars.gaia import v_from_gaia_mag
from sidelight.stars.service import ColumnMap, StarTable

RA_UCDS = ("pos.eq.ra;meta.main", "pos_eq_ra_main", "pos.eq.ra", "pos_eq_ra")
DEC_UCDS = ("pos.eq.dec;meta.main", "pos_eq_dec_main", "pos.eq.dec", "pos_eq_dec")
PM_RA_UCDS = ("pos.pm;pos.eq.ra", "pos_eq_pmra")
PM_DEC_UCDS = ("pos.pm;pos.eq.dec", "pos_eq_pmdec")
V_UCDS = ("phot.mag;em.opt.v", "phot_jhn_v", "phot_mag_v")
ANY_OPTICAL_UCDS = ("phot.mag;em.opt", "phot.mag;em.opt.r", "phot.mag;em.opt.b", "phot.mag;em.opt.i", "phot.mag")
EPOCH_UCDS = ("time.epoch", "meta.ref;time.epoch", "time_epoch")
G_NAMES, BP_NAMES, RP_NAMES = (
    ("phot_g_mean_mag", "gmag", "g"),
    ("phot_bp_mean_mag", "bpmag"),
    ("phot_rp_mean_mag", "rpmag"),
)
GAIA_RA, GAIA_DEC = ("ra_icrs",), ("de_icrs",)
USUAL = {
    "ra": ("ra", "ra_icrs", "raj2000", "ra_deg", "alpha", "right_ascension"),
    "dec": ("dec", "de", "de_icrs", "dej2000", "dec_deg", "delta", "declination"),
    "mag": ("vmag", "v_mag", "v", "mag", "magnitude"),
    "pm_ra": ("pmra", "pm_ra", "pmra_cosdec"),
    "pm_dec": ("pmde", "pmdec", "pm_dec"),
    "epoch": ("ref_epoch", "epoch"),
}
HOW = "Say which column it is, in the notebook's table of the star service or with the import's flags."


def star_table(table: Any, columns: ColumnMap, epoch_year: float) -> tuple[StarTable, tuple[str, ...]]:  # noqa: ANN401
    """Return the stars of an astropy Table and what had to be said about it.

    Rows without a position or a magnitude are dropped. Raises BadInput when a column that is needed cannot be found,
    naming those that there are, and when positions are not degrees on the sky.
    """
    finder = _Finder(table)
    ra_name = finder.need("right ascension", columns.ra, RA_UCDS, USUAL["ra"], first=GAIA_RA)
    dec_name = finder.need("declination", columns.dec, DEC_UCDS, USUAL["dec"], first=GAIA_DEC)
    ra = _angles(table[ra_name], hours=True)
    dec = _angles(table[dec_name], hours=False)
    mag, notes = _magnitudes(table, finder, columns)
    known = np.isfinite(ra) & np.isfinite(dec) & np.isfinite(mag)
    if np.any(np.abs(dec[known]) > 90.0) or np.any((ra[known] < -180.0) | (ra[known] > 360.0)):
        message = f'The columns "{ra_name}" and "{dec_name}" do not hold degrees on the sky.'
        raise BadInput(Problem(message, expected="ra 0 to 360, dec -90 to 90", suggestion=HOW))
    pm_ra = _motion(table, finder.find(columns.pm_ra, PM_RA_UCDS, USUAL["pm_ra"]))
    pm_dec = _motion(table, finder.find(columns.pm_dec, PM_DEC_UCDS, USUAL["pm_dec"]))
    epoch = _epochs(table, finder.find(columns.epoch, EPOCH_UCDS, USUAL["epoch"]), epoch_year)
    if not np.all(known):
        notes += (f"{int(np.sum(~known))} rows without a position or a magnitude were left out.",)
    stars = StarTable(np.mod(np.where(known, ra, 0.0), 360.0), dec, mag, pm_ra, pm_dec, epoch).pick(known)
    return stars, notes


class _Finder:
    """Finds columns of one table."""

    def __init__(self, table: Any) -> None:  # noqa: ANN401 - an astropy Table
        self.names: list[str] = list(table.colnames)
        self.folded = {name.casefold(): name for name in reversed(self.names)}
        self.ucds: dict[str, str] = {}
        for number, name in reversed(list(enumerate(self.names, start=1))):
            # VOTable and ECSV keep the UCD with the column, FITS in a keyword of the header
            said = (table[name].meta or {}).get("ucd") or table.meta.get(f"TUCD{number}") or ""
            ucd = str(said).replace(" ", "").casefold().removesuffix(";stat.mean")
            self.ucds[ucd] = name
            if ucd.startswith("phot"):
                self.ucds[ucd.removesuffix(";meta.main")] = name

    def find(self, said: str | None, ucds: Iterable[str], names: Iterable[str]) -> str | None:
        """Return a column as the person said, else by UCD in the order given, else by a usual name."""
        if said is not None:
            if said in self.names:
                return said
            if said.casefold() in self.folded:
                return self.folded[said.casefold()]
            there = "one of " + ", ".join(self.names)
            suggestion = did_you_mean(said, self.names) or HOW
            raise BadInput(Problem(f'The table has no column "{said}".', expected=there, suggestion=suggestion))
        for ucd in ucds:
            if ucd in self.ucds:
                return self.ucds[ucd]
        return next((self.folded[name] for name in names if name in self.folded), None)

    def need(
        self, what: str, said: str | None, ucds: Iterable[str], names: Iterable[str], first: Iterable[str] = ()
    ) -> str:
        """Return a column that must be there; names in `first` win over UCDs."""
        by_name = next((self.folded[name] for name in first if name in self.folded), None) if said is None else None
        found = by_name or self.find(said, ucds, names)
        if found is None:
            there = "a column with the usual UCD or name; there are " + ", ".join(self.names)
            raise BadInput(Problem(f"The table has no column for {what}.", expected=there, suggestion=HOW))
        return found


def _numbers(column: Any) -> FloatArray:  # noqa: ANN401 - an astropy Column
    """Return a column as float64 with NaN for what is masked or no number."""
    values = np.ma.asarray(column)
    if values.dtype.kind in "OUS":
        return np.array([_number(value) for value in values.filled("").tolist()], dtype=np.float64)
    return np.asarray(np.ma.filled(values.astype(np.float64), np.nan), dtype=np.float64)


def _number(value: object) -> float:
    """Return a number from text, NaN when there is none."""
    try:
        return float(str(value))
    except ValueError:
        return float("nan")


def _factor(column: Any, unit: str) -> float:  # noqa: ANN401 - an astropy Column
    """Return what brings a column to a unit; 1 when it states none, or one of another kind."""
    from astropy.units import Unit, UnitConversionError

    if column.unit is None:
        return 1.0
    try:
        return float(Unit(column.unit).to(Unit(unit)))
    except (UnitConversionError, ValueError, TypeError):
        return 1.0


def _angles(column: Any, *, hours: bool) -> FloatArray:  # noqa: ANN401 - an astropy Column
    """Return angles in degrees: numbers by their unit (degrees without one), or sexagesimal text."""
    values = np.ma.asarray(column)
    if values.dtype.kind in "OUS" and not np.all(np.isfinite(_numbers(column)) | (values.filled("") == "")):
        texts = [
            str(text.decode() if isinstance(text, bytes) else text).strip() for text in values.filled("").tolist()
        ]
        return np.array([parse_angle_deg(text, hours=hours) if text else np.nan for text in texts], dtype=np.float64)
    return _numbers(column) * _factor(column, "deg")


def _motion(table: Any, name: str | None) -> FloatArray:  # noqa: ANN401 - an astropy Table
    """Return proper motions in milliarcseconds a year, 0 where none is known."""
    if name is None:
        return np.zeros(len(table))
    values = _numbers(table[name]) * _factor(table[name], "mas/yr")
    return np.where(np.isfinite(values), values, 0.0)


def _epochs(table: Any, name: str | None, epoch_year: float) -> FloatArray:  # noqa: ANN401 - an astropy Table
    """Return the year of each position."""
    if name is None:
        return np.full(len(table), epoch_year)
    values = _numbers(table[name])
    return np.where((values > 1800.0) & (values < 2200.0), values, epoch_year)


def _magnitudes(table: Any, finder: _Finder, columns: ColumnMap) -> tuple[FloatArray, tuple[str, ...]]:  # noqa: ANN401
    """Return V or the nearest to it, and which it is."""
    name = (
        finder.find(columns.mag, V_UCDS, ())
        or finder.find(None, (), G_NAMES)
        or finder.find(None, (), USUAL["mag"])
        or finder.need("magnitude", None, ANY_OPTICAL_UCDS, ())
    )
    if name.casefold() not in G_NAMES:
        return _numbers(table[name]), (f'Magnitudes are those of the column "{name}", taken as V.',)
    nothing = np.full(len(table), np.nan)
    blue, red = finder.find(columns.blue_mag, (), BP_NAMES), finder.find(columns.red_mag, (), RP_NAMES)
    bp_mag = nothing if blue is None else _numbers(table[blue])
    rp_mag = nothing if red is None else _numbers(table[red])
    without = int(np.sum(~np.isfinite(bp_mag - rp_mag)))
    note = "V is computed from Gaia's G, BP and RP (to 0.03 mag)."
    if without:
        note += f" {without} stars have no colour; their V is uncertain by 0.3 mag."
    return v_from_gaia_mag(_numbers(table[name]), bp_mag, rp_mag), (note,)
