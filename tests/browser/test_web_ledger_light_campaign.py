"""Ledger, light and campaign in a real browser: as the other pages, and what a person does on them."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from tests.browser.chrome import Tab
from tests.browser.conftest import DESK, PHONE, OpenTab, served
from tests.browser.looking import SEE_EVERY_IMAGE, faults, show
from tests.browser.png import pixels
from tests.strategies.served import series, solved_image

from sidelight.desk.ledger import add_frames
from sidelight.desk.ledger_show import frames_report, ledger_report
from sidelight.notebook.read import read_notebook

READY = {
    "ledger": "document.querySelectorAll('[data-frames] tr').length === 6",
    "light": "document.querySelectorAll('#light-table tbody tr').length === 5",
    "campaign": "document.querySelectorAll('.goal .odds').length === 5"
    " && !document.querySelector('[data-answer]').hidden",
}  # fmt: skip
PATIENCE_S = 120.0


@pytest.fixture(scope="module")
def garden(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a notebook with frames in its ledger."""
    folder = tmp_path_factory.mktemp("ledger") / "garden"
    shutil.copytree(demo_folder, folder)
    add_frames(read_notebook(folder), [series(folder.parent / "frames")])
    return folder


@pytest.fixture(scope="module")
def base(garden: Path) -> Iterator[str]:
    """Serve it."""
    with served(garden) as address:
        yield address


@pytest.fixture
def own_base(garden: Path, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Serve a copy that may be written to."""
    folder = tmp_path / "own"
    shutil.copytree(garden, folder)
    with served(folder) as address:
        yield address, folder


def opened(tab: Tab, page: str, look: str = "day") -> Tab:
    """Open a page in a display and wait until it is all there."""
    return show(tab, page, look, READY[page], PATIENCE_S)


def give_file(tab: Tab, selector: str, path: Path) -> None:
    """Choose a file in a file input."""
    root = tab.call("DOM.getDocument")["root"]["nodeId"]
    node = tab.call("DOM.querySelector", nodeId=root, selector=selector)["nodeId"]
    tab.call("DOM.setFileInputFiles", files=[str(path)], nodeId=node)


@pytest.mark.parametrize("look", ["day", "night"])
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
@pytest.mark.parametrize("page", READY)
def test_axe_finds_no_serious_fault(
    base: str, open_tab: OpenTab, page: str, size: tuple[int, int], look: str
) -> None:
    """axe-core finds nothing serious, and the page fits its width."""
    tab = opened(open_tab(base, size), page, look)
    assert faults(tab) == []
    assert tab.eval("document.documentElement.scrollWidth") <= size[0]


@pytest.mark.parametrize("page", READY)
def test_the_red_display_is_red_alone(base: str, open_tab: OpenTab, page: str) -> None:
    """No pixel of these pages in the red display holds green or blue, and most of it is dark."""
    tab = opened(open_tab(base, PHONE), page, "night")
    tab.eval("for (const one of document.querySelectorAll('details')) one.open = true")
    tab.eval(SEE_EVERY_IMAGE)
    shown = pixels(tab.picture())
    assert shown[:, :, 0].max() > 150
    assert shown[:, :, 1:].max() <= 2
    assert np.asarray(shown[:, :, 0], dtype=np.float64).mean() < 40


def test_frames_are_left_out_and_counted_again(own_base: tuple[str, Path], open_tab: OpenTab) -> None:
    """Ticked and left out with a reason, a frame is struck through; counted again it is as before."""
    base, folder = own_base
    tab = opened(open_tab(base), "ledger")
    tab.click("[data-frames] tr:first-child input")
    tab.fill("[data-why]", "clouds")
    tab.click("[data-do=exclude]")
    tab.wait(READY["ledger"] + " && document.querySelector('[data-frames] tr[data-out]') !== null")
    assert "clouds" in tab.text("[data-frames] tr[data-out]")
    assert sum(not one.counts for one in frames_report(read_notebook(folder)).frames) == 1
    tab.click("[data-frames] tr[data-out] input")
    tab.click("[data-do=restore]")
    tab.wait(READY["ledger"] + " && document.querySelector('[data-frames] tr[data-out]') === null")
    assert all(one.counts for one in frames_report(read_notebook(folder)).frames)


def test_a_folder_is_taken_in_by_keyboard(own_base: tuple[str, Path], open_tab: OpenTab, tmp_path: Path) -> None:
    """The folder is typed, Enter takes it in with its progress, and the ledger then shows it."""
    base, folder = own_base
    more = series(tmp_path / "more", 3, "M 81 again")
    for path in more.iterdir():
        path.write_bytes(path.read_bytes().replace(b"T20:", b"T21:"))
    tab = opened(open_tab(base), "ledger")
    tab.tab_to("one.name === 'folder'")
    tab.type(str(more))
    tab.key("Enter")
    tab.wait("document.querySelector('[data-take-says]').textContent.includes('3 new')", PATIENCE_S)
    tab.key("Enter")
    tab.wait("document.querySelectorAll('[data-frames] tr').length === 9")
    assert ledger_report(read_notebook(folder)).frames_count == 9


def test_hours_by_hand(own_base: tuple[str, Path], open_tab: OpenTab) -> None:
    """Hours without files are entered, refused in words when they are none, and taken back."""
    base, folder = own_base
    tab = opened(open_tab(base), "ledger")
    tab.click("[data-hand] .button.first")
    assert "how many hours" in tab.text("[data-hand-says]")
    tab.fill("[name=hours_h]", "2,5")
    tab.click("[data-hand] .button.first")
    tab.wait("document.querySelector('[data-take-back]') !== null")
    assert [one.hours_h for one in ledger_report(read_notebook(folder)).by_hand] == [2.5]
    tab.click("[data-take-back]")
    tab.wait("document.querySelector('[data-hand]') !== null && document.querySelector('[data-take-back]') === null")
    assert ledger_report(read_notebook(folder)).by_hand == ()


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_a_first_image_is_judged_and_learnt(
    own_base: tuple[str, Path], open_tab: OpenTab, tmp_path: Path, size: tuple[int, int]
) -> None:
    """A chosen image is answered with turn it or leave it, its pictures and, once asked for, its lesson."""
    base, folder = own_base
    tab = opened(open_tab(base, size), "ledger", "night")
    give_file(tab, "#image-file", solved_image(tmp_path / "first.fits", folder, 12.0))
    tab.wait("!document.querySelector('[data-verdict]').hidden", PATIENCE_S)
    assert tab.text(".says > h2") == "Turn it"
    assert "clockwise" in tab.text(".turn-list")
    assert not (folder / "learned.toml").exists()
    tab.eval(SEE_EVERY_IMAGE)
    assert faults(tab) == []
    assert tab.eval("document.documentElement.scrollWidth") <= size[0]
    assert pixels(tab.picture())[:, :, 1:].max() <= 2
    tab.click(".says .button.first")
    tab.wait("document.querySelector('.says .remark') !== null", PATIENCE_S)
    assert (folder / "learned.toml").exists()


def test_a_dropped_file_does_not_leave_the_page(base: str, open_tab: OpenTab) -> None:
    """What is dropped beside the box has no effect; in the box, a file that is no image is refused in words."""
    tab = opened(open_tab(base), "ledger")
    drop = """(where, name) => { const data = new DataTransfer(); data.items.add(new File(["hello"], name));
      return document.querySelector(where).dispatchEvent(
        new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: data })); }"""
    assert tab.eval(f"({drop})('h1', 'beside.fits')") is False  # the browser's own answer was held back
    tab.eval(f"({drop})('[data-drop]', 'words.fits')")
    tab.wait("document.querySelector('[data-images-says] li') !== null")
    assert "words.fits" in tab.text("[data-images-says]")
    tab.errors[:] = [one for one in tab.errors if "422" not in one]  # the browser tells every refused request


def test_a_goal_is_dragged_and_only_then_kept(own_base: tuple[str, Path], open_tab: OpenTab) -> None:
    """A dragged goal changes the odds and no file; kept, it stands in the notebook."""
    base, folder = own_base
    before = (folder / "targets.toml").read_bytes()
    tab = opened(open_tab(base), "campaign")
    x, y = tab.place(".goal input[type=range]")
    tab.drag([(x, y), (x + 60, y), (x + 200, y)])
    tab.wait("document.querySelector('.goal .was') !== null", PATIENCE_S)
    wanted = float(tab.eval("document.querySelector('.goal input[type=text]').value"))
    assert wanted > 25.0
    assert (folder / "targets.toml").read_bytes() == before
    tab.click("[data-keep]")
    tab.wait(f"document.querySelector('.goal')?.dataset.own === '{wanted:g}'", PATIENCE_S)
    assert read_notebook(folder).targets[0].hours_wanted_h == wanted


def test_odds_under_other_skies_are_those_of_the_report(own_base: tuple[str, Path], open_tab: OpenTab) -> None:
    """Asked what would change the odds, the page shows poorer and better skies beside the person's own figure."""
    base, _ = own_base
    tab = opened(open_tab(base), "campaign")
    assert tab.eval("document.querySelector('[data-skies-place]').hidden")
    heads = tab.eval("[...document.querySelectorAll('#plan-table th[scope=col]')].map((one) => one.textContent)")
    assert {"exposing", "effective"} <= set(heads)
    address = tab.eval("document.querySelector('[data-file=csv]').href")
    tab.click("[data-ask-give]")
    tab.wait("!document.querySelector('[data-skies-place]').hidden", PATIENCE_S)
    tab.wait(f"document.querySelector('[data-file=csv]').href !== {address!r}")
    job = tab.eval("new URL(document.querySelector('[data-file=csv]').href).searchParams.get('job')")
    report = tab.eval(f"fetch('/api/campaign?job={job}').then((one) => one.json())")
    cells = (
        "[...document.querySelectorAll('#skies-table tbody tr')].map((one) => [...one.cells].map((c) => c.innerText))"
    )
    low, own, high = tab.eval(cells)
    assert [low[0], own[0], high[0]] == ["−10 points", "as you gave it", "+10 points"]
    skies = {one["change_percent"]: one for one in report["other_skies"]}
    for row, targets in ((low, skies[-10.0]["targets"]), (own, report["targets"]), (high, skies[10.0]["targets"])):
        odds = [one["odds_fraction"] for one in targets]
        assert [float(cell.strip("<> %")) for cell in row[2:]] == pytest.approx([100 * one for one in odds], abs=1.01)
    reserves = sum(stay["reserve"] for stay in report["plan"])
    stays = tab.eval("[...document.querySelectorAll('#plan-table td')].map((one) => one.innerText)")
    assert sum(stay.endswith("in reserve") for stay in stays) == reserves


def test_exposures_follow_the_boxes(base: str, open_tab: OpenTab) -> None:
    """An object is chosen by keyboard and its figures appear; the address stays short."""
    tab = opened(open_tab(base), "light")
    tab.eval("document.querySelector('[name=target]').focus()")
    tab.key("ArrowDown")
    tab.wait("new URLSearchParams(location.search).get('target') === 'NGC 2903'")
    tab.wait(READY["light"] + " && document.querySelector('[data-picture=snr]') !== null")
    assert not tab.eval("location.search.includes('hours')")


@pytest.mark.parametrize("page", READY)
def test_pages_are_light(base: str, open_tab: OpenTab, page: str) -> None:
    """With everything that it fetches a page stays under a megabyte."""
    tab = opened(open_tab(base), page)
    tab.eval(SEE_EVERY_IMAGE)
    size = tab.eval("performance.getEntriesByType('resource').reduce((all, one) => all + one.encodedBodySize, 0)")
    assert size < 1_000_000
