"""The command line against the real service: what it prints, in words, as JSON, and when something is wrong."""

import inspect
import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from client.misbehaving import POSITION, MisbehavingServer, answer
from threenorths import Client
from threenorths.command_line import main

#: Of the commands that print one answer: `batch` has tests of its own.
EXAMPLES = [
    example
    for name, command in main.commands.items()
    if name not in ("service", "batch")
    for example in command.examples
]

SIGHTS = ["--sight", "33V VE 1200 6500", "52", "--sight", "33V VE 1710 6480", "331 sd 1"]
MARKS = [
    "--sight",
    "33V VE 1200 6500",
    "227",
    "--sight",
    "33V VE 1710 6480",
    "128",
    "--sight",
    "33V VE 1460 7110",
    "354",
]


# click before 8.2 mixes what goes to standard error into the output, unless told not to.
APART = {"mix_stderr": False} if "mix_stderr" in inspect.signature(CliRunner).parameters else {}


#: An invented sheet, for the commands whose examples name a file of it.
SHEET = {
    "scale": "1:50000",
    "grid": {"zone": 33, "hemisphere": "north"},
    "corners": {"south_west": "58.25 N 13.25 E", "north_east": "58.5 N 13.75 E"},
}

#: An invented profile, likewise: distances and heights.
PROFILE = "0 612\n900 480\n2100, 571\n\n2600;520\n4300 540\n"


@pytest.fixture(autouse=True)
def beside_a_sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run in a folder that has the file which the examples name."""
    (tmp_path / "sheet.json").write_text(json.dumps(SHEET), encoding="utf-8")
    (tmp_path / "profile.txt").write_text(PROFILE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)


def run(*arguments: str, url: str | None = None) -> Result:
    environment = {"THREENORTHS_URL": url} if url is not None else {}
    return CliRunner(**APART).invoke(main, arguments, env=environment, catch_exceptions=False)


def line_of(result: Result, label: str) -> str:
    """What stands beside a label."""
    assert result.exit_code == 0, result.stderr
    (line,) = [line for line in result.stdout.splitlines() if line.startswith(label)]
    return line.removeprefix(label).strip()


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.split()[1])
def test_every_example_of_the_help_works(service_url: str, example: str) -> None:
    program, *arguments = shlex.split(example)
    assert program == "threenorths"
    result = run(*arguments, url=service_url)
    assert result.exit_code == 0, result.stderr
    assert result.stderr == ""
    assert not re.search(r"\b(nan|inf|None)\b", result.stdout)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.split()[1])
def test_json_is_the_answer_as_it_came(service_url: str, example: str) -> None:
    result = run(*shlex.split(example)[1:], "--json", "--working", url=service_url)
    answer = json.loads(result.stdout)
    assert answer["working"]
    assert "cautions" in answer


@pytest.mark.parametrize("name", [None, *main.commands])
def test_help_says_what_a_command_does_and_shows_an_example(name: str | None) -> None:
    result = run(*([] if name is None else [name]), "--help")
    assert result.exit_code == 0
    if name is not None:
        assert f"  threenorths {name} " in result.stdout
        assert "invented" in result.stdout


def test_positions(service_url: str) -> None:
    result = run("positions", "33V VE 123 678", url=service_url)
    assert line_of(result, "Grid reference") == "33V VE 123 678, a square of 100 m"
    assert line_of(result, "UTM") == "zone 33V, 412350.0 m E, 6467850.0 m N, northern hemisphere"
    assert line_of(result, "Central meridian") == "15 degrees east; the place is 87,650 m west of it"
    assert line_of(result, "Convergence") == "1.3 degrees west; from true to grid north"


@pytest.mark.parametrize(
    "arguments",
    [
        ["-33.9, 18.4"],
        ["-33.9,18.4", "--digits", "4"],
        ["--digits", "4", "-33.9 18.4"],
        ["--digits", "4", "--", "-33.9, 18.4"],
        [" -33.9, 18.4 "],
    ],
)
def test_a_position_may_begin_with_a_minus_sign(service_url: str, arguments: list[str]) -> None:
    result = run("positions", *arguments, url=service_url)
    assert line_of(result, "Read as") == "latitude 33.9° south, longitude 18.4° east"


def test_so_may_a_sights_place_and_an_options(service_url: str) -> None:
    sights = ["--sight", "-33.9, 18.4", "45", "--sight", "-33.9,18.5", "315"]
    result = run("intersections", *sights, "--north", "true", url=service_url)
    assert line_of(result, "Latitude, longitude").startswith("33.85")
    place = ["--position", "-33.9, 18.4", "--date", "2026-11-25"]
    result = run("bearings", "0", "--north", "true", *place, url=service_url)
    assert line_of(result, "Convergence") == "1.5 degrees east"


def test_a_misspelt_option_is_no_position(service_url: str) -> None:
    result = run("positions", "--digit", "4", url=service_url)
    assert result.exit_code == 2
    assert "--digit" in result.stderr


def test_norths(service_url: str) -> None:
    result = run("norths", "33V VE 12345 67890", "--date", "2026-11-25", url=service_url)
    declination = Client(service_url).norths.at("33V VE 12345 67890", "2026-11-25")
    assert declination.declination_deg > 0.0
    assert line_of(result, "Declination").startswith(
        f"{declination.declination_deg:.1f} degrees east, give or take {declination.declination_sd_deg:.1f}"
    )
    assert line_of(result, "Convergence").startswith("1.3 degrees west")


def test_bearings(service_url: str) -> None:
    result = run(
        "bearings", "190", "--north", "magnetic", "--grid-magnetic-angle-deg", "-4.5", url=service_url
    )
    assert line_of(result, "Degrees ").split() == ["-", "185.5", "190.0"]
    assert line_of(result, "Grid-magnetic angle") == "4.5 degrees west; as given"
    assert line_of(result, "Declination") == "not known"


def test_a_sheet_is_put_together_from_its_options(service_url: str) -> None:
    sheet = [
        "--sheet-grid-magnetic-angle-deg=-5.5",
        "--sheet-year",
        "2015",
        "--sheet-annual-change-deg",
        "-0.1",
    ]
    result = run("bearings", "100", "--north", "grid", "--date", "2025-01-01", *sheet, url=service_url)
    assert line_of(result, "Grid-magnetic angle") == "6.5 degrees west; from the sheet's margin"


def test_compass_settings(service_url: str) -> None:
    result = run("compass-settings", "--grid-magnetic-angle-deg", "14", url=service_url)
    assert line_of(result, "Turn the bezel") == "5 clicks clockwise from its index"
    over = "15.0 degrees east, 1.0 degrees over: 17 m to the left after a kilometre"
    assert line_of(result, "That sets") == over
    assert line_of(result, "The map is oriented at") == "346.0 degrees"


def test_a_tie_is_even_handed(service_url: str) -> None:
    result = run("compass-settings", "52.5", "--north", "magnetic", url=service_url)
    assert line_of(result, "Just as good").startswith("18 clicks counterclockwise: 54.0 degrees magnetic")
    assert result.stdout.splitlines()[-1].startswith("Caution: ")
    assert "not known" not in result.stdout  # a magnetic bearing is set without the angles between the norths


def test_map_distances(service_url: str) -> None:
    result = run("map-distances", "--scale", "1:50,000", "--ground-m", "2200", url=service_url)
    assert line_of(result, "On the map").startswith("44.0 mm")
    result = run("map-distances", "--ground-m", "100", "--gradient-deg", "-45", url=service_url)
    assert line_of(result, "Fall") == "100 m"
    assert line_of(result, "Gradient").startswith("100 per cent downhill")


def test_lines(service_url: str) -> None:
    result = run("lines", "-33.9, 18.4", "-33.9, 18.5", "--date", "2026-11-25", url=service_url)
    there = line_of(result, "There, degrees").split()
    assert there[0] == "90.0"
    assert len(there) == 3
    result = run("lines", "33V VE 123 678", "33V VE 150 664", url=service_url)
    assert line_of(result, "There, degrees").split()[2] == "-"


def test_rays(service_url: str) -> None:
    arguments = ["--bearing", "2100", "--unit", "mil", "--north", "grid", "--distance-m", "800"]
    result = run("rays", "33V VE 12345 67890", *arguments, url=service_url)
    assert line_of(result, "Distance, level") == "800 m"
    assert line_of(result, "Ends at").startswith("33V VE 13")


def test_intersections(service_url: str) -> None:
    result = run("intersections", *SIGHTS, "--north", "grid", "--sd-deg", "2", "--working", url=service_url)
    assert line_of(result, "2  ").split() == ["0.0", "1", *line_of(result, "2  ").split()[2:]]
    lines = result.stdout.splitlines()
    assert lines[-1].startswith("Check this fix against the map and the ground")
    assert lines[-3].startswith("Caution: ")
    assert "Working:" in lines
    assert line_of(result, "Known to within").endswith("degrees true,")


def test_resections(service_url: str) -> None:
    compass_error = ["--solve-compass-error", "--north", "magnetic", "--date", "2026-11-25"]
    result = run("resections", *MARKS, *compass_error, url=service_url)
    assert "give or take" in line_of(result, "The compass reads")
    assert result.stdout.splitlines()[-1].startswith("Check this fix")


@pytest.mark.parametrize("bearing", ["331 sd x", "331 sd 1.2.3"])
def test_a_bearing_with_no_proper_standard_deviation(service_url: str, bearing: str) -> None:
    sights = ["--sight", "33V VE 1200 6500", "52", "--sight", "33V VE 1710 6480", bearing]
    result = run("intersections", *sights, "--north", "grid", url=service_url)
    assert result.exit_code == 2
    assert result.stdout == ""


def test_widths(service_url: str) -> None:
    arguments = ["--base-azimuth", "90", "--start-bearing", "N 38 E", "--end-bearing", "338"]
    result = run("widths", "two_bearings", "--base-m", "75", *arguments, "--working", url=service_url)
    assert line_of(result, "Width") == "63.3 m, give or take 3.4 m"
    assert "  3. angle at the mark: 180 - 52 - 68 = 60 degrees" in result.stdout.splitlines()


def test_heights(service_url: str) -> None:
    arguments = ["--distance-m", "60", "--top-deg", "10", "--base-deg", "-4"]
    result = run("heights", "top_and_base", *arguments, url=service_url)
    assert line_of(result, "Height") == "14.8 m, give or take 1.6 m"
    assert line_of(result, "Distance, level") == "60.0 m, give or take 1.8 m"


def test_mil_relations(service_url: str) -> None:
    result = run("mil-relations", "--width-m", "10", "--angle", "20", url=service_url)
    assert line_of(result, "Distance").split()[:2] == ["509", "m,"]
    assert "500 m" in result.stdout
    assert "by the rule, -1.8 per cent off" in result.stdout
    assert line_of(result, "Angle") == "20.0, give or take 0.5 mils of 6400"


def test_travel_times(service_url: str) -> None:
    result = run("travel-times", "--distance-m", "6000", "--speed-km-per-h", "4", url=service_url)
    assert line_of(result, "Time") == "1 h 30 min, give or take 9.4 min"
    assert "Caution: The walk is taken as steady and level" in result.stdout


def test_gradients(service_url: str) -> None:
    arguments = ["--contours", "-7", "--contour-interval-m", "20", "--map-mm", "18", "--scale", "1:50,000"]
    result = run("gradients", "rise", *arguments, url=service_url)
    assert line_of(result, "Gradient") == "15.6, give or take 1.0 per cent downhill"
    assert line_of(result, "Contours lie apart") == "129 m  2.57 mm on the map"
    crossings = ["--crossing", "0", "840", "--crossing", "2.5", "820", "--crossing", "3.6", "800"]
    result = run("gradients", "crossings", "--scale", "25000", *crossings, url=service_url)
    assert line_of(result, "Steepest") == "from 2.5 to 3.6 mm along the line"


def test_sight_lines(service_url: str) -> None:
    arguments = ["--contour-interval-m", "10", "--target-height-m", "3"]
    result = run("sight-lines", "profile.txt", *arguments, url=service_url)
    assert line_of(result, "The target is") == "too close to tell"
    assert line_of(result, "The line passes") == "7.8 m, give or take 3.7 m, over the ground 2,100 m off"
    assert line_of(result, "Target seen from").split() == ["the", "ground", "4.6", "m"]
    assert line_of(result, "Dead ground") == "2,100 m to 3,890 m"
    assert result.stdout.splitlines()[-1].startswith("Look along the line itself")


def test_a_profile_that_is_none_says_which_line(service_url: str) -> None:
    Path("profile.txt").write_text("0 612\n900\n", encoding="utf-8")
    result = run("sight-lines", "profile.txt", "--height-sd-m", "0", url=service_url)
    assert result.exit_code == 2
    assert "line 2 is not two numbers" in result.stderr


def test_service(service_url: str) -> None:
    result = run("service", "--url", service_url)
    assert line_of(result, "Service") == service_url
    assert line_of(result, "Ready") == "yes"


def test_a_service_that_is_not_ready(server: MisbehavingServer) -> None:
    server.acts = [answer(200, b'{"version": "9.9"}'), answer(500, b"")]
    result = run("service", "--url", server.url)
    assert result.exit_code == 1
    assert "no" in result.stdout.splitlines()[-1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["positions", "12 34"], "The position cannot be read"),
        (["positions", "33V VE 123 678", "--digits", "9"], "a whole number from 0 to 5"),
        (["norths", "33V VE 123 678", "--date", "2031-01-01"], "1900-01-01 to 2029-12-31"),
        (["bearings", "400", "--north", "true", "--declination-deg", "4"], "0 to 360"),
        (["map-distances", "--scale", "25000"], "the ground length does not follow"),
        (["lines", "33V VE 123 678", "33V VE 123 678"], "The two places are the same"),
        (["widths", "offset", "--base-m", "40"], "the method 'offset' needs base_azimuth"),
        (["travel-times", "--time-min", "4"], "1 of distance, time and speed are given"),
        (["positions"], "Missing argument"),
        (["norths", "33V VE 123 678"], "--date"),
        (["map-distances", "--map-mm", "nan", "--scale", "25000"], "cannot be written as JSON"),
        (["nothing-of-this-name"], "No such command"),
        (["service", "--url", "nowhere"], "no address of a service"),
    ],
)
def test_bad_input_is_said_in_words_with_exit_code_2(
    service_url: str, arguments: list[str], said: str
) -> None:
    result = run(*arguments, url=service_url)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert said in result.stderr
    assert "Traceback" not in result.stderr


def test_no_service_is_exit_code_3(server: MisbehavingServer) -> None:
    server.close()
    result = run("positions", "33V VE 123 678", "--url", server.url)
    assert result.exit_code == 3
    assert "Connection refused" in result.stderr
    assert "$THREENORTHS_URL" in result.stderr


def test_a_service_that_stays_busy_is_exit_code_3(server: MisbehavingServer, waits: list[float]) -> None:
    server.acts = [answer(503, b"<html>busy</html>", "text/html")]
    assert run("positions", "33V VE 123 678", "--url", server.url).exit_code == 3


@pytest.mark.parametrize("act", [answer(500, b""), answer(200, b"<html>login</html>", "text/html")])
def test_anything_else_is_exit_code_1(server: MisbehavingServer, act: object) -> None:
    server.acts = [act]
    result = run("positions", "33V VE 123 678", url=server.url)
    assert result.exit_code == 1
    assert result.stderr.startswith("Error: ")
    assert result.stdout == ""


def test_the_option_goes_before_the_environment(server: MisbehavingServer) -> None:
    result = run("positions", "33V VE 12 67", "--url", server.url, "--json", url="http://nobody.invalid")
    assert result.stdout == POSITION.decode() + "\n"


def test_the_programs_version() -> None:
    assert run("--version").stdout.startswith("threenorths 0.")


def started(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    program = Path(sys.executable).with_name("threenorths")
    return subprocess.run(
        [program, *arguments], env={**os.environ, **environment}, capture_output=True, timeout=60
    )


def test_the_installed_program_answers_into_a_pipe(service_url: str) -> None:
    process = started("positions", "-33.9, 18.4", THREENORTHS_URL=service_url)
    assert process.returncode == 0
    assert process.stderr == b""
    assert "latitude 33.9° south" in process.stdout.decode()
    assert b"\x1b" not in process.stdout


def test_a_pipe_that_knows_no_degree_sign_still_gets_the_rest(service_url: str) -> None:
    process = started("positions", "-33.9, 18.4", THREENORTHS_URL=service_url, PYTHONIOENCODING="iso8859-5")
    assert process.returncode == 0
    assert b"latitude 33.9? south" in process.stdout


def test_the_installed_program_fails_plainly(server: MisbehavingServer) -> None:
    server.close()
    process = started("norths", "33V VE 123 678", "--date", "today", THREENORTHS_URL=server.url)
    assert process.returncode == 3
    assert process.stdout == b""
    assert process.stderr.startswith(b"Error: no answer from ")
    assert b"Traceback" not in process.stderr


def test_a_command_has_no_short_options() -> None:
    """One would be taken out of a position that begins with a minus sign, were it not shielded."""
    for command in main.commands.values():
        names = [
            name for option in command.params if isinstance(option, click.Option) for name in option.opts
        ]
        assert all(name.startswith("--") for name in names)


def test_a_bearing_with_no_angles_is_written_without_a_word_of_them(service_url: str) -> None:
    done = CliRunner().invoke(
        main, ["bearings", "1600", "--unit", "mil", "--north", "grid", "--url", service_url]
    )
    assert done.exit_code == 0
    assert "Declination" not in done.output
    assert "Caution: No angle between the norths was given" in done.output


@pytest.mark.parametrize("arguments", [["positions", "33V VE 123 678"], ["sheets", "sheet.json"]])
def test_a_shape_is_printed_as_geojson(service_url: str, arguments: list[str]) -> None:
    result = run(*arguments, "--geojson", url=service_url)
    feature = json.loads(result.stdout)
    assert feature["geometry"]["type"] == "Polygon"
    assert feature["properties"]["cautions"] is not None


def test_a_likely_slip_is_printed_with_its_distance(service_url: str) -> None:
    result = run("positions", "33W VE 123 678", "--near", "33V VE 145 662", url=service_url)
    assert result.exit_code == 2
    assert "MGRS 33VVE123678, 2.7 km away (The letter of the latitude band is wrong.)" in result.stderr


def test_a_sheet_file_that_is_none_is_named(service_url: str, tmp_path: Path) -> None:
    (tmp_path / "broken.json").write_text("[1", encoding="utf-8")
    result = run("sheets", "broken.json", url=service_url)
    assert result.exit_code == 2
    assert "FILE" in result.stderr


def test_a_compass_check_in_words(service_url: str) -> None:
    readings = ["--reading", "45", "43", "--reading", "133", "131", "--reading", "282", "280"]
    result = run("compass-checks", "--north", "magnetic", *readings, url=service_url)
    assert line_of(result, "The compass reads").startswith("2.0 degrees too much, give or take 0.9")
    assert line_of(result, "2  ").split() == ["133.0", "131.0", "+2.0", "0.0"]
    assert "Declination" not in result.stdout


def test_an_error_that_changes_with_the_direction_is_not_told_by_its_mean(service_url: str) -> None:
    errors = {0: -9, 45: -15, 90: -13, 135: -4, 180: 7, 225: 13, 270: 11, 315: 2}
    readings = [
        text
        for known, error in errors.items()
        for text in ("--reading", str((known + error) % 360), str(known))
    ]
    result = run("compass-checks", "--north", "magnetic", *readings, url=service_url)
    assert line_of(result, "The compass reads").endswith("; but that changes with the direction, see below")
    assert line_of(result, "225.0  ").startswith("+1")
    assert "no error is found" not in result.stdout


def test_what_the_declination_leaves_is_said(service_url: str) -> None:
    norths = ["--north", "magnetic", "--known-north", "grid", "--grid-magnetic-angle-deg", "4.5"]
    result = run("compass-checks", *norths, "--reading", "43", "48.5", url=service_url)
    assert line_of(result, "All directions share") == "give or take 0.5 degrees"
    assert line_of(result, "Declination") == "not known"


def test_the_sun_is_never_asked_for_without_the_warning(service_url: str) -> None:
    moment = "2026-06-14T08:30+02:00"
    place = "33V VE 12345 67890"
    sky = run("sky-bearings", "sun", place, "--moment", moment, "--part", "shadow", url=service_url)
    assert line_of(sky, "Moment") == "2026-06-14 08:30:00+02:00"
    assert line_of(sky, "Sun") == "the shadow it casts; in sight"
    reading = ["--reading", "273", f"sun shadow {moment}"]
    check = run("compass-checks", "--north", "magnetic", "--position", place, *reading, url=service_url)
    # The shadow falls to the west of a morning's sun.
    assert line_of(check, "1  ").split()[1] == line_of(sky, "Magnetic").split(",")[0]
    for result in (sky, check, run("sky-bearings", "--help"), run("compass-checks", "--help")):
        assert "Never look at the sun" in result.stdout


def test_a_body_without_its_moment_is_said_in_words(service_url: str) -> None:
    result = run("compass-checks", "--north", "true", "--reading", "273", "sun", url=service_url)
    assert result.exit_code == 2
    assert "is no body at a moment" in result.stderr


def test_a_station_with_iron(service_url: str) -> None:
    legs = ["--leg", "96", "276", "--leg", "131", "305.5", "--leg", "82.5", "268"]
    result = run("local-attractions", *legs, "--sd-deg", "0.5", url=service_url)
    assert line_of(result, "3        -5.50").endswith("attraction")
    assert "taken for free" in result.stdout
    assert "Round the traverse" not in result.stdout


def test_a_night(service_url: str) -> None:
    result = run("twilights", "33V VE 12345 67890", "--start", "2026-11-24T12:00+01:00", url=service_url)
    assert line_of(result, "Sunset").endswith("+01:00")
    assert line_of(result, "From") == "2026-11-24 12:00:00+01:00, for 24 hours"
    assert line_of(result, "Darkest") == "night"
    assert "Civil dusk" in result.stdout
    assert "None" not in result.stdout
