"""The first image end to end: metal set by the bench with a known error, photographed, checked, turned, learnt."""

import datetime as dt
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.strategies.frames import write_solved

from sidelight.desk.bench import bench_report
from sidelight.desk.bench_records import BenchReport
from sidelight.desk.demo import ANSWERS
from sidelight.desk.first_image import check_images
from sidelight.desk.first_image_records import CheckQuestion, FirstImageReport
from sidelight.desk.kept import keep_setup, setup_in_use
from sidelight.desk.learning import in_force
from sidelight.desk.setup import SetupReport
from sidelight.desk.sightings import GuideSpot
from sidelight.desk.solved import read_solved
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.ground.errors import BadInput
from sidelight.notebook.new import write_new_notebook
from sidelight.notebook.read import Notebook, read_notebook
from sidelight.notebook.settings import LearnedAngles, Measured
from sidelight.rig.bench import camera_angle_deg, guider_angle_deg, pole_of_date_turn_deg
from sidelight.rig.guider import PICTURE_SIGNS, place_on_sensor_px
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Picture
from sidelight.sky.time import mjd_from_datetime
from sidelight.stars.catalogue import embedded

NORTH: dict[str, Any] = {"targets": ["NGC 2903", "M 81"]}
SOUTH: dict[str, Any] = {
    "site.latitude_deg": -31.3,
    "site.longitude_deg": 149.1,
    "site.time_zone": "Australia/Sydney",
    "targets": ["NGC 2997", "M 104"],
}
RIGS: dict[str, dict[str, Any]] = {
    "Cassegrain in the north": NORTH,
    "Cassegrain in the south": SOUTH,
    "three mirrors": {**NORTH, "rig.telescope.mirrors_count": 3},
    "three mirrors in the south": {**SOUTH, "rig.telescope.mirrors_count": 3},
    "Newtonian": {**NORTH, "rig.telescope.newtonian": True, "rig.telescope.focuser_position_deg": 70.0},
    "fork in the south": {**SOUTH, "rig.mount.kind": "fork"},
}
DATE = dt.date(2027, 3, 6)
YEARS = (DATE - dt.date(2000, 1, 1)).days / 365.25


@dataclass
class Pier:
    """A telescope with its metal as it really stands: bench angles of top and stem, radius and focal length."""

    book: Notebook
    folder: Path
    top_deg: float = 0.0
    stem_deg: float = 0.0
    radius_mm: float = 0.0
    focal_mm: float = 0.0
    shots: int = field(default=0)

    @property
    def southern(self) -> bool:
        """Whether the site is in the south."""
        return self.book.site.latitude_deg < 0

    def setup(self) -> SetupReport:
        """Return the set-up in use."""
        return setup_in_use(read_notebook(self.folder), DATE)

    def bench(self) -> BenchReport:
        """Return what the bench says now."""
        return bench_report(read_notebook(self.folder), self.setup())

    def set_by_bench(self, error_deg: float, stem_error_deg: float | None = None) -> None:
        """Set the metal as the bench says, each angle off by an error counter-clockwise."""
        bench = self.bench()
        assert bench.stem is not None
        self.top_deg = bench.camera.bench_deg + error_deg
        self.stem_deg = bench.stem.bench_deg + (error_deg if stem_error_deg is None else stem_error_deg)

    def angles(self, key: str, side: str) -> tuple[tuple[float, float], float, float]:
        """Return a target's pointing, and the position angles (ICRS) of up and of the stem's footprint there."""
        place = next(one for one in self.setup().targets if one.target == key)
        turn = float(pole_of_date_turn_deg(place.pointing_ra_deg, place.pointing_dec_deg, YEARS))
        over = 180.0 if side == "east" else 0.0
        up = float(camera_angle_deg(self.top_deg, self.book.rig, southern=self.southern)) - turn + over
        foot = float(guider_angle_deg(self.stem_deg, self.book.rig, southern=self.southern)) - turn + over
        return (place.pointing_ra_deg, place.pointing_dec_deg), up, foot

    def shoot(self, key: str, side: str = "west", **more: Any) -> Path:
        """Take and solve an image of a target on a side; the noon before transit, or after it, tells the side."""
        pointing, up, _ = self.angles(key, side)
        self.shots += 1
        camera = self.book.rig.camera
        mirrors = self.book.rig.telescope.mirrors
        values = {
            "sensor_px": (camera.width_px, camera.height_px),
            "pixel_um": camera.pixel_um,
            "focal_mm": self.focal_mm,
            "mirrored": bool(mirrors % 2),
        }
        path = self.folder / "images" / f"{self.shots}.fits"
        return write_solved(
            path, self._when(pointing, side), pointing, up + more.pop("flip", 0.0), **{**values, **more}
        )

    def _when(self, pointing: tuple[float, float], side: str) -> dt.datetime:
        """Return an instant of the night at which the target is two hours east or west of the meridian."""
        from sidelight.desk.clock import utc
        from sidelight.sky.altitude import altitude_azimuth
        from sidelight.sky.night import night_of

        times = np.linspace(night_of(self.book.site, DATE).start_mjd, night_of(self.book.site, DATE).end_mjd, 1441)
        transit = times[np.argmax(altitude_azimuth(*pointing, times, self.book.site)[0])]
        return utc(float(transit) + (-2 if side == "east" else 2) / 24)

    def spot(self, path: Path, key: str, side: str) -> GuideSpot:
        """Return where the brightest star in reach stands on the guide camera's picture (left and upper edge)."""
        pointing, _, foot = self.angles(key, side)
        guider = self.book.rig.guider
        assert guider is not None
        stars = embedded().cone(*pointing, 1.2, 12.0)
        x_mm, y_mm = plane_mm(stars.ra_deg, stars.dec_deg, *pointing, self.focal_mm)
        # the real radius: a star stands that much less far out on the sensor
        true = Guide(guider, self.radius_mm).record
        x_px, y_px = place_on_sensor_px(x_mm, y_mm, foot, true)
        inside = (np.abs(x_px) < guider.sensor.width_px / 2) & (np.abs(y_px) < guider.sensor.height_px / 2)
        k = int(np.flatnonzero(inside)[0])
        right, down = x_px[k] + guider.sensor.width_px / 2, guider.sensor.height_px / 2 - y_px[k]
        return GuideSpot(str(path), float(right), float(down), float(stars.ra_deg[k]), float(stars.dec_deg[k]))


@dataclass(frozen=True)
class Guide:
    """A guider with another stem radius."""

    guider: Any
    radius_mm: float

    @property
    def record(self) -> Any:
        """Return the record."""
        return replace(self.guider, stem_radius_mm=self.radius_mm)


def pier(folder: Path, answers: dict[str, Any]) -> Pier:
    """Make a notebook with a kept set-up, and its telescope."""
    write_new_notebook(folder, {**ANSWERS, "horizon": [(0, 5), (180, 5)], **answers})
    book = read_notebook(folder)
    keep_setup(book, setup_in_use(book, DATE), "Spring", DATE)
    book = read_notebook(folder)
    assert book.rig.guider is not None
    telescope = book.rig.telescope
    return Pier(book, folder, 0, 0, book.rig.guider.stem_radius_mm, telescope.effective_focal_length_mm)


def checked(scope: Pier, *files: Path, keep: bool = False, **more: Any) -> FirstImageReport:
    """Check images against the set-up in use."""
    return check_images(read_notebook(scope.folder), CheckQuestion(files, date=DATE, **more), keep=keep)


@pytest.mark.parametrize("name", RIGS)
def test_check_turn_learn_bench(tmp_path: Path, name: str) -> None:
    """A known bench error is found; the advised turn mends it; learnt, the bench moves by exactly that error."""
    scope = pier(tmp_path / "garden", RIGS[name])
    key = scope.book.targets[0].key
    side = "west" if scope.book.rig.mount.flips else "any"
    scope.set_by_bench(1.7)
    before = scope.bench()
    sense = -1.0 if scope.book.rig.telescope.mirrors % 2 else 1.0
    image = scope.shoot(key, side)
    report = checked(scope, image, keep=True)
    assert report.images[0].side == side
    assert report.difference_deg == pytest.approx(1.7 * sense, abs=1e-4)
    assert report.gauge_to_sky_deg == pytest.approx(1.7 * sense, abs=1e-3)
    after = scope.bench()
    assert before.stem is not None
    assert after.stem is not None
    for old, new in ((before.camera, after.camera), (before.stem, after.stem)):
        assert float(wrap_180(new.bench_deg - old.bench_deg)) == pytest.approx(-1.7, abs=1e-3)
    assert after.gauge_to_sky_date == DATE
    (turn,) = report.turns
    counter = {"counter-clockwise": 1.0, "clockwise": -1.0}[turn.sense] * turn.by_deg
    scope.top_deg += counter
    scope.stem_deg += counter
    again = checked(scope, scope.shoot(key, side))
    assert again.difference_deg == pytest.approx(0.0, abs=1e-4)
    # the metal now stands where the same gauge, off by as much, would set it by what the bench learnt
    assert float(wrap_180(scope.top_deg - after.camera.bench_deg)) == pytest.approx(1.7, abs=1e-3)
    assert again.gauge_to_sky_deg == pytest.approx(1.7 * sense, abs=1e-3)
    assert again.verdict == "leave"


@pytest.fixture(scope="module")
def scope(tmp_path_factory: pytest.TempPathFactory) -> Pier:
    """Return a telescope in the north, set by the bench without an error; tests set it anew."""
    return pier(tmp_path_factory.mktemp("north") / "garden", NORTH)


def test_both_sides_give_one_offset(scope: Pier) -> None:
    """Images of both targets on both sides agree, the pole of date allowed for, and prove the flip square."""
    scope.set_by_bench(-0.8)
    files = [scope.shoot(key, side) for key in ("NGC 2903", "M 81") for side in ("east", "west")]
    report = checked(scope, *files)
    assert [image.side for image in report.images] == ["east", "west"] * 2
    assert report.difference_deg == pytest.approx(-0.8, abs=1e-3)
    assert report.difference_error_deg == pytest.approx(0.0, abs=1e-3)
    assert report.flip_deg == pytest.approx(0.0, abs=1e-3)
    raw = [float(wrap_180(image.camera_angle_deg - report.planned_camera_angle_deg)) for image in report.images]
    assert max(raw) - min(raw) > 0.1, "M 81 is far enough north for the pole of date to matter"


def test_unturned_and_checked_again_the_lesson_is_the_same(tmp_path: Path) -> None:
    """Learning twice from the same metal does not count its error twice; a stated bench day decides otherwise."""
    scope = pier(tmp_path / "garden", NORTH)
    scope.set_by_bench(1.2)
    image = scope.shoot("M 81")
    for _ in range(2):
        assert checked(scope, image, keep=True).gauge_to_sky_deg == pytest.approx(1.2, abs=1e-3)
    later = checked(scope, image, bench_day=DATE + dt.timedelta(days=3))
    assert later.gauge_to_sky_deg == pytest.approx(2.4, abs=1e-3)
    entries = read_notebook(scope.folder).learned.entries
    assert [entry.date for entry in entries] == [DATE, DATE]


@pytest.mark.parametrize(
    ("difference_deg", "bench_day", "told", "words"),
    [
        (0.1, None, 1.5, "Taken as set with"),
        (1.4, None, 0.0, "not set anew"),
        (30.0, None, 1.5, "has the metal changed"),
        (1.4, dt.date(2027, 3, 6), 0.0, "Set on 2027-03-06"),
        (0.1, dt.date(2027, 3, 7), 1.5, "Set on 2027-03-07"),
    ],
)
def test_which_lesson_was_in_force(difference_deg: float, bench_day: dt.date | None, told: float, words: str) -> None:
    """The lesson that agrees counts; a bench day decides; what agrees with neither is told."""
    learned = LearnedAngles((Measured(DATE, camera_offset_deg=1.5, camera_offset_error_deg=0.2),))
    found = in_force(learned, difference_deg, bench_day)
    assert (found.camera_deg, found.guider_deg) == (told, told)
    assert words in found.words


def test_far_off_it_says_turn_and_names_what_is_lost(scope: Pier) -> None:
    """Twenty degrees off, guide stars are lost: the sentence says turn, and the places say which."""
    scope.set_by_bench(20.0)
    report = checked(scope, scope.shoot("M 81"))
    assert report.verdict == "turn"
    lost = {(one.target, one.side) for one in report.places if one.lost}
    assert lost
    assert all(key in report.sentence for key, _ in lost)
    assert "clockwise" in report.sentence


def test_images_that_disagree_decide_nothing(scope: Pier) -> None:
    """A clamp that slipped between the sides is not averaged away: no "leave", no turn, nothing learnt."""
    slack = scope.setup().slack_deg
    assert slack is not None
    scope.set_by_bench(slack + 0.6)
    west = scope.shoot("M 81", "west")
    scope.set_by_bench(-slack - 0.5)
    east = scope.shoot("M 81", "east")
    report = checked(scope, west, east)
    assert report.verdict == "undecided"
    assert report.sentence.startswith(f"The images disagree by {2 * slack + 1.1:.1f}°: ")
    assert report.turns == ()
    assert report.notes[0].startswith("West less east is ")
    with pytest.raises(BadInput, match="disagree"):
        checked(scope, west, east, keep=True)


def test_images_that_disagree_far_from_the_plan_say_turn(scope: Pier) -> None:
    """Forty degrees off, a degree between the sides does not keep it from saying turn."""
    scope.set_by_bench(40.4)
    west = scope.shoot("M 81", "west")
    scope.set_by_bench(39.4)
    assert checked(scope, west, scope.shoot("M 81", "east")).verdict == "turn"


@pytest.mark.parametrize("scatter_deg", [0.0, 0.3])
def test_images_of_a_mount_that_did_not_flip_are_not_learnt_from(scope: Pier, scatter_deg: float) -> None:
    """Sides half a turn apart are told to be so however their images scatter, and teach nothing."""
    scope.set_by_bench(0.0)
    files = [scope.shoot("M 81", "west", flip=each) for each in (scatter_deg, -scatter_deg)]
    files += [scope.shoot("M 81", "east", flip=180.0 + each) for each in (scatter_deg, -scatter_deg)]
    flip_deg = checked(scope, *files).flip_deg
    assert flip_deg is not None
    assert abs(flip_deg) == pytest.approx(180.0, abs=0.01)
    with pytest.raises(BadInput, match="stand on their heads"):
        checked(scope, *files, keep=True)


def test_one_image_says_what_its_error_contains(scope: Pier) -> None:
    """Beside the error of a single image stands that it is gauge and seat alone."""
    scope.set_by_bench(0.3)
    report = checked(scope, scope.shoot("M 81"))
    assert f"± {report.gauge_to_sky_error_deg:.1f}° is gauge and seat alone; a second image measures the rest." in (
        report.notes
    )
    assert report.bench is not None


def test_where_stars_fall_now(scope: Pier) -> None:
    """The places reported for the true angles are those of a projection made here, on both sides."""
    scope.set_by_bench(0.6)
    report = checked(scope, scope.shoot("NGC 2903"))
    guider = scope.book.rig.guider
    assert guider is not None
    seen = 0
    for one in report.places:
        if one.star is None or one.place_on_sensor_px is None:
            continue
        place = next(row for row in report.now.targets if row.target == one.target) if report.now else None
        assert place is not None
        g = scope.setup().guider_angle_deg or 0.0
        x_mm, y_mm = plane_mm(
            one.star.ra_deg,
            one.star.dec_deg,
            place.pointing_ra_deg,
            place.pointing_dec_deg,
            scope.focal_mm,
        )
        stands = g + report.difference_deg + (180.0 if one.side == "east" else 0.0)
        expected = [float(value) for value in place_on_sensor_px(x_mm, y_mm, stands, guider)]
        assert list(one.place_on_sensor_px) == pytest.approx(expected, abs=1.0)
        seen += 1
    assert seen >= 3


def test_guide_stars_prove_the_stem(scope: Pier) -> None:
    """With guide stars of both sides the true radius, stem angle and focal length come out within their errors."""
    scope.set_by_bench(0.5, stem_error_deg=-1.0)
    scope.radius_mm, scope.focal_mm = 19.35, 1630.0
    shots = [(key, side, scope.shoot(key, side)) for key in ("NGC 2903", "M 81") for side in ("east", "west")]
    spots = tuple(scope.spot(path, key, side) for key, side, path in shots)
    report = checked(scope, *[path for _, _, path in shots], spots=spots)
    stem = report.stem
    assert stem is not None
    assert stem.stem_radius_error_mm is not None
    assert stem.stem_offset_error_deg is not None
    assert stem.stem_radius_mm == pytest.approx(19.35, abs=3 * stem.stem_radius_error_mm)
    assert stem.stem_radius_error_mm < 0.05
    planned = scope.setup().stem_offset_deg or 0.0
    assert float(wrap_180(stem.stem_offset_deg - planned)) == pytest.approx(-1.5, abs=3 * stem.stem_offset_error_deg)
    assert report.focal_length_mm == pytest.approx(1630.0, abs=0.05)
    assert report.entry is not None
    assert stem.settled
    assert report.entry.guider_offset_deg == pytest.approx(-1.0, abs=0.1)
    assert report.entry.camera_offset_deg == pytest.approx(0.5, abs=1e-3)
    both, alone = report.turns
    assert both.on_sky_deg == pytest.approx(1.0, abs=0.1)
    assert alone.on_sky_deg == pytest.approx(-1.5, abs=0.1)
    scope.radius_mm, scope.focal_mm = 19.0, 1624.0


def test_bench_tells_a_stem_that_was_moved_alone(tmp_path: Path) -> None:
    """Learnt from guide stars, stem and camera each move on the bench by their own error, which bench says."""
    scope = pier(tmp_path / "garden", NORTH)
    scope.set_by_bench(0.5, stem_error_deg=-1.0)
    before = scope.bench()
    shots = [(key, side, scope.shoot(key, side)) for key in ("NGC 2903", "M 81") for side in ("east", "west")]
    spots = tuple(scope.spot(path, key, side) for key, side, path in shots)
    checked(scope, *[path for _, _, path in shots], spots=spots, keep=True)
    after = scope.bench()
    assert before.stem is not None
    assert after.stem is not None
    assert float(wrap_180(after.camera.bench_deg - before.camera.bench_deg)) == pytest.approx(-0.5, abs=1e-3)
    assert float(wrap_180(after.stem.bench_deg - before.stem.bench_deg)) == pytest.approx(1.0, abs=0.05)
    assert any("gauge to sky of its own, -1.0°" in note for note in after.notes)


def test_a_guide_star_is_recognised(tmp_path: Path) -> None:
    """Without its coordinates the star is found in the catalogue, and one star alone is said to settle little."""
    scope = pier(tmp_path / "garden", {**NORTH, "rig.guider.picture": "as_drawn"})
    scope.set_by_bench(0.3)
    path = scope.shoot("M 81")
    spot = scope.spot(path, "M 81", "west")
    bare = GuideSpot(spot.file, spot.x_px, spot.y_px)
    report = checked(scope, path, spots=(bare,))
    assert report.stem is not None
    assert report.stem.stars[0].ra_deg == pytest.approx(spot.ra_deg, abs=1e-4)
    assert not report.stem.settled
    assert any("settle" in note or "assumed" in note for note in report.notes)
    assert report.entry is not None
    assert report.entry.stem_radius_mm is None
    assert report.guide_picture_stands == "as_drawn"
    # a named star that lies farther off than any star is looked for is believed
    far = replace(spot, ra_deg=(spot.ra_deg or 0.0) + 2.0)
    assert checked(scope, path, spots=(far,)).stem is not None


def test_a_picture_that_may_stand_two_ways_fits_no_stem(scope: Pier) -> None:
    """One star that two ways of the picture explain gives no stem, and the notes say what settles it."""
    scope.set_by_bench(0.3)
    path = scope.shoot("M 81")
    spot = scope.spot(path, "M 81", "west")
    guider = scope.book.rig.guider
    assert guider is not None
    report = checked(scope, path, spots=(replace(spot, ra_deg=None, dec_deg=None),))
    assert report.stem is None
    assert report.guide_picture_stands is None
    assert len(report.guide_picture_may_stand) > 1
    assert "as_drawn" in report.guide_picture_may_stand
    (open_note,) = [note for note in report.notes if "may stand" in note]
    assert "picture in rig.toml" in open_note
    assert "as drawn" in open_note
    nowhere = checked(scope, path, spots=(replace(spot, ra_deg=(spot.ra_deg or 0.0) + 40.0),))
    assert nowhere.stem is None
    assert nowhere.guide_picture_may_stand == ()
    assert any("fit no stem" in note for note in nowhere.notes)


@pytest.mark.parametrize("picture", ["left_right", "top_bottom", "half_turn"])
def test_a_picture_turned_about_gives_the_same_stem(scope: Pier, picture: Picture) -> None:
    """Read off a picture that is turned about, the stars of two targets give the stem they give as drawn."""
    scope.set_by_bench(0.5, stem_error_deg=-1.0)
    shots = [(key, side, scope.shoot(key, side)) for key in ("NGC 2903", "M 81") for side in ("east", "west")]
    guider = scope.book.rig.guider
    assert guider is not None
    drawn = [replace(scope.spot(path, key, side), ra_deg=None, dec_deg=None) for key, side, path in shots]
    right, up = PICTURE_SIGNS[picture]
    turned = [
        replace(
            one,
            x_px=one.x_px if right > 0 else guider.sensor.width_px - one.x_px,
            y_px=one.y_px if up > 0 else guider.sensor.height_px - one.y_px,
        )
        for one in drawn
    ]
    files = [path for _, _, path in shots]
    expected, report = checked(scope, *files, spots=tuple(drawn)), checked(scope, *files, spots=tuple(turned))
    assert (expected.guide_picture_stands, report.guide_picture_stands) == ("as_drawn", picture)
    assert expected.stem is not None
    assert report.stem is not None
    assert report.stem.settled
    assert report.stem.guider_angle_deg == pytest.approx(expected.stem.guider_angle_deg, abs=1e-6)
    assert any(f'picture = "{picture}"' in note for note in report.notes)
    assert not any("not settled" in note for note in report.notes)


def test_a_picture_on_its_head(scope: Pier) -> None:
    """A picture turned by half gives the same frame and the same advice, and the stem is not sent half round."""
    scope.set_by_bench(0.9)
    report = checked(scope, scope.shoot("M 81", flip=180.0))
    assert report.half_turn
    assert report.difference_deg == pytest.approx(0.9, abs=1e-3)
    assert report.entry is not None
    assert abs(report.entry.camera_offset_deg or 0.0) == pytest.approx(179.1, abs=1e-3)
    assert report.entry.guider_offset_deg == pytest.approx(0.9, abs=1e-3)
    assert any("on its head" in note for note in report.notes)


def test_cone_error_from_both_sides(scope: Pier) -> None:
    """Where the mount was sent and where the images are give the cone error; a place the solver wrote does not."""
    scope.set_by_bench(0.0)
    files, plain = [], []
    for side, sign in (("east", -1.0), ("west", 1.0)):
        (ra, dec), _, _ = scope.angles("NGC 2903", side)
        # the field lies 4′ east of the asked place in the west, 4′ west of it in the east
        asked = (ra - sign * 4.0 / 60.0 / np.cos(np.radians(dec)), dec)
        files.append(scope.shoot("NGC 2903", side, asked_deg=asked))
        plain.append(scope.shoot("NGC 2903", side, asked_deg=(ra, dec)))
    report = checked(scope, *files)
    assert report.cone_arcmin == pytest.approx(4.0, abs=0.01)
    assert report.declination_arcmin == pytest.approx(0.0, abs=0.01)
    same = checked(scope, *plain)
    assert same.cone_arcmin is None
    assert any("cone error stays unknown" in note for note in same.notes)


def test_parity_and_skew_are_told(scope: Pier) -> None:
    """A mirrored picture of an unmirroring rig is told; a skewed solution is told and not learnt."""
    scope.set_by_bench(0.4)
    mirrored = checked(scope, scope.shoot("M 81", mirrored=True))
    assert mirrored.images[0].mirrored
    assert mirrored.difference_deg == pytest.approx(0.4, abs=1e-3)
    assert any("mirrored" in note for note in mirrored.images[0].notes)
    skewed = scope.shoot("M 81", skew_deg=1.5)
    assert not checked(scope, skewed).images[0].sound
    before = read_notebook(scope.folder).learned.entries
    with pytest.raises(BadInput, match="skewed"):
        checked(scope, skewed, keep=True)
    assert read_notebook(scope.folder).learned.entries == before


def test_an_image_without_a_time_needs_its_side(scope: Pier) -> None:
    """Without a time the side has to be said; said, it counts."""
    scope.set_by_bench(0.4)
    camera = scope.book.rig.camera
    pointing, up, _ = scope.angles("M 81", "east")
    path = write_solved(
        scope.folder / "images" / "timeless.fits",
        None,
        pointing,
        up,
        sensor_px=(camera.width_px, camera.height_px),
        pixel_um=camera.pixel_um,
        focal_mm=scope.focal_mm,
    )
    with pytest.raises(BadInput, match="--side"):
        checked(scope, path)
    assert checked(scope, path, sides=("east",)).difference_deg == pytest.approx(0.4, abs=1e-3)


def test_a_crop_teaches_no_focal_length(scope: Pier) -> None:
    """A picture that is not the whole sensor gives an angle, and no focal length."""
    scope.set_by_bench(0.4)
    camera = scope.book.rig.camera
    report = checked(scope, scope.shoot("M 81", sensor_px=(camera.width_px * 2 // 3, camera.height_px // 2)))
    assert report.difference_deg == pytest.approx(0.4, abs=1e-3)
    assert report.entry is not None
    assert report.entry.focal_length_mm is None


def test_true_angles_are_seen_by_time_and_side(scope: Pier) -> None:
    """The reported camera angle is the picture's up, half a turn off in the east."""
    scope.set_by_bench(0.0)
    east, west = scope.shoot("M 81", "east"), scope.shoot("M 81", "west")
    report = checked(scope, east, west)
    first, second = report.images
    assert float(wrap_180(first.up_deg - second.up_deg)) == pytest.approx(-180.0, abs=1e-6)
    assert first.camera_angle_deg == pytest.approx(second.camera_angle_deg, abs=1e-6)
    assert first.middle_utc is not None
    assert second.middle_utc is not None
    assert mjd_from_datetime(second.middle_utc) - mjd_from_datetime(first.middle_utc) == pytest.approx(
        4 / 24, abs=1e-3
    )
    assert float(wrap_360(second.up_deg)) == pytest.approx(second.camera_angle_deg, abs=1e-9)


def test_an_image_that_is_not_there_is_said_to_be_missing(demo_folder: Path) -> None:
    """A name that leads to no file is refused as that, not as a bad picture."""
    with pytest.raises(BadInput) as refused:
        read_solved(read_notebook(demo_folder), [demo_folder / "nowhere.fits"])
    assert refused.value.problems[0].message == "There is no such file."
    assert "solution" not in str(refused.value)
