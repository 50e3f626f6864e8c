"""Changing the notebook from the page: what is written, what is refused, what another hand has changed meanwhile."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.browser.conftest import OpenTab, served

from sidelight.desk.demo import DATE
from sidelight.desk.open import open_notebook


@pytest.fixture
def garden(demo_folder: Path, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Serve a copy of the demo of one test's own."""
    folder = tmp_path / "garden"
    shutil.copytree(demo_folder, folder)
    with served(folder) as base:
        yield base, folder


def test_a_value_is_written_and_notes_stay(garden: tuple[str, Path], open_tab: OpenTab) -> None:
    """A key changed in its form is changed in the file, and every other line stays as it was."""
    base, folder = garden
    before = (folder / "rig.toml").read_text(encoding="utf-8").splitlines()
    tab = open_tab(base)
    tab.go("/notebook#rig.toml")
    tab.fill("#rig-guider-stem_radius_mm", "21.5")
    tab.click('[data-file="rig.toml"] .saver .first')
    tab.wait("document.querySelector('[data-file=\"rig.toml\"] [data-says]').innerText.includes('written')")
    after = (folder / "rig.toml").read_text(encoding="utf-8").splitlines()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(changed) == 1
    assert open_notebook(folder).rig.guider is not None
    assert open_notebook(folder).rig.guider.stem_radius_mm == 21.5  # type: ignore[union-attr]


def test_a_refusal_stands_beside_its_key(garden: tuple[str, Path], open_tab: OpenTab) -> None:
    """A value that cannot be is refused in the words of the command line, beside its key, and nothing is written."""
    base, folder = garden
    before = (folder / "site.toml").read_bytes()
    tab = open_tab(base)
    tab.go("/notebook")
    tab.fill("#site-latitude_deg", "95")
    tab.click('[data-file="site.toml"] .saver .first')
    tab.wait("document.querySelector('#site-latitude_deg-wrong').innerText.includes('95 is too large')")
    assert tab.eval("document.querySelector('#site-latitude_deg').getAttribute('aria-invalid')") == "true"
    assert (folder / "site.toml").read_bytes() == before
    tab.errors.clear()  # the refused request


def test_another_hand_is_noticed_and_not_overwritten(garden: tuple[str, Path], open_tab: OpenTab) -> None:
    """A file changed by hand meanwhile is announced, and the page's own change of it is refused."""
    base, folder = garden
    tab = open_tab(base)
    tab.go("/notebook")
    tab.wait("performance.getEntriesByType('resource').some((one) => one.name.endsWith('/state'))")
    by_hand = (folder / "site.toml").read_text(encoding="utf-8") + "# a note of mine\n"
    (folder / "site.toml").write_text(by_hand, encoding="utf-8")
    tab.fill("#site-elevation_m", "700")
    tab.click('[data-file="site.toml"] .saver .first')
    tab.wait(
        "document.querySelector('[data-file=\"site.toml\"] [data-says]').innerText.includes('changed meanwhile')"
    )
    assert (folder / "site.toml").read_text(encoding="utf-8") == by_hand
    tab.wait("document.querySelector('.notice')?.innerText.includes('changed meanwhile')")
    tab.errors.clear()  # the refused request


def test_a_guider_comes_off(garden: tuple[str, Path], open_tab: OpenTab) -> None:
    """Without its tick the off-axis guider is switched off as a whole, and the set-up is of frames only."""
    base, folder = garden
    tab = open_tab(base)
    tab.go("/notebook#rig.toml")
    tab.click("[data-has=guider]")
    tab.click('[data-file="rig.toml"] .saver .first')
    tab.wait("document.querySelector('[data-file=\"rig.toml\"] [data-says]').innerText.includes('written')")
    assert open_notebook(folder).rig.guider is None
    tab.go(f"/setup?date={DATE}")
    tab.wait("document.querySelector('[data-desk]')?.dataset.ready === ''")
    assert tab.text("[data-served]") == "5 of 5"
    assert tab.count("[data-handle=guider]") == 0


def test_a_point_of_the_skyline_is_moved_by_keys_and_mouse(garden: tuple[str, Path], open_tab: OpenTab) -> None:
    """A point goes up by the arrow keys, a click makes a new one, and horizon.txt says so with its notes."""
    base, folder = garden
    before = (folder / "horizon.txt").read_text(encoding="utf-8")
    tab = open_tab(base)
    tab.go(f"/notebook?date={DATE}")
    tab.wait("document.querySelectorAll('.skyline .point').length === 18")
    tab.eval("document.querySelector('.skyline .point').focus()")
    tab.key("ArrowUp", modifiers=8)
    x, y = tab.place(".skyline svg")
    tab.drag([(x + 20, y - 60), (x + 20, y - 80)])
    tab.wait("document.querySelectorAll('.skyline .point').length === 19")
    tab.click("[data-write-skyline]")
    tab.wait("document.querySelector('[data-skyline-says]').innerText.includes('horizon.txt is written')")
    after = (folder / "horizon.txt").read_text(encoding="utf-8")
    notes = [line for line in before.splitlines() if line.startswith("#")]
    assert [line for line in after.splitlines() if line.startswith("#")] == notes
    horizon = open_notebook(folder).site.horizon
    assert len(horizon.azimuth_deg) == 19
    assert float(horizon.altitude_at(0.0)) == 19.0


def test_a_target_comes_and_goes(garden: tuple[str, Path], open_tab: OpenTab) -> None:
    """A target is added with a suggestion, and taken off after a question."""
    base, folder = garden
    tab = open_tab(base)
    tab.go(f"/season?date={DATE}")
    tab.click("#add-name")
    tab.type("M 5")
    tab.wait("document.querySelectorAll('#add-list li').length > 3")
    tab.fill("#add-name", "NGC 99999")
    tab.key("Escape")
    tab.click("[data-add-target] .first")
    tab.wait("document.querySelector('[data-says]').innerText.includes('7840')")
    tab.errors.clear()  # the refused request
    tab.fill("#add-name", "M 51")
    tab.key("Escape")
    tab.click("[data-add-target] .first")
    tab.wait("document.querySelectorAll('#season-table tbody tr').length === 6")
    assert [target.key for target in open_notebook(folder).targets][-1] == "M 51"
    tab.click('[data-remove="M 51"]')
    tab.wait("document.querySelector('#sure').open")
    tab.click("#sure .first")
    tab.wait("document.querySelectorAll('#season-table tbody tr').length === 5")
    assert "M 51" not in [target.key for target in open_notebook(folder).targets]
