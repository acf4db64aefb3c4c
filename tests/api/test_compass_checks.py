"""Compass checks through HTTP: published deviations, marks, and the shadow of a plumb line."""

from __future__ import annotations

import math

import pytest

# US National Geospatial-Intelligence Agency, "Handbook of Magnetic Compass Adjustment", 2004, article 501, figure 501: the
# deviations of a compass on eight headings, east positive, and by the article's rule the mean of them, A.
HANDBOOK_DEVIATIONS = (10.5, 20.0, 11.5, -1.2, -5.5, -8.0, -12.5, -6.8)
HANDBOOK_A = 1.0
# By the chapter's other approximate rules (from memory): half of what east has over west, and north over south.
HANDBOOK_B, HANDBOOK_C = 12.0, 8.0

HILL = {"zone": 33, "hemisphere": "north", "easting_m": 400_000, "northing_m": 6_900_000}
MORNING = [f"2026-07-01T0{hour}:{minute:02d}:00+02:00" for hour in (7, 8, 9) for minute in (0, 30)]


def at(east, north):
    return {**HILL, "easting_m": 400_000 + east, "northing_m": 6_900_000 + north}


def check(post, readings, north="magnetic", **members):
    return post("compass-checks", {"readings": readings, "north": north, **members})


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


def test_the_handbooks_deviations_with_the_sign_of_a_compass_error(post):
    readings = [
        {"reading": 45 * index, "known_azimuth": 45 * index + deviation}
        for index, deviation in enumerate(HANDBOOK_DEVIATIONS)
    ]
    answer = check(post, readings, reading_sd_deg=0.5, working=True)
    assert answer["error_deg"] == pytest.approx(-HANDBOOK_A, abs=1e-4)
    assert answer["deviation"]["constant_deg"] == pytest.approx(-HANDBOOK_A, abs=1e-4)
    # Least squares over eight headings against the rule of two, on a curve drawn by eye to half a degree.
    assert answer["deviation"]["sine_deg"] == pytest.approx(-HANDBOOK_B, abs=0.25)
    assert answer["deviation"]["cosine_deg"] == pytest.approx(-HANDBOOK_C, abs=0.25)
    assert answer["deviation"]["found"]
    table = answer["deviation"]["table"]
    assert [row["reading_deg"] for row in table] == [45 * index for index in range(8)]
    north_deg = answer["deviation"]["constant_deg"] + answer["deviation"]["cosine_deg"]
    assert table[0]["error_deg"] == pytest.approx(north_deg, abs=1e-3)
    assert {"compass_deviates", "readings_disagree"} <= set(codes(answer))
    # The mean is no error to correct by.
    assert not any(step.startswith("correct direction =") for step in answer["working"])


def test_an_error_is_the_reading_less_the_known_direction(post):
    readings = [{"reading": known + 2, "known_azimuth": known, "known_sd_deg": 0} for known in (90, 180, 270)]
    answer = check(post, readings, reading_sd_deg=1, working=True)
    assert answer["error_deg"] == 2
    assert answer["error_sd_deg"] == pytest.approx(1 / math.sqrt(3), abs=1e-4)
    assert answer["found"]
    assert answer["deviation"] is None
    assert (answer["angles"]["source"], answer["date"], answer["shared_sd_deg"]) == ("none", None, 0)
    assert codes(answer) == []
    assert "reading 1: 92.0 - 90.0 magnetic = +2.0 degrees" in answer["working"]


def test_a_grid_azimuth_is_turned_to_the_compass_by_the_angle_given(post):
    # US Army, soldier's task "Convert azimuths": magnetic 190 with an easterly G-M angle of 9 degrees is grid 199.
    answer = check(
        post, [{"reading": 190, "known_azimuth": 199}], known_north="grid", grid_magnetic_angle_deg=9
    )
    assert answer["error_deg"] == 0
    assert answer["readings"][0]["known_azimuth_deg"] == 190
    # What the declination leaves does not average out.
    assert answer["shared_sd_deg"] == 0.5
    assert answer["error_sd_deg"] == pytest.approx(math.sqrt(1.5**2 + 0.5**2 + 0.5**2), abs=1e-4)
    assert {"single_reading", "default_sd"} <= set(codes(answer))


def test_a_mark_is_known_by_its_place(post):
    line = post("lines", {"from": HILL, "to": at(900, 1500), "date": "2026-11-25"})
    reading = {"reading": line["magnetic_azimuth_deg"] + 3, "to": at(900, 1500)}
    answer = check(post, [reading], position=HILL, date="2026-11-25")
    # The declination of a line and that of a place's norths are the same model's.
    assert answer["error_deg"] == pytest.approx(3, abs=1e-4)
    assert answer["readings"][0]["sd_deg"] == 1.5
    norths = post("norths", {"position": HILL, "date": "2026-11-25"})
    assert answer["shared_sd_deg"] == norths["declination_sd_deg"]


def test_a_place_in_a_coarse_square_makes_its_direction_unsure(post):
    answer = check(
        post, [{"reading": 40, "to": "33V VK 13 69"}], position="33V VK 12345 67890", date="2026-11-25"
    )
    # Anywhere in a kilometre square: 1000 over the root of 12 either way, 1155 m east and 1610 m north; the other place is
    # in a square of a metre.
    known_sd_deg = math.degrees(math.atan(1000 / math.sqrt(12) / math.hypot(1155, 1610)))
    assert answer["readings"][0]["sd_deg"] == pytest.approx(math.hypot(1.5, known_sd_deg), rel=1e-3)


def test_a_compass_is_checked_by_the_shadow_with_no_map(post):
    place = {"lat_deg": 47.5, "lon_deg": 11.1}
    readings = []
    for moment in MORNING:
        sky = post("sky-bearings", {"body": "sun", "part": "shadow", "position": place, "moment": moment})
        reading = (sky["magnetic_azimuth_deg"] + 2.5) % 360
        readings.append({"reading": reading, "body": "sun", "part": "shadow", "moment": moment})
    answer = check(post, readings, position=place, reading_sd_deg=1)
    # The declination of the day, not of each moment: under a hundredth of a degree.
    assert answer["error_deg"] == pytest.approx(2.5, abs=1e-3)
    expected = math.hypot(1 / math.sqrt(len(MORNING)), answer["shared_sd_deg"])
    assert answer["error_sd_deg"] == pytest.approx(expected, rel=1e-2)
    assert answer["date"] == "2026-07-01"
    assert codes(answer)[0] == "never_look_at_the_sun"
    assert codes(answer).count("never_look_at_the_sun") == 1


def test_the_declination_is_shared_only_where_it_was_used(post):
    reading = {"reading": 100, "known_azimuth": 101}
    answer = check(post, [reading], "true", known_north="grid", convergence_deg=-1)
    assert (answer["error_deg"], answer["shared_sd_deg"]) == (0, 0)
    assert check(post, [reading], shared_sd_deg=0.8)["shared_sd_deg"] == 0.8


def test_a_body_tells_the_date_by_utc(post):
    reading = {"reading": 180, "body": "moon", "moment": "2026-07-01T00:30+02:00"}
    assert check(post, [reading], position=HILL)["date"] == "2026-06-30"
    assert check(post, [reading], position=HILL, date="2026-07-02")["date"] == "2026-07-02"


@pytest.mark.parametrize(
    ("moments", "date", "late"),
    [
        (["1950-06-14T08:30:00+02:00"], "2026-06-14", 0),
        (["2026-06-14T08:30:00+02:00", "1950-06-14T08:30:00+02:00"], None, 1),
        (["2026-06-14T08:30:00+02:00", "2027-06-16T08:30:00+02:00"], None, 1),
    ],
)
@pytest.mark.parametrize("norths", [{"north": "magnetic"}, {"north": "true", "known_north": "magnetic"}])
def test_one_declination_is_not_used_for_years_far_apart(refuse, moments, date, late, norths):
    readings = [{"reading": 273, "body": "sun", "part": "shadow", "moment": moment} for moment in moments]
    body = {"readings": readings, "position": {"lat_deg": 61, "lon_deg": 15}, **norths}
    answer = refuse(
        "compass-checks",
        body if date is None else {**body, "date": date},
        "members_conflict",
        f"/readings/{late}/moment",
    )
    assert "2026-06-14" in answer["errors"][0]["allowed"]
    assert answer["errors"][0]["value"] == moments[late]


def test_within_a_year_or_without_a_declination_moments_go_together(post):
    place = {"lat_deg": 61, "lon_deg": 15}
    first, next_year, long_ago = (
        {"reading": 273, "body": "sun", "part": "shadow", "moment": f"{year}-06-14T08:30:00+02:00"}
        for year in (2026, 2027, 1950)
    )
    assert check(post, [first, next_year], position=place)["date"] == "2026-06-14"
    assert check(post, [first, long_ago], "true", position=place)["shared_sd_deg"] == 0
    old, own = (check(post, [long_ago], position=place, **dated) for dated in ({}, {"date": "1950-06-14"}))
    assert old["error_deg"] == own["error_deg"]


def test_a_body_far_below_the_horizon_was_not_sighted(refuse):
    # The sun stands 46 degrees below it.
    readings = [
        *({"reading": known, "known_azimuth": known} for known in (100, 200)),
        {"reading": 200, "body": "sun", "part": "shadow", "moment": "2026-01-15T23:30:00+01:00"},
    ]
    body = {"readings": readings, "north": "magnetic", "position": {"lat_deg": 61, "lon_deg": 15}}
    answer = refuse("compass-checks", body, "body_below_horizon", "/readings/2/moment")
    assert answer["errors"][0]["value"] == "2026-01-15T23:30:00+01:00"
    assert "3 degrees below the horizon" in answer["errors"][0]["allowed"]


def test_from_a_summit_a_body_just_below_the_level_horizon_is_sighted(post, refuse):
    # On the equator at an equinox the sun sinks a degree in four minutes, and sets at 18:11 by the clock of longitude 0.
    low, lower = (
        {"reading": 270, "body": "sun", "moment": f"2026-03-20T18:{minute}:00Z"} for minute in (18, 26)
    )
    place = {"lat_deg": 0, "lon_deg": 0}
    assert "body_not_in_sight" in codes(check(post, [low], "true", position=place))
    body = {"readings": [lower], "north": "true", "position": place}
    refuse("compass-checks", body, "body_below_horizon", "/readings/0/moment")


def test_no_correction_is_taken_from_readings_that_disagree(post):
    answer = check(
        post, [{"reading": 10, "known_azimuth": 10}, {"reading": 280, "known_azimuth": 100}], working=True
    )
    assert "readings_disagree" in codes(answer)
    assert not any(step.startswith("correct direction =") for step in answer["working"])
    assert "the readings disagree: no correction is to be taken from their mean" in answer["working"]
    agreeing = check(post, [{"reading": 12, "known_azimuth": 10}], working=True)
    assert "correct direction = reading - (+2.00)" in agreeing["working"]


def test_the_watch_counts_for_a_body(post):
    reading = {"reading": 0, "body": "moon", "moment": "2026-06-30T22:30Z"}
    late = check(post, [reading], "true", position=HILL, watch_sd_s=600)
    sky = post(
        "sky-bearings",
        {
            "body": "moon",
            "moment": reading["moment"],
            "position": HILL,
            "watch_sd_s": 600,
        },
    )
    assert late["readings"][0]["known_azimuth_deg"] == sky["true_azimuth_deg"]
    assert late["readings"][0]["sd_deg"] == pytest.approx(
        math.hypot(1.5, sky["true_azimuth_sd_deg"]), abs=1e-3
    )
    assert sky["true_azimuth_sd_deg"] > 1


def test_good_readings_east_and_west_tell_the_sine_best(post):
    readings = [
        {"reading": known, "known_azimuth": known, "reading_sd_deg": 0.5 if known in (90, 270) else 3}
        for known in range(0, 360, 45)
    ]
    deviation = check(post, readings)["deviation"]
    assert deviation["sine_sd_deg"] < 0.6 * deviation["cosine_sd_deg"]
    assert not deviation["found"]


def test_a_full_circle_is_none(post):
    answer = check(post, [{"reading": 360, "known_azimuth": "360 00"}, {"reading": 359, "known_azimuth": 0}])
    assert [reading["reading_deg"] for reading in answer["readings"]] == [0, 359]
    assert [reading["error_deg"] for reading in answer["readings"]] == [0, -1]


def test_a_blunder_is_named_and_the_rest_stand_beside(post):
    readings = [{"reading": known + 1, "known_azimuth": known} for known in (10, 80, 150, 220, 300)]
    readings[3] = {"reading": 41, "known_azimuth": 220}
    answer = check(post, readings)
    assert answer["suspect"] == 3
    assert answer["without_suspect"]["error_deg"] == 1
    assert answer["without_suspect"]["agree"]
    assert not answer["agree"]
    assert "reading_suspect" in codes(answer)


@pytest.mark.parametrize(
    ("reading", "members", "code", "pointer"),
    [
        ({}, {}, "members_missing", "/readings/0"),
        ({"known_azimuth": 1, "to": HILL}, {}, "members_conflict", "/readings/0/to"),
        ({"known_azimuth": 1, "part": "shadow"}, {}, "members_conflict", "/readings/0/part"),
        ({"known_azimuth": 1, "moment": "now"}, {}, "members_conflict", "/readings/0/moment"),
        ({"body": "sun"}, {"position": HILL}, "members_missing", "/readings/0/moment"),
        ({"body": "sun", "moment": "now"}, {}, "members_missing", "/position"),
        ({"to": HILL}, {}, "members_missing", "/position"),
        ({"to": at(1, 1)}, {"position": HILL}, "date_missing", "/date"),
        ({"to": HILL}, {"position": HILL, "date": "2026-11-25"}, "coincident_points", "/readings/0/to"),
        (
            {"to": "nowhere"},
            {"position": HILL, "date": "2026-11-25"},
            "unreadable_position",
            "/readings/0/to",
        ),
        (
            {"body": "sun", "moment": "2026-02-30T12:00Z"},
            {"position": HILL},
            "out_of_range",
            "/readings/0/moment",
        ),
        (
            {"body": "polaris", "moment": "now", "part": "shadow"},
            {"position": HILL},
            "members_conflict",
            "/readings/0/part",
        ),
        (
            {"body": "sun", "moment": "2031-06-01T12:00Z"},
            {"position": HILL},
            "date_outside_model",
            "/date",
        ),
        (
            {"known_azimuth": "nowhere"},
            {},
            "unreadable_bearing",
            "/readings/0/known_azimuth",
        ),
        ({"known_azimuth": 1}, {"known_north": "grid"}, "angles_missing", None),
        (
            {"known_azimuth": 1},
            {"known_north": "grid", "declination_deg": 3},
            "angles_missing",
            None,
        ),
        ({"known_azimuth": 1}, {"readings": []}, "invalid_request", "/readings"),
    ],
)
def test_what_does_not_tell_a_direction_is_named(refuse, reading, members, code, pointer):
    body = {"readings": [{"reading": 5, **reading}], "north": "magnetic", **members}
    refuse("compass-checks", body, code, pointer)
