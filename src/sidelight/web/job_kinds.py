"""The kinds of job: what can be done in the background, each in a process of its own that can be stopped at once."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sidelight.cards.campaign_drawings import campaign_picture, odds_picture
from sidelight.cards.campaign_exports import campaign_calendar, campaign_csv, campaign_ecsv
from sidelight.desk.campaign import campaign_report
from sidelight.desk.clock import tonight
from sidelight.desk.ledger import add_frames
from sidelight.desk.live import live_dial
from sidelight.desk.open import open_notebook
from sidelight.desk.setup import SetupQuestion
from sidelight.desk.stars import fetch_deeper
from sidelight.desk.what_if import HoursWish, with_wishes
from sidelight.ground.errors import BadInput, Problem
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.web.dial import turning

Tell = Callable[[float | None, str], None]
"""Told how far the work is, 0 to 1 (None while nobody knows), and what is being done."""


def setup_question(asked: dict[str, Any], today: dt.date) -> SetupQuestion:
    """Return a question as the desk takes it, from a request's body."""
    date = asked.get("date")
    return SetupQuestion(
        date=dt.date.fromisoformat(date) if date else today,
        nights=int(asked.get("nights") or 30),
        camera_angle_deg=asked.get("camera_angle_deg"),
        stem_offset_deg=asked.get("stem_offset_deg"),
        grant_shift_arcmin=asked.get("grant_shift_arcmin"),
        leave_out=tuple(asked.get("leave_out") or ()),
        refuse=tuple(asked.get("refuse") or ()),
    )


def solve_dial(folder: Path, asked: dict[str, Any], tell: Tell) -> object:
    """Solve a set-up under conditions."""
    tell(None, "Looking for the best set-up")
    book = open_notebook(folder)
    return turning(live_dial(book, setup_question(asked, tonight(book.site))))


def fetch_stars(folder: Path, asked: dict[str, Any], tell: Tell) -> object:
    """Fetch deeper stars round every target."""
    tell(0.0, "Asking the star service")
    book = open_notebook(folder)
    return fetch_deeper(
        book,
        asked.get("limit_mag"),
        lambda step: tell(step.done_fraction, f"Stars round {step.field}, {step.stars} so far"),
    )


def folder_of(text: str) -> Path:
    """Return a typed folder; raises BadInput unless it is a whole path, for the page has no folder that it is in."""
    wrong = Problem(
        f'"{text}" is not the whole path of a folder.', key="folders", expected="such as /home/you/frames"
    )
    if "\0" in text:
        raise BadInput(wrong)
    try:
        path = Path(text).expanduser()
    except RuntimeError:  # "~name" of nobody here
        raise BadInput(wrong) from None
    if not path.is_absolute():
        raise BadInput(wrong)
    return path


def take_frames(folder: Path, asked: dict[str, Any], tell: Tell) -> object:
    """Take in the frames in and below folders."""
    tell(None, "Looking for frames")
    book = open_notebook(folder)
    places = [folder_of(one) for one in asked.get("folders") or ()]

    def told(done: int, whole: int) -> None:
        tell(done / max(1, whole), f"{done} of {whole} files")

    return add_frames(book, places, told, afresh=bool(asked.get("afresh")))


LOOKS: tuple[Theme, ...] = ("day", "night", "print")
WIDTHS: tuple[Width, ...] = ("wide", "narrow")


def plan_campaign(folder: Path, asked: dict[str, Any], tell: Tell) -> object:
    """Plan and play a campaign with the goals that are asked about; nothing is written."""
    tell(0.0, "Reading the season")
    wishes = [HoursWish(one["target"], one["filter"], one["hours_h"]) for one in asked.get("goals") or ()]
    book = with_wishes(open_notebook(folder), wishes)
    date = dt.date.fromisoformat(asked["date"]) if asked.get("date") else tonight(book.site)

    def told(done: int, total: int) -> None:
        words = "Playing the season in many weathers" if done < 2 else "Playing it without each target in turn"
        tell(done / total, words)

    report = campaign_report(book, date, asked.get("nights"), what_if=bool(asked.get("give_up")), progress=told)
    drawn = (("campaign", campaign_picture), ("odds", odds_picture)) if report.targets else ()
    return {
        "report": report,
        "pictures": {
            f"{name} {look} {width}": draw(report, look, width)
            for name, draw in drawn
            for look in LOOKS
            for width in WIDTHS
        },
        "files": {"csv": campaign_csv(report), "ecsv": campaign_ecsv(report), "ics": campaign_calendar(report)},
    }


KINDS: dict[str, Callable[[Path, dict[str, Any], Tell], object]] = {
    "dial": solve_dial,
    "stars": fetch_stars,
    "frames": take_frames,
    "campaign": plan_campaign,
}
