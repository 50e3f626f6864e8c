"""The description of campaign.toml: goals, the person's nights, weather."""

import datetime as dt

from sidelight.notebook.schema.fields import Field, Page, Table, choice, number, text, whole

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)

NIGHTS = Table(
    "nights",
    "Your nights",
    "Which nights you can use. A night has the date of its evening.",
    (
        Field(
            "weekdays", "choices", "Evenings of the week on which you can go out.", default=WEEKDAYS, choices=WEEKDAYS
        ),
        Field("dates_off", "dates", "Evenings on which you cannot.", default=()),
        Field(
            "latest_bedtime",
            "clock",
            "You stop at this time of the clock. Leave it out to stay until dawn.",
            example="01:30",
        ),
        Field(
            "setup_weekdays",
            "choices",
            "Days of the week on which you can change the set-up in daylight.",
            default=WEEKDAYS,
            choices=WEEKDAYS,
        ),
        Field("setup_dates_off", "dates", "Dates on which you cannot change it.", default=()),
        whole("planned_nights_count", 1, 800, "How many nights ahead a campaign is planned.", default=120),
    ),
)

RULES = Table(
    "rules",
    "What a night costs",
    "Time that no picture is taken in, and how long a stay must be to be worth it.",
    (
        number(
            "overhead_min", 0, 240, "Lost at each change of target: slewing, focus, the guider's start.", default=15.0
        ),
        number("flip_overhead_min", 0, 240, "Lost at a flip.", default=5.0),
        number("shortest_stay_min", 0, 720, "A shorter stay on a target is not planned.", default=60.0),
        number(
            "setup_change_cost_h",
            0,
            100,
            "What a change of set-up must gain, counted in hours on a target of weight 1: flats, a day at the bench.",
            default=1.0,
        ),
        number(
            "odds_wanted_percent",
            1,
            99,
            "The odds of finishing at which a last call is made.",
            default=80.0,
        ),
    ),
)

GOAL = Table(
    "goal",
    "Goal",
    "More than hours in all for one target. Targets without a goal want their hours_wanted_h and count once.",
    (
        text("target", "The target's name in targets.toml.", required=True, example="NGC 4565"),
        number("priority_weight", 0, 1000, "A target of weight 2 counts twice.", above_low=True, default=1.0),
        choice(
            "season",
            ("finish", "carry"),
            '"finish" when half its worth lies in finishing this season, "carry" when it may go on next year.',
            default="finish",
        ),
        Field(
            "filters_h",
            "by_name",
            "Hours for each filter, by the filters' names in light.toml. Leave it out for hours in all.",
            0,
            10000,
            above_low=True,
            example={"L": 12, "Ha": 8},
        ),
    ),
    many=True,
    example={"target": "NGC 4565", "priority_weight": 2.0, "filters_h": {"L": 12, "Ha": 8}},
)

WEATHER = Table(
    "weather",
    "Weather",
    "The chance that a night can be used, month by month, and how alike two nights in a row are.",
    (
        text(
            "past_nights_file",
            "A table of past nights in this folder (rows such as 2026-03-01,yes). It replaces the chances below.",
            example="past-nights.csv",
        ),
        *(
            number(
                f"{month}_percent",
                0,
                100,
                f"Chance of a usable night in {month.capitalize()}.",
                default=35.0,
                group="Chance of a usable night in each month.",
            )
            for month in MONTHS
        ),
        number(
            "persistence_fraction",
            0,
            0.95,
            "How much one night is like the next: 0 not at all, 0.3 is usual in changeable weather (a guess).",
            default=0.3,
        ),
    ),
)

FORECAST = Table(
    "forecast",
    "Forecast",
    "The chance of one coming night; it replaces the month's. Repeat the block for each night.",
    (
        Field("evening", "date", "The date of the evening.", required=True, example=dt.date(2027, 3, 6)),
        number("usable_percent", 0, 100, "Chance that the night can be used.", required=True, example=80),
    ),
    many=True,
    example={"evening": dt.date(2027, 3, 6), "usable_percent": 80},
)

FRAMES = Table(
    "frames",
    "Frames",
    "How collected frames are counted.",
    (
        Field(
            "rejected_folders",
            "texts",
            "Frames in folders of these names do not count.",
            default=("rejected",),
        ),
        number(
            "match_within_arcmin",
            0,
            600,
            "A frame belongs to a target when it points this near to it.",
            above_low=True,
            default=20.0,
        ),
    ),
)

HEAD = Table("", "The campaign", "", (), (NIGHTS, RULES, WEATHER, FORECAST, GOAL, FRAMES))

CAMPAIGN = Page("campaign.toml", "Campaign", "What you want from the coming months, and which nights you have.", HEAD)
