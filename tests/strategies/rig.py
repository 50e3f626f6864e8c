"""Random valid rigs: every kind of telescope, mount and guider that the checks let through."""

from hypothesis import assume
from hypothesis import strategies as st

from sidelight.rig.check import check_rig
from sidelight.rig.records import Mount, OffAxisGuider, Rig, Sensor, Telescope, Tolerances

position_angles = st.one_of(st.floats(-720.0, 720.0), st.sampled_from([-90.0, 0.0, 90.0, 180.0, 270.0, 360.0]))
telescopes = st.one_of(
    st.builds(
        Telescope,
        aperture_mm=st.floats(50.0, 500.0),
        focal_length_mm=st.floats(300.0, 4000.0),
        reducer=st.sampled_from([0.67, 1.0, 2.0]),
        mirrors=st.integers(0, 5),
    ),
    st.builds(
        Telescope,
        aperture_mm=st.floats(100.0, 500.0),
        focal_length_mm=st.floats(400.0, 2500.0),
        mirrors=st.sampled_from([2, 3]),
        newtonian=st.just(True),
        focuser_position_deg=st.floats(-360.0, 360.0),
    ),
)
sensors = st.builds(
    Sensor,
    width_px=st.integers(300, 9000),
    height_px=st.integers(300, 7000),
    pixel_um=st.floats(2.0, 9.0),
)
mounts = st.one_of(
    st.builds(Mount, flip_past_meridian_min=st.floats(-60.0, 60.0)),
    st.just(Mount(kind="fork")),
)
guiders = st.builds(
    OffAxisGuider,
    stem_radius_mm=st.floats(5.0, 60.0),
    sensor=st.builds(
        Sensor,
        width_px=st.integers(400, 2000),
        height_px=st.integers(400, 2000),
        pixel_um=st.floats(2.0, 6.0),
    ),
    long_side=st.sampled_from(["along", "across"]),
    prism_along_mm=st.floats(4.0, 15.0),
    prism_across_mm=st.floats(4.0, 15.0),
    prism_distance_mm=st.floats(5.0, 80.0),
)
tolerances = st.builds(Tolerances, guide_box_px=st.floats(0.0, 40.0), pointing_arcmin=st.floats(0.0, 1.0))


@st.composite
def rigs(draw: st.DrawFn, *, guided: bool = True) -> Rig:
    """Draw a rig without problems; with an off-axis guider unless `guided` is False."""
    rig = Rig(
        telescope=draw(telescopes),
        camera=draw(sensors),
        guider=draw(guiders) if guided else None,
        mount=draw(mounts),
        rotator=draw(st.booleans()),
        tolerances=draw(tolerances),
    )
    assume(not check_rig(rig))
    return rig
