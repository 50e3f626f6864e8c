"""Cards: self-contained, one printed page, all that they must hold."""

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from tests.strategies.browser import chromium_flags, chromium_path

from sidelight.cards.bench import bench_card
from sidelight.cards.night import camera_words, night_card
from sidelight.desk.bench import bench_report
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.open import open_notebook
from sidelight.desk.sightings import GuideSpot, from_middle_px
from sidelight.rig.guider import guider_of
from sidelight.rig.records import Mount


@pytest.fixture(scope="module")
def cards(demo_folder: Path) -> dict[str, str]:
    """Return both cards of the demo in two looks."""
    book = open_notebook(demo_folder)
    setup = setup_in_use(book, DATE)
    bench, night = bench_report(book, setup), night_report(book, DATE, setup)
    fork = replace(book, rig=replace(book.rig, mount=Mount("fork")))
    fork_setup = setup_in_use(fork, DATE)
    return {
        "bench-print": bench_card(bench, "print"),
        "bench-fork": bench_card(bench_report(fork, fork_setup), "print"),
        "night-fork": night_card(night_report(fork, DATE, fork_setup), "print"),
        "bench-night": bench_card(bench, "night"),
        "night-print": night_card(night, "print"),
        "night-night": night_card(night, "night"),
    }


def test_a_card_asks_nothing_of_the_network(cards: dict[str, str]) -> None:
    """No script, no link, no reference to anything outside the file."""
    for name, html in cards.items():
        outside = re.findall(r"(?:src|href)\s*=\s*[\"'](?!#)([^\"']*)|url\((?!#)([^)]*)\)|@import|<script", html)
        assert not outside, name


def test_a_card_names_zone_cautions_and_figures(cards: dict[str, str]) -> None:
    """The night card names its time zone, both cards the cautions, the bench card clock and gauge."""
    assert "Europe/Vienna, UTC+01:00" in cards["night-print"]
    for html in cards.values():
        assert "Never point the telescope" in html
        assert "manuals and local rules" in html
    assert "from level" in cards["bench-print"]


def test_cautions_stand_before_the_work(cards: dict[str, str]) -> None:
    """The bench card warns before its first step, and leaves lines for the readings, with rig and set-up."""
    html = cards["bench-print"]
    assert 0 < html.index("Take care") < html.index("In this order") < html.index("Both readings, once clamped")
    assert html.count("stem<i></i>") == 2
    assert "Eight-inch Cassegrain on the pier" in html


def test_the_night_card_follows_the_run(cards: dict[str, str], demo_folder: Path) -> None:
    """Guide stars stand in the order of the run, the rest after them, with both ways to count pixels."""
    book = open_notebook(demo_folder)
    report = night_report(book, DATE, setup_in_use(book, DATE))
    html = cards["night-print"]
    guides, others = html.split("<h2>Guide stars</h2>")[1].split("If you change your mind")
    found = re.findall(r'<th scope="row">([^<]+)</th>', guides)
    run = list(dict.fromkeys(one.target for one in report.plan))
    assert list(dict.fromkeys(found)) == run
    assert set(re.findall(r'<th scope="row">([^<]+)</th>', others)).isdisjoint(run)
    target = next(one for one in report.targets if one.target == run[0])
    guide = target.guides[0]
    assert guide.place_on_sensor_px is not None
    x, y = guide.place_on_sensor_px
    spot = GuideSpot("", (report.guide_width_px or 0) / 2 + x, (report.guide_height_px or 0) / 2 - y)
    assert from_middle_px(spot, guider_of(book.rig)) == pytest.approx((x, y))
    assert f"(x {spot.x_px:.0f}, y {spot.y_px:.0f})" in guides
    assert "-" not in re.sub(r"<svg.*?</svg>|<[^>]*>", "", guides, flags=re.S)
    assert "The prism mirrors the guide camera&#x27;s picture" in html


def test_the_camera_angle_of_both_sides() -> None:
    """What a first solve should show: half a turn more in the east, one angle without a flip, never 360.0."""
    assert camera_words(57.2, ("east", "west")) == "237.2° / 57.2°"
    assert camera_words(57.2, ("west",)) == "237.2° / 57.2°"
    assert camera_words(57.2, ("any",)) == "57.2°"
    assert camera_words(179.96, ("east",)) == "0.0° / 180.0°"
    assert camera_words(None, ("east",)) == "–"


def test_a_card_has_one_place_for_each_identifier(cards: dict[str, str]) -> None:
    """Several drawings in one page do not share an id."""
    for name, html in cards.items():
        ids = re.findall(r'\bid="([^"]+)"', html)
        assert len(ids) == len(set(ids)), name


def test_the_red_card_has_no_other_colour(cards: dict[str, str]) -> None:
    """The dark-adapted look holds nothing but red."""
    for name in ("bench-night", "night-night"):
        colours = set(re.findall(r"#[0-9a-fA-F]{6}\b", cards[name]))
        assert colours
        assert all(colour[3:].strip("0") == "" for colour in colours), colours


@pytest.mark.parametrize("name", ["bench-print", "night-print", "bench-fork", "night-fork"])
def test_a_printed_card_is_one_page(tmp_path: Path, cards: dict[str, str], name: str) -> None:
    """Chromium prints each card on a single sheet of A4."""
    chromium = chromium_path()
    page, paper = tmp_path / "card.html", tmp_path / "card.pdf"
    page.write_text(cards[name], encoding="utf-8")
    command = [chromium, *chromium_flags(tmp_path / "profile"), "--no-pdf-header-footer", f"--print-to-pdf={paper}"]
    subprocess.run([*command, page.as_uri()], capture_output=True, timeout=120, check=True)
    assert len(re.findall(rb"/Type\s*/Page\b", paper.read_bytes())) == 1
    shutil.rmtree(tmp_path / "profile", ignore_errors=True)
