"""Local attractions through HTTP: worked examples of plane surveying."""

from __future__ import annotations

import pytest

from published import rows

EXAMPLES = rows("local_attraction_examples")
MINUTE_DEG = 1 / 60


def degrees(text):
    whole, minutes = text.split()
    return int(whole) + int(minutes) / 60


def legs_of(row):
    pairs = zip(row["forward"].split(";"), row["back"].split(";"), strict=True)
    return [{"forward": forward, "back": back} for forward, back in pairs]


def codes(answer):
    return {caution["code"] for caution in answer["cautions"]}


@pytest.mark.parametrize("row", EXAMPLES, ids=[row["id"] for row in EXAMPLES])
def test_worked_examples_of_plane_surveying(post, row):
    answer = post(
        "local-attractions",
        {"legs": legs_of(row), "closed": row["closed"] == "1", "sd_deg": MINUTE_DEG, "working": True},
    )
    expected = [degrees(text) for text in row["corrected"].split(";")]
    # Sums of minutes throughout, given to a ten-thousandth of a degree.
    assert [leg["corrected_deg"] for leg in answer["legs"]] == pytest.approx(expected, abs=5.1e-5)
    affected = [
        chr(ord("A") + index) for index, station in enumerate(answer["stations"]) if station["affected"]
    ]
    assert affected == row["affected"].split(";")
    assert answer["basis"] == "free_stations"
    assert (answer["misclosure_deg"] is None) == (row["closed"] == "0")
    assert len(answer["stations"]) == len(answer["legs"]) + (row["closed"] == "0")
    assert any("to be subtracted" in step for step in answer["working"])


def test_angles_are_null_only_at_the_ends_of_an_open_line(post):
    legs = [{"forward": 10, "back": 190}, {"forward": 50, "back": 230}, {"forward": 95, "back": 275}]
    angles = [
        station["angle_deg"] for station in post("local-attractions", {"legs": legs, "sd_deg": 1})["stations"]
    ]
    assert angles == [None, 220, 225, None]
    closed = post("local-attractions", {"legs": legs, "sd_deg": 1, "closed": True})
    assert None not in [station["angle_deg"] for station in closed["stations"]]


def test_bearings_in_mils_are_the_same(post):
    degrees_legs = [{"forward": 45, "back": 225}, {"forward": 90, "back": 272.25}]
    mil_legs = [{name: value * 6400 / 360 for name, value in leg.items()} for leg in degrees_legs]
    assert post("local-attractions", {"legs": mil_legs, "unit": "mil", "sd_deg": 0.5}) == post(
        "local-attractions", {"legs": degrees_legs, "sd_deg": 0.5}
    )


def test_what_cannot_be_known_well_is_said(post):
    apart = [{"forward": 10, "back": 188}, {"forward": 53, "back": 234}]
    assert codes(post("local-attractions", {"legs": apart, "sd_deg": 0.1})) == {"no_free_station"}
    assert "default_sd" in codes(post("local-attractions", {"legs": apart}))
    reversed_ = [{"forward": 10, "back": 190}, {"forward": 50, "back": 50.5}]
    assert "reading_suspect" in codes(post("local-attractions", {"legs": reversed_, "sd_deg": 0.5}))


def test_too_few_legs_and_unreadable_bearings_are_named(refuse):
    leg = {"forward": 10, "back": 190}
    refuse("local-attractions", {"legs": [leg, leg], "closed": True}, "too_few_readings", "/legs")
    refuse("local-attractions", {"legs": []}, "invalid_request", "/legs")
    bad = {"forward": 10, "back": "nowhere"}
    refuse("local-attractions", {"legs": [leg, bad]}, "unreadable_bearing", "/legs/1/back")
    too_many = {"forward": 6000, "back": 190}
    refuse("local-attractions", {"legs": [too_many]}, "out_of_range", "/legs/0/forward")
