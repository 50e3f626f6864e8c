"""The campaign's first night: what the night's own plan says, so that the two never differ."""

import datetime as dt
from collections.abc import Sequence

import numpy as np

from sidelight.desk.campaign_records import CampaignStretchReport
from sidelight.desk.campaign_season import CampaignSeason
from sidelight.desk.campaign_setups import CampaignSetUpReport
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.night_records import StretchReport
from sidelight.notebook.read import Notebook
from sidelight.sky.time import mjd_from_datetime


def first_night(
    notebook: Notebook, date: dt.date, season: CampaignSeason, set_ups: Sequence[CampaignSetUpReport], number: int
) -> tuple[CampaignStretchReport, ...] | None:
    """Return the first night's stays as the night's own plan has them.

    number : the plan's set-up that night. None where that is not the one the night goes by, or where the night is not
    the person's to use: the season's plan stands then.
    """
    if not set_ups or not len(season.usable_spans[0]) or not (len(set_ups) == 1 or set_ups[number].in_use):
        return None
    report = night_report(notebook, date, setup_in_use(notebook, date))
    return tuple(_stay(notebook, date, season, set_ups[number].name, one) for one in report.plan)


def _stay(
    notebook: Notebook, date: dt.date, season: CampaignSeason, set_up: str, one: StretchReport
) -> CampaignStretchReport:
    """Return a stretch of the night as a stay of the campaign, its hours counted by the season's slots."""
    slots, jobs = season.slots, season.jobs
    here = np.flatnonzero(slots.night == 0)
    start, end = mjd_from_datetime(one.start_utc), mjd_from_datetime(one.end_utc)
    slot_end = slots.start_mjd[here] + slots.length_h[here] / 24.0
    shared_h = np.clip(np.minimum(slot_end, end) - np.maximum(slots.start_mjd[here], start), 0.0, None) * 24.0
    # the overhead comes off the beginning
    owed_h = notebook.campaign.rules.overhead_h
    exposing_h = np.diff(np.maximum(0.0, np.cumsum(np.r_[0.0, shared_h]) - owed_h))
    mine = [j for j, job in enumerate(jobs) if job.key == one.target and job.remaining_h > 0]
    rate = slots.rate[mine][:, here] if mine else np.zeros((1, len(here)))
    used = [jobs[mine[int(k)]].filter_name for k in np.argmax(rate, axis=0)[exposing_h > 0]] if mine else []
    return CampaignStretchReport(
        date=date,
        target=one.target,
        filters=tuple(dict.fromkeys(name for name in used if name)),
        set_up=set_up,
        start_utc=one.start_utc,
        end_utc=one.end_utc,
        hours=max(0.0, one.hours - owed_h),
        effective_hours=float((rate.max(axis=0) * exposing_h).sum()),
        usable_probability=float(season.chance[0]),
    )
