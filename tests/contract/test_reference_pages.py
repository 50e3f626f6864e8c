"""The reference pages are what the code says, and JSON holds what programs rely on."""

import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest
from click.testing import CliRunner

from sidelight.cli.main import sidelight

ROOT = Path(__file__).resolve().parents[2]
DATE = "2027-03-06"


def builder(name: str) -> ModuleType:
    """Import a builder by its file."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "builders" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def test_pages_are_up_to_date() -> None:
    """The reference pages equal what their builder writes in a process of its own, whatever ran before here."""
    command = [sys.executable, str(ROOT / "builders" / "build_reference.py"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr


def answer(word: str, folder: Path, *more: str) -> dict:
    """Return a command's JSON."""
    result = CliRunner().invoke(sidelight, [word, str(folder), "--date", DATE, "--json", *more])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_setup_json_holds_what_it_promises(demo_folder: Path) -> None:
    """The fields of set-up, rings, arcs and stars, with values that agree with each other."""
    got = answer("setup", demo_folder)
    fields = {"camera_angle_deg", "guider_angle_deg", "stem_offset_deg", "slack_deg", "share_of_angles", "rings"}
    assert fields <= set(got)
    left_over = (got["guider_angle_deg"] - got["camera_angle_deg"] - got["stem_offset_deg"] + 180.0) % 360.0
    assert left_over == pytest.approx(180.0, abs=1e-6)
    assert len(got["rings"]) == 10
    for ring in got["rings"]:
        wanted = {"target", "side", "needed", "pointing", "arcs", "star", "place_on_sensor_px", "slack_deg"}
        assert wanted <= set(ring)
        assert set(ring["pointing"]) == {"ra_deg", "dec_deg"}
        for arc in ring["arcs"]:
            assert {"from_deg", "to_deg", "star"} <= set(arc)
            assert {"ra_deg", "dec_deg", "mag"} <= set(arc["star"])
        holding = [
            arc
            for arc in ring["arcs"]
            if (got["guider_angle_deg"] - arc["from_deg"]) % 360.0 <= (arc["to_deg"] - arc["from_deg"]) % 360.0
        ]
        assert bool(holding) == (ring["star"] is not None)
        assert not ring["needed"] or ring["slack_deg"] >= got["slack_deg"] - 1e-9


def test_the_demo_is_hard_by_hand(demo_folder: Path) -> None:
    """Four targets or more on both sides, 1.4 m or more, only a few per cent of angles, and yet served with room."""
    got = answer("setup", demo_folder)
    assert 0.0 < got["share_of_angles"] < 0.05
    assert sum(ring["needed"] for ring in got["rings"]) >= 8
    assert got["slack_deg"] >= got["tolerance_deg"]
    assert got["outcome"] == "serves_all"


def test_season_json_holds_what_it_promises(demo_folder: Path) -> None:
    """Per target and night date, windows, hours and altitude; the hours are those of the windows."""
    import datetime as dt

    got = answer("season", demo_folder, "--nights", "40")
    for target in got["targets"]:
        assert len(target["nights"]) == 40
        for night in target["nights"]:
            wanted = {"date", "windows", "dark_hours", "hours_east", "hours_west", "max_altitude_deg"}
            assert wanted <= set(night)
            spans = [
                (
                    dt.datetime.fromisoformat(one["end_utc"]) - dt.datetime.fromisoformat(one["start_utc"])
                ).total_seconds()
                for one in night["windows"]
            ]
            assert sum(spans) / 3600 == pytest.approx(night["dark_hours"], abs=2 / 3600 * max(1, len(spans)))
            assert night["hours_east"] + night["hours_west"] == pytest.approx(night["dark_hours"], abs=1e-4)


def test_bench_and_night_json(demo_folder: Path) -> None:
    """Bench holds the angles of stem and camera, night the plan inside its windows."""
    bench = answer("bench", demo_folder)
    for part in ("camera", "stem"):
        assert {"bench_deg", "clock", "gauge", "sky_angle_deg"} <= set(bench[part])
    night = answer("night", demo_folder)
    windows = {target["target"]: target["windows"] for target in night["targets"]}
    assert night["plan"]
    for stay in night["plan"]:
        assert any(
            one["start_utc"] <= stay["start_utc"] and stay["end_utc"] <= one["end_utc"]
            for one in windows[stay["target"]]
        )
