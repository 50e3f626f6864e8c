"""Bad input: each wrong thing in a notebook gives its file, key and line, what was expected, and what to do."""

from pathlib import Path

import pytest
from tests.strategies.notebook import CAMPAIGN, LIGHT, RIG, SITE, TARGETS, in_memory, on_disk

from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.files import LARGEST_BYTES, Folder
from sidelight.notebook.read import problems_of, read_folder, read_notebook


def only_problem(folder: Folder) -> Problem:
    """Return the one problem of a folder."""
    found = problems_of(folder)
    assert len(found) == 1, [str(one) for one in found]
    return found[0]


def changed(text: str, old: str, new: str) -> str:
    """Return a text with one piece replaced, which must be there."""
    assert text.count(old) == 1
    return text.replace(old, new)


def test_the_small_notebook_is_right() -> None:
    """The notebook that these tests spoil is read without a word."""
    assert problems_of(in_memory()) == ()


SITE_CASES = [
    ("latitude_deg = 48.2", "latitude_deg = 98.2", "latitude_deg", 2, "too large", "from -90 to 90"),
    ("latitude_deg = 48.2", "latitude_deg = nan", "latitude_deg", 2, "nan", "degrees"),
    ("latitude_deg = 48.2", "latitude_deg = -inf", "latitude_deg", 2, "inf", "degrees"),
    ("latitude_deg = 48.2", f"latitude_deg = {'9' * 400}", "latitude_deg", 2, "too large", "degrees"),
    ("latitude_deg = 48.2", "latitude_deg = true", "latitude_deg", 2, "true is not", "degrees"),
    ("latitude_deg = 48.2", 'latitude_deg = "north"', "latitude_deg", 2, "not an angle", "degrees"),
    ("latitude_deg = 48.2", 'latitude_deg = "48 72 00"', "latitude_deg", 2, "60 or more", "degrees"),
    ("latitude_deg = 48.2", 'latitude_deg = "-48 12 N"', "latitude_deg", 2, "sign and a letter", "degrees"),
    ("longitude_deg = 16.37", "longitude_deg = 343.6", "longitude_deg", 3, "too large", "-180 to 180"),
    ("elevation_m = 180", "elevation_m = 1e999", "elevation_m", 4, "inf", "metres"),
    ("elevation_m = 180", 'elevation_m = "180 m"', "elevation_m", 4, "not a number", "elevation_m = 180, without"),
    ("elevation_m = 180", 'elevation_m = "180,5"', "elevation_m", 4, "not a number", "elevation_m = 180.5"),
    ("elevation_m = 180", "elevation_m = []", "elevation_m", 4, "a list is not", "metres"),
    ("elevation_m = 180", "elevation_m = {}", "elevation_m", 4, "a table is not", "metres"),
    ("elevation_m = 180", "elevation = 180", "elevation", 4, "not a key", 'Did you mean "elevation_m"'),
    ("elevation_m = 180", "twilight = -12", "twilight", 4, "not a key", 'Did you mean "twilight_deg"'),
    ("elevation_m = 180", "floor_deg = 85.5", "floor_deg", 4, "too large", "from 0 to 85"),
    ("elevation_m = 180", "bearings = 'true'", "bearings", 4, "not a key", "It belongs under [horizon]."),
    ("elevation_m = 180", "aperture_mm = 180", "aperture_mm", 4, "not a key", "It belongs in rig.toml."),
    ('"Europe/Vienna"', '"Europe/Wien"', "time_zone", 5, "no time zone", "IANA"),
    ('"Europe/Vienna"', '"Vienna"', "time_zone", 5, "no time zone", 'Did you mean "Europe/Vienna"?'),
    ('"Europe/Vienna"', '"europe/vienna"', "time_zone", 5, "no time zone", 'Did you mean "Europe/Vienna"?'),
    ('"Europe/Vienna"', '"Europe/Viena"', "time_zone", 5, "no time zone", '"Europe/Vienna"'),
    ('"Europe/Vienna"', '"New York"', "time_zone", 5, "no time zone", 'Did you mean "America/New_York"?'),
    ('"Europe/Vienna"', '"../../etc/passwd"', "time_zone", 5, "no time zone", "IANA"),
    ('"Europe/Vienna"', "5", "time_zone", 5, "5 is not text", 'time_zone = "5"'),
    ('"Garden"', '""', "name", 1, "empty", "text in double quotes"),
    ('"Garden"', '"a\\nb"', "name", 1, "cannot be printed", "one line"),
    ('"true"', '"compass"', "horizon.bearings", 8, "not one of", '"true" or "magnetic"'),
    ('"true"', '"magnetik"', "horizon.bearings", 8, "not one of", 'Did you mean "magnetic"?'),
    ('"true"', '"magnetic"', "horizon.magnetic_declination_deg", 7, "need the declination", "east of true north"),
]


@pytest.mark.parametrize(("old", "new", "key", "line", "said", "advice"), SITE_CASES)
def test_site(old: str, new: str, key: str, line: int, said: str, advice: str) -> None:
    """One wrong thing in site.toml gives one problem, at its place, in words."""
    problem = only_problem(in_memory(site_toml=changed(SITE, old, new)))
    assert (problem.file, problem.key, problem.line) == ("site.toml", key, line)
    assert said in problem.message
    assert advice in f"{problem.expected} {problem.suggestion}"


RIG_CASES = [
    ("width_px = 6248", "width_px = 0", "camera.width_px", 6, "too small", "from 1 to"),
    ("width_px = 6248", "width_px = 6248.5", "camera.width_px", 6, "not a whole number", "pixels"),
    ("width_px = 6248", "", "camera.width_px", 5, "missing", "width_px ="),
    ("pixel_um = 3.76", "pixel_um = 0", "camera.pixel_um", 8, "too small", "micrometres"),
    ("focal_length_mm = 1600", "focal_lenght_mm = 1600\nfocal_length_mm = 1600", "telescope.focal_lenght_mm", 3,
     "not a key of [telescope]", 'Did you mean "focal_length_mm"?'),
    ("focal_length_mm = 1600", "focal_length_m = 1.6\nfocal_length_mm = 1600", "telescope.focal_length_m", 3,
     "not a key of [telescope]", 'Did you mean "focal_length_mm"?'),
    ("stem_radius_mm = 22", "stem_radius_mm = 5", "guider.stem_radius_mm", 11, "inside the camera", "more than"),
    ("stem_radius_mm = 22", "stem_radius_mm = 22\nlimit_mag = 8\nbright_mag = 9", "guider.bright_mag", 13,
     "no brighter", "less than 8"),
    ("aperture_mm = 200", "aperture_mm = 200\nobstruction_mm = 200", "telescope.obstruction_mm", 3,
     "leaves nothing", "less than the aperture"),
    ("aperture_mm = 200", "aperture_mm = 200\nnewtonian = 'yes'", "telescope.newtonian", 3,
     "neither true nor false", "newtonian = true"),
    ("aperture_mm = 200", "aperture_mm = 200\nnewtonian = 1", "telescope.newtonian", 3,
     "neither true nor false", "newtonian = true"),
    ("aperture_mm = 200", "aperture_mm = 200\nnewtonian = true\nmirrors_count = 1", "telescope.mirrors_count", 4,
     "two mirrors", "2"),
    ("[guider.camera]", "[guider.sensor]", "guider.sensor", 13, "not a key of [guider]", "camera"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "line", "said", "advice"), RIG_CASES)
def test_rig(old: str, new: str, key: str, line: int, said: str, advice: str) -> None:
    """One wrong thing in rig.toml is found at its place, what the room of the rig finds included."""
    problems = problems_of(in_memory(rig_toml=changed(RIG, old, new)))
    assert problems
    problem = problems[-1] if new.startswith("[guider.s") else problems[0]
    assert (problem.file, problem.key, problem.line) == ("rig.toml", key, line)
    assert said in problem.message
    assert advice in f"{problem.expected} {problem.suggestion}"


TARGET_CASES = [
    ('name = "NGC 4565"', 'name = "NGC 9565"', "target 1, name", 4, "no object", "7840"),
    ('name = "NGC 4565"', 'name = "Andromida Galaxy"', "target 1, name", 4, "no object", '"Andromeda Galaxy"'),
    ('object = "M 31"', 'object = "M 311"', "target 2, object", 10, "no object", "110"),
    ('["M 32"]', '["M 32", "M 323"]', "target 2, neighbours 2", 11, "no object", "110"),
    ('["M 32"]', '"M 32"', "target 2, neighbours", 11, "not a list", '["M 32"]'),
    ('["M 32"]', '["M 32", "M 32"]', "target 2, neighbours", 11, "twice", "list"),
    ('["M 32"]', '["M 32", 110]', "target 2, neighbours", 11, "110 is not text", "list"),
    ("hours_wanted_h = 12", "hours_wanted_h = 0", "target 1, hours_wanted_h", 5, "too small", "above 0"),
    ("hours_wanted_h = 12", "hours_wanted = 12", "target 1, hours_wanted", 5, "not a key", "hours_wanted_h"),
    ("hours_wanted_h = 12", "ra_deg = 35", "target 1, dec_deg", 3, "both", "both of them"),
    ("hours_wanted_h = 12", "minor_arcmin = 40", "target 1, major_arcmin", 3, "no size", "minor_arcmin <="),
    ('name = "Andromeda"', 'name = "ngc  4565"', "target 2, name", 9, "stands on line 4", "once"),
    ('"+41 00 00"', '"+91 00 00"', "target 2, outline 1, dec_deg", 16, "too large", "-90 to 90"),
    ('"00h 40m 00s"', '"25h 40m 00s"', "target 2, outline 1, ra_deg", 15, "too large", "hours"),
]


@pytest.mark.parametrize(("old", "new", "key", "line", "said", "advice"), TARGET_CASES)
def test_targets(old: str, new: str, key: str, line: int, said: str, advice: str) -> None:
    """One wrong thing in targets.toml is found at its row; rows count from 1 for people."""
    folder = in_memory(targets_toml=changed(TARGETS, old, new), campaign_toml=None)
    problem = only_problem(folder)
    assert (problem.file, problem.key, problem.line) == ("targets.toml", key, line)
    assert said in problem.message
    assert advice in f"{problem.expected} {problem.suggestion}"


CAMPAIGN_CASES = [
    ('"friday"', '"fryday"', "nights.weekdays", 2, "not one of", '"friday"'),
    ('"01:30"', '"25:30"', "nights.latest_bedtime", 3, "not a time", "0 to 23"),
    ('"01:30"', "1.5", "nights.latest_bedtime", 3, "not a time", '"01:30"'),
    ('target = "NGC 4565"', 'target = "NGC 4566"', "goal 1, target", 6, "not in targets.toml", '"NGC 4565"?'),
    ("L = 8", "Lum = 8", "goal 1, filters_h.Lum", 8, "not in light.toml", "L, Ha"),
    ("L = 8", 'L = "8"', "goal 1, filters_h", 8, "not a number", "above 0"),
    ("{ L = 8, Ha = 4 }", "{}", "goal 1, filters_h", 8, "No name", "names with numbers"),
    ("[[goal]]", "[goal]", "goal", 5, "repeats", "[[goal]]"),
    ("[nights]", "[[nights]]", "nights", 1, "not a table of its own", "single brackets"),
    ("priority_weight = 2", "priority = 2", "goal 1, priority", 7, "not a key of [[goal]]", "priority_weight"),
    ("[nights]", '[weather]\npast_nights_file = "../x.csv"\n[nights]', "weather.past_nights_file", 2,
     "plain name", "past-nights.csv"),
    ("[nights]", '[weather]\npast_nights_file = "none.csv"\n[nights]', "weather.past_nights_file", 2,
     "no file", "2026-03-01,yes"),
    ("[nights]", "[[forecast]]\nevening = 2027-03-06T20:00:00\nusable_percent = 3\n[nights]",
     "forecast 1, evening", 2, "time of day", "2027-03-06"),
    ("[nights]", "nights = 5\n[x]", "x", 2, "not a key of the head", "one of"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "line", "said", "advice"), CAMPAIGN_CASES)
def test_campaign(old: str, new: str, key: str, line: int, said: str, advice: str, tmp_path: Path) -> None:
    """One wrong thing in campaign.toml is found at its place, names that other files do not have included."""
    folder = in_memory(campaign_toml=changed(CAMPAIGN, old, new))
    problem = problems_of(Folder(tmp_path, folder.planned))[-1 if key == "x" else 0]
    assert (problem.file, problem.key, problem.line) == ("campaign.toml", key, line)
    assert said in problem.message
    assert advice in f"{problem.expected} {problem.suggestion}"


LIGHT_CASES = [
    ("zenith_mag_arcsec2 = 21.2", "zenith_mag_arcsec2 = 23.5", "sky.zenith_mag_arcsec2", 2, "too large", "14 to 23"),
    ("zenith_mag_arcsec2 = 21.2", "darkness_class = 4.5", "sky.darkness_class", 2, "not a whole", "1 to 9"),
    (
        "centre_nm = 550",
        "centre_nm = 550\ncentre_um = 0.55",
        "filter 1, centre_um",
        7,
        "not a key of [[filter]]",
        '"centre_nm"',
    ),
    ('name = "Ha"', 'name = "l"', "filter 2, name", 10, "stands on line 5 already", "once"),
    ("[sky]", "[exposure]\nshortest_s = 700\n[sky]", "exposure.shortest_s", 2, "longer than the longest", "at most"),
]


@pytest.mark.parametrize(("old", "new", "key", "line", "said", "advice"), LIGHT_CASES)
def test_light(old: str, new: str, key: str, line: int, said: str, advice: str) -> None:
    """One wrong thing in light.toml is found at its place."""
    problem = problems_of(in_memory(light_toml=changed(LIGHT, old, new), campaign_toml=None))[0]
    assert (problem.file, problem.key, problem.line) == ("light.toml", key, line)
    assert said in problem.message
    assert advice in f"{problem.expected} {problem.suggestion}"


PROGRAM_CASES = [
    ("stars.toml", "[service]\nurl = 'ftp://x'", "service.url", 2, "not an address"),
    ("stars.toml", "[columns]\nepoch_year = 20160", "columns.epoch_year", 2, "too large"),
    ("learned.toml", "[[measured]]\ndate = 2027-03-06\nstem_radius_mm = 0", "measured 1, stem_radius_mm", 3, "small"),
    ("learned.toml", "[[measured]]\ncamera_offset_deg = 1", "measured 1, date", 1, "missing"),
    ("setups.toml", "[[setup]]\nname='a'\n[[setup]]\nname='A'", "setup 2, name", 4, "stands on line 2 already"),
    ("setups.toml", "[[setup]]\nname='a'\nin_use=true\n[[setup]]\nname='b'\nin_use=true", "setup 2, in_use", 6,
     "in use"),
    ("setups.toml", "[[setup]]\nname='a'\n[[setup.pointing]]\ntarget='x'\ndec_deg=1",
     "setup 1, pointing 1, ra_deg", 3, "missing"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "text", "key", "line", "said"), PROGRAM_CASES)
def test_files_that_the_program_writes(file: str, text: str, key: str, line: int, said: str) -> None:
    """Files that nobody needs to write by hand are checked as strictly as the others."""
    problem = only_problem(in_memory(**{file.replace(".", "_"): text}))
    assert (problem.file, problem.key, problem.line) == (file, key, line)
    assert said in problem.message


SYNTAX_CASES = [
    ("elevation_m = 180", "elevation_m = 180,5", 4, "with a point"),
    ("elevation_m = 180", "elevation_m =", 4, "after the equals sign"),
    ("elevation_m = 180", "elevation_m = 180 m", 4, "without its unit"),
    ("elevation_m = 180", "elevation_m = 0180", 4, "zero in front"),
    ("elevation_m = 180", "elevation_m = 180.", 4, "both sides of the point"),
    ("elevation_m = 180", "elevation_m = True", 4, "small letters"),
    ("elevation_m = 180", "elevation_m: 180", 4, "equals sign"),
    ("elevation_m = 180", "elevation_m 180", 4, "key = value"),
    ("elevation_m = 180", "elevation_m = 01:30", 4, "double quotes"),
    ("elevation_m = 180", "elevation_m = 6.3.2027", 4, "year-month-day"),
    ('"Garden"', "Garden", 1, "double quotes"),
    ('"Garden"', "“Garden”", 1, "straight"),
    ('"Garden"', '"Garden', 1, "Close"),
    ('"Garden"', '"C:\\garden"', 1, "backslash"),
    ("[horizon]", "[horizon", 7, "brackets"),
]


@pytest.mark.parametrize(("old", "new", "line", "advice"), SYNTAX_CASES)
def test_syntax(old: str, new: str, line: int, advice: str) -> None:
    """What is not TOML is refused with its line and with what to write instead."""
    problem = only_problem(in_memory(site_toml=changed(SITE, old, new)))
    assert (problem.file, problem.line) == ("site.toml", line)
    assert advice in str(problem.suggestion)


def test_a_key_twice() -> None:
    """A key or a table that stands twice is said to, with the line of the second one."""
    problem = only_problem(in_memory(site_toml=changed(SITE, "elevation_m = 180", "name = 'again'")))
    assert "twice" in problem.message
    assert problem.line == 4
    problem = only_problem(in_memory(site_toml=SITE + "\n[horizon]\n"))
    assert "twice" in problem.message
    assert problem.line == 10


@pytest.mark.parametrize(
    ("data", "said", "line"),
    [
        (SITE.encode("utf-16"), "UTF-16", 1),
        (SITE.replace("Garden", "Gärten").encode("latin-1"), "not UTF-8", 1),
        (SITE.encode() + b"# \xff\n", "not UTF-8", 9),
        (b"name = 'a'\n\x00\x01\x02", "not a text file", 2),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "not a text file", 3),
        (b"#" * (LARGEST_BYTES + 1), "too big", None),
    ],
)
def test_what_is_not_text(data: bytes, said: str, line: int | None) -> None:
    """Pictures, other encodings and endless files are refused in words, with the line where that helps."""
    for file in ("site_toml", "horizon_txt"):
        problem = next(one for one in problems_of(in_memory(**{file: data})) if one.file == file.replace("_", "."))
        assert said in problem.message
        assert problem.line == line


@pytest.mark.parametrize("wrap", [lambda text: b"\xef\xbb\xbf" + text, lambda text: text.replace(b"\n", b"\r\n")])
def test_what_editors_do(wrap) -> None:  # noqa: ANN001
    """A byte order mark and other line ends change nothing, and lines keep their numbers."""
    files = {name: wrap(text.encode()) for name, text in (("site_toml", SITE), ("targets_toml", TARGETS))}
    assert problems_of(in_memory(**files)) == ()
    spoilt = in_memory(site_toml=wrap(SITE.replace("48.2", "98.2").encode()))
    assert only_problem(spoilt).line == 2


def test_lists_nested_without_end() -> None:
    """A list in a list in a list … is refused, whatever the reader does about it."""
    problem = only_problem(in_memory(site_toml="name = " + "[" * 50_000 + "]" * 50_000))
    assert problem.file == "site.toml"


def test_old_line_ends() -> None:
    """A file whose lines end in carriage returns only is refused, not misread."""
    assert problems_of(in_memory(site_toml=SITE.replace("\n", "\r")))


def test_everything_at_once() -> None:
    """Problems of all files come together, each with its own file."""
    folder = in_memory(
        site_toml=SITE.replace("48.2", "98").replace("Europe/Vienna", "Mars"),
        horizon_txt="0 10\nx\n",
        rig_toml=RIG.replace("3.76", "-1"),
        targets_toml=TARGETS.replace("NGC 4565", "NGC 45650"),
        light_toml=LIGHT.replace("656.3", "nan"),
    )
    with pytest.raises(BadInput) as refusal:
        read_folder(folder)
    files = [problem.file for problem in refusal.value.problems]
    assert files == ["site.toml", "site.toml", "horizon.txt", "rig.toml", "targets.toml", "light.toml"]
    assert all(problem.line for problem in refusal.value.problems)
    assert refusal.value.exit_code == 2


@pytest.mark.parametrize("file", ["site.toml", "horizon.txt", "rig.toml", "targets.toml"])
def test_a_missing_file(file: str) -> None:
    """Each file that is needed is missed by name, with what to do."""
    problem = only_problem(in_memory(**{file.replace(".", "_"): None, "campaign_toml": None}))
    assert problem.file == file
    assert "missing" in problem.message
    assert problem.suggestion


def test_a_folder_that_is_none(tmp_path: Path) -> None:
    """No folder, a file in its place, and a folder in a file's place are each refused in words."""
    with pytest.raises(BadInput, match=r"no such folder.*sidelight init"):
        read_notebook(tmp_path / "nowhere")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(BadInput, match="not a folder"):
        read_notebook(tmp_path / "file")
    folder = on_disk(tmp_path / "book")
    (folder / "light.toml").unlink()
    (folder / "light.toml").mkdir()
    with pytest.raises(BadInput, match=r"light\.toml: This is no file"):
        read_notebook(folder)


def test_nothing_given_is_told_from_defaults() -> None:
    """A guider that is not in the file is none, and nothing of it is missed."""
    without = RIG.split("[guider]", maxsplit=1)[0]
    assert read_folder(in_memory(rig_toml=without)).rig.guider is None


def test_weather_of_past_nights(tmp_path: Path) -> None:
    """A wrong row of the table of past nights is named with the table's own name and line; a right one counts."""
    campaign = CAMPAIGN + '\n[weather]\npast_nights_file = "past.csv"\n'
    folder = on_disk(tmp_path)
    (folder / "campaign.toml").write_text(campaign, encoding="utf-8")
    (folder / "past.csv").write_text("date,usable\n2026-03-01,yes\n2026-03-02,perhaps\n", encoding="utf-8")
    problem = only_problem(Folder(folder))
    assert (problem.file, problem.line) == ("past.csv", 3)
    (folder / "past.csv").write_text("date,usable\n2026-03-01,yes\n2026-03-02,no\n", encoding="utf-8")
    assert read_notebook(folder).campaign.weather.nights_seen_count == 2


def test_one_object_is_one_target_under_any_name() -> None:
    """The same object at the same pointing under another name is refused, with the line of the first."""
    problem = only_problem(in_memory(targets_toml='[[target]]\nname = "M 81"\n[[target]]\nname = "NGC 3031"\n'))
    assert problem.message == '"NGC 3031" is M 81, which stands on line 2 already.'
    assert (problem.key, problem.line) == ("target 2, name", 4)


def test_a_name_of_the_persons_own_is_told_with_its_object() -> None:
    """An object that stands under a name of the person's own is called by both."""
    rows = '[[target]]\nname = "The big one"\nobject = "M 31"\n[[target]]\nname = "andromeda galaxy"\n'
    assert '"andromeda galaxy" is M 31, which stands as "The big one" on line 2' in str(
        only_problem(in_memory(targets_toml=rows))
    )


def test_two_framings_of_one_object_are_two_targets() -> None:
    """An object may be wanted twice where the frame's middle differs."""
    rows = '[[target]]\nname = "M 81"\n[[target]]\nname = "M 81 high"\nobject = "M 81"\nshift_north_arcmin = 4\n'
    assert not [one for one in problems_of(in_memory(targets_toml=rows)) if one.file == "targets.toml"]


def test_a_folder_that_holds_no_notebook_is_one_problem(tmp_path: Path) -> None:
    """An empty folder is said to be no notebook, once, with where one comes from."""
    with pytest.raises(BadInput) as refused:
        read_notebook(tmp_path)
    assert [one.message for one in refused.value.problems] == ["This folder is no notebook."]
    assert '"init" or "demo"' in str(refused.value)


def test_a_missing_file_is_named_with_what_it_says() -> None:
    """What a missing file is for stands in the sentence, which ends in one stop."""
    said = str(only_problem(in_memory(site_toml=None)))
    assert said.startswith("site.toml: The file is missing (where the telescope stands, and how low it may look). ")
    assert ".." not in said
