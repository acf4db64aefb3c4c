"""Sky bearings through HTTP: published azimuths, and what must be said of the sun."""

from __future__ import annotations

import math

import pytest

from published import rows

SUN = [row for row in rows("sky_examples") if row["kind"] == "sun_azimuth_deg"]
# The height that one of the sources gives. [metre]
NREL_HEIGHT_M = 1830.14
PLACE = {"lat_deg": 47.5, "lon_deg": 11.1}
MORNING = "2026-07-01T07:00:00+02:00"


def ask(post, body="sun", moment=MORNING, **members):
    return post("sky-bearings", {"body": body, "position": PLACE, "moment": moment, **members})


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


@pytest.mark.parametrize("row", SUN, ids=[row["id"] for row in SUN])
def test_the_suns_azimuth_is_the_published_one(post, row):
    position = {"lat_deg": float(row["lat_deg"]), "lon_deg": float(row["lon_deg"])}
    answer = post(
        "sky-bearings",
        {
            "body": "sun",
            "position": position,
            "moment": f"{row['moment']}Z",
            "height_m": NREL_HEIGHT_M if row["id"].startswith("spa") else 0,
        },
    )
    assert answer["true_azimuth_deg"] == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_the_clock_of_the_moment_makes_no_difference(post):
    utc = ask(post, moment="2026-07-01T05:00Z")
    assert utc["moment"] == "2026-07-01T05:00:00Z"
    assert {**utc, "moment": MORNING} == ask(post)


def test_the_norths_are_those_of_the_place(post):
    answer = ask(post)
    norths = post("norths", {"position": PLACE, "date": "2026-07-01"})
    true = answer["true_azimuth_deg"]
    assert answer["grid_azimuth_deg"] == pytest.approx(true - norths["convergence_deg"], abs=2e-6)
    # The declination of the moment, not of the day's beginning: 0.3 of a day.
    change = abs(norths["annual_change_deg"]) / 365
    assert answer["magnetic_azimuth_deg"] == pytest.approx(true - norths["declination_deg"], abs=change)
    assert answer["declination_sd_deg"] == norths["declination_sd_deg"]
    expected = math.hypot(answer["true_azimuth_sd_deg"], norths["declination_sd_deg"])
    assert answer["magnetic_azimuth_sd_deg"] == pytest.approx(expected, abs=1e-3)


def test_a_place_on_a_grid_keeps_to_that_grid(post):
    far = {"zone": 33, "hemisphere": "north", "easting_m": 207_000, "northing_m": 5_267_000}
    own = {"zone": 32, "hemisphere": "north", "easting_m": 658_000, "northing_m": 5_263_000}
    convergences = [ask(post, position=position)["convergence_deg"] for position in (far, own)]
    assert convergences[0] < -2 < 1 < convergences[1]


def test_every_answer_about_the_sun_warns_of_it(post):
    for part in ("centre", "left_limb", "right_limb", "shadow"):
        answer = ask(post, part=part)
        assert codes(answer)[0] == "never_look_at_the_sun"
    assert "never_look_at_the_sun" in codes(ask(post, moment="2026-07-01T23:00Z"))
    assert "never_look_at_the_sun" not in codes(ask(post, "moon"))


def test_a_moon_beside_the_sun_warns_of_it_too(post):
    # New moon of 12 August 2026, 17:37 UTC, with a total eclipse of the sun (from memory).
    answer = ask(post, "moon", "2026-08-12T17:30Z")
    assert answer["status"] == "too_near_sun"
    assert codes(answer)[:2] == ["never_look_at_the_sun", "body_not_in_sight"]


def test_the_parts_lie_round_the_middle(post):
    middle, left, right, shadow = (
        ask(post, part=part) for part in ("centre", "left_limb", "right_limb", "shadow")
    )
    true = middle["true_azimuth_deg"]
    assert right["true_azimuth_deg"] - true == pytest.approx(middle["limb_offset_deg"], abs=1e-4)
    assert true - left["true_azimuth_deg"] == pytest.approx(middle["limb_offset_deg"], abs=1e-4)
    assert (shadow["true_azimuth_deg"] - true) % 360 == pytest.approx(180, abs=1e-5)
    assert 0.2 < middle["semidiameter_deg"] < middle["limb_offset_deg"]


@pytest.mark.parametrize(
    ("body", "moment", "place", "status"),
    [
        ("sun", "2026-07-01T23:00Z", PLACE, "below_horizon"),
        ("sun", "2026-03-20T12:08Z", {"lat_deg": 0, "lon_deg": 0}, "too_high"),
        ("polaris", "2026-07-01T12:00Z", PLACE, "lost_in_daylight"),
        ("polaris", "2026-07-01T23:00Z", PLACE, "in_sight"),
        ("polaris", "2026-07-01T23:00Z", {"lat_deg": -33.9, "lon_deg": 18.4}, "below_horizon"),
    ],
)
def test_a_body_out_of_sight_is_said(post, body, moment, place, status):
    answer = ask(post, body, moment, position=place)
    assert answer["status"] == status
    assert ("body_not_in_sight" in codes(answer)) == (status != "in_sight")


def test_the_watch_is_in_the_standard_deviation(post):
    late = ask(post, watch_sd_s=120)
    assert late["true_azimuth_sd_deg"] == pytest.approx(2 * abs(late["change_deg_per_min"]), rel=1e-2)
    assert ask(post, watch_sd_s=0)["true_azimuth_sd_deg"] < 0.01
    assert "sky_by_the_watch" in codes(late)
    assert "sky_by_the_watch" not in codes(ask(post, "polaris", "2026-07-01T23:00Z"))
    # In the south the sun goes the other way round.
    south = ask(post, moment="2026-12-21T02:00Z", position={"lat_deg": -33.9, "lon_deg": 151.2})
    assert south["change_deg_per_min"] < 0
    assert "sky_by_the_watch" in codes(south)


def test_a_star_has_no_edge_and_casts_no_shadow(refuse):
    for part in ("left_limb", "right_limb", "shadow"):
        body = {"body": "polaris", "part": part, "position": PLACE, "moment": MORNING}
        refuse("sky-bearings", body, "members_conflict", "/part")


def test_years_without_a_magnetic_model_are_refused_at_the_moment(refuse):
    body = {"body": "sun", "position": PLACE, "moment": "2030-01-01T00:00Z"}
    refuse("sky-bearings", body, "date_outside_model", "/moment")
    body = {"body": "sun", "position": PLACE, "moment": "2024-12-31T12:00Z", "model": "WMM2025"}
    refuse("sky-bearings", body, "date_outside_model", "/moment")


def test_the_last_hours_of_the_magnetic_model_are_by_utc(post, refuse):
    assert ask(post, moment="2030-01-01T00:30+01:00")["declination_deg"]
    body = {"body": "sun", "position": PLACE, "moment": "2029-12-31T23:30-01:00"}
    refuse("sky-bearings", body, "date_outside_model", "/moment")


def test_the_pole_and_the_antimeridian_have_finite_answers(post):
    for lat, lon in ((90, 0), (-90, 0), (-17, 180), (-17, -180)):
        answer = ask(post, position={"lat_deg": lat, "lon_deg": lon})
        assert all(0 <= answer[f"{north}_azimuth_deg"] < 360 for north in ("true", "grid", "magnetic"))
        assert ("at_pole" in codes(answer)) == (abs(lat) == 90)
