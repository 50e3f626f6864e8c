"""Cards: self-contained, one printed page, all that they must hold."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from tests.strategies.browser import chromium_flags, chromium_path

from sidelight.cards.bench import bench_card
from sidelight.cards.night import night_card
from sidelight.desk.bench import bench_report
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.open import open_notebook


@pytest.fixture(scope="module")
def cards(demo_folder: Path) -> dict[str, str]:
    """Return both cards of the demo in two looks."""
    book = open_notebook(demo_folder)
    setup = setup_in_use(book, DATE)
    bench, night = bench_report(book, setup), night_report(book, DATE, setup)
    return {
        "bench-print": bench_card(bench, "print"),
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


@pytest.mark.parametrize("name", ["bench-print", "night-print"])
def test_a_printed_card_is_one_page(tmp_path: Path, cards: dict[str, str], name: str) -> None:
    """Chromium prints each card on a single sheet of A4."""
    chromium = chromium_path()
    page, paper = tmp_path / "card.html", tmp_path / "card.pdf"
    page.write_text(cards[name], encoding="utf-8")
    command = [chromium, *chromium_flags(tmp_path / "profile"), "--no-pdf-header-footer", f"--print-to-pdf={paper}"]
    subprocess.run([*command, page.as_uri()], capture_output=True, timeout=120, check=True)
    assert len(re.findall(rb"/Type\s*/Page\b", paper.read_bytes())) == 1
    shutil.rmtree(tmp_path / "profile", ignore_errors=True)
