from __future__ import annotations

import pytest


def test_a_grid_reference_is_answered_in_every_form(post):
    answer = post("positions", {"position": "38SMB4488"})
    # GeographicLib's utility page: the centre is 33.33424 44.40363, 38n 444500 3688500 (half a unit of the last digit).
    assert answer["lat_deg"] == pytest.approx(33.33424, abs=5e-6)
    assert answer["lon_deg"] == pytest.approx(44.40363, abs=5e-6)
    assert answer["utm"] == {
        "zone": 38, "band": "S", "hemisphere": "north", "easting_m": 444500, "northing_m": 3688500
    }  # fmt: skip
    assert (answer["mgrs"], answer["mgrs_spaced"]) == ("38SMB4488", "38S MB 44 88")
    assert (answer["form"], answer["square_m"], answer["resolution_m"]) == ("mgrs", 1000, 1000)
    assert (answer["central_meridian_deg"], answer["east_of_central_meridian_m"]) == (45, -55500)
    assert answer["ups"] is None
    assert len(answer["square_corners"]) == 4


def test_the_corner_of_the_square_can_be_asked_for(post):
    answer = post("positions", {"position": "38SMB4488", "take": "corner"})
    assert (answer["utm"]["easting_m"], answer["utm"]["northing_m"]) == (444000, 3688000)
    assert answer["mgrs"] == "38SMB4488"
    assert answer["square_corners"][0] == {"lat_deg": answer["lat_deg"], "lon_deg": answer["lon_deg"]}


# FGDC-STD-011-2001 (as quoted in published/mgrs_examples.csv): truncation, not rounding, at every precision.
@pytest.mark.parametrize(
    ("digits", "reference"),
    [(1, "18SUJ20"), (2, "18SUJ2306"), (3, "18SUJ234064"), (4, "18SUJ23480647"), (5, "18SUJ2348306479")],
)
def test_references_are_written_by_truncation(post, digits, reference):
    place = {"zone": 18, "hemisphere": "north", "easting_m": 323483.168, "northing_m": 4306479.498}
    answer = post("positions", {"position": place, "digits": digits})
    assert answer["mgrs"] == reference
    assert answer["square_m"] == 10 ** (5 - digits)


@pytest.mark.parametrize("digits", range(6))
@pytest.mark.parametrize(
    "position",
    [
        "31UDQ",
        "32VKM7697958157",
        "31WEL99",
        "33XUG60",
        "ZAH0000",
        "BAN",
        {"lat_deg": 83.999999, "lon_deg": 5.999999},
    ],
    ids=str,
)
def test_what_is_written_reads_as_itself(post, position, digits):
    written = post("positions", {"position": position, "digits": digits})["mgrs"]
    assert post("positions", {"position": written})["mgrs"] == written
    again = post("positions", {"position": written})
    place = {"lat_deg": again["lat_deg"], "lon_deg": again["lon_deg"]}
    assert post("positions", {"position": place, "digits": digits})["mgrs"] == written


def test_the_poles_have_an_answer(post):
    for lat_deg, band in ((90, "Z"), (-90, "B")):
        answer = post("positions", {"position": {"lat_deg": lat_deg, "lon_deg": 0}})
        assert answer["ups"]["band"] == band
        assert (answer["ups"]["easting_m"], answer["ups"]["northing_m"]) == (2000000, 2000000)
        assert answer["point_scale_factor"] == 0.994
        assert answer["utm"] is None


def test_the_antimeridian_is_one_meridian(post):
    east, west = (post("positions", {"position": {"lat_deg": 10, "lon_deg": lon}}) for lon in (180, -180))
    assert east["lon_deg"] == west["lon_deg"] == -180
    assert east["mgrs"] == west["mgrs"]


def test_more_digits_than_were_read_are_cautioned(post):
    codes = [c["code"] for c in post("positions", {"position": "38SMB4488", "digits": 5})["cautions"]]
    assert codes == ["more_digits_than_read"]


def test_an_ambiguous_text_is_refused_with_its_readings(refuse):
    problem = refuse("positions", {"position": "18S 323483 4306479"}, "ambiguous_position", "/position")
    assert len(problem["readings"]) == 2
    assert {round(reading["lat_deg"]) for reading in problem["readings"]} == {39, -51}


def test_each_reading_of_an_ambiguous_text_can_be_sent_back(post, refuse):
    problem = refuse("positions", {"position": "18S 323483 4306479"}, "ambiguous_position")
    for reading in problem["readings"]:
        answer = post("positions", {"position": reading["read_as"]})
        assert answer["lat_deg"] == pytest.approx(reading["lat_deg"], abs=1e-6)


@pytest.mark.parametrize(
    ("position", "code"),
    [
        ("177 428", "unreadable_position"),
        ("33V VK 123 4567", "unreadable_position"),
        ("32X MT 1 1", "square_not_in_zone"),
        ("91 N 10 E", "out_of_range"),
        ("139.5 35.6", "out_of_range"),
        ("no place at all", "unreadable_position"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(post, position, code):
    problem = post("positions", {"position": position}, 422)
    assert problem["errors"][0]["pointer"] == "/position"
    assert problem["errors"][0]["value"] == position
    assert problem["code"] in {code, "unreadable_position", "out_of_range", "square_not_in_zone"}


def test_a_utm_object_out_of_reach_names_its_member(refuse):
    place = {"zone": 33, "hemisphere": "north", "easting_m": 10, "northing_m": 5e6}
    problem = refuse("positions", {"position": place}, "outside_grid")
    assert problem["errors"][0]["pointer"] == "/position/easting_m"


@pytest.mark.parametrize(
    "place",
    [
        {"lat_deg": -12.3456789, "lon_deg": 179.5},
        {"zone": 18, "hemisphere": "south", "easting_m": 323483.25, "northing_m": 4306479.5},
        {"grid": "ups", "hemisphere": "north", "easting_m": 2000100, "northing_m": 1999000.5},
    ],
    ids=["geodetic", "utm", "ups"],
)
def test_what_an_object_is_read_as_reads_the_same(post, place):
    first = post("positions", {"position": place})
    again = post("positions", {"position": first["read_as"]})
    # A latitude is written to 1e-6 degree.
    assert again["lat_deg"] == pytest.approx(first["lat_deg"], abs=5e-7)
    assert again["lon_deg"] == pytest.approx(first["lon_deg"], abs=5e-7)


# One unit of the last digit: 0.1 degree of latitude is 11 km, a second 31 m, a millionth of a degree 0.1 m.
@pytest.mark.parametrize(
    ("position", "square_m"),
    [
        ("62.9, 13.3", 10_000),
        ("62 56 25 N, 13 16 22 E", 10),
        ("62.940396, 13.272852", 1),
        ("33V 412345 6980125", 1),
    ],
)
def test_a_text_is_written_as_a_reference_no_finer_than_it_was_given(post, position, square_m):
    answer = post("positions", {"position": position})
    assert answer["square_m"] == square_m
    assert answer["cautions"] == []
    if square_m > 1:
        finer = post("positions", {"position": position, "digits": 5})
        assert [c["code"] for c in finer["cautions"]] == ["more_digits_than_read"]


@pytest.mark.parametrize("position", ["33S 412345 6980125", "33 s 412345 6980125"])
def test_an_s_that_can_only_be_the_hemisphere_is_cautioned(post, position):
    answer = post("positions", {"position": position})
    assert answer["utm"]["hemisphere"] == "south"
    assert [c["code"] for c in answer["cautions"]] == ["letter_read_as_hemisphere"]
    assert post("positions", {"position": "33 south 412345 6980125"})["cautions"] == []


def test_a_zone_that_does_not_reach_so_far_north_is_named(refuse):
    place = {"zone": 32, "hemisphere": "north", "easting_m": 500000, "northing_m": 8500000}
    refuse("positions", {"position": place}, "outside_grid", "/position/zone")


def test_four_groups_that_may_be_a_short_reference_are_not_taken_for_degrees(post):
    problem = post("positions", {"position": "12 34 40 12"}, 422)
    assert problem["code"] in {"unreadable_position", "ambiguous_position"}
    assert post("positions", {"position": "12 34 N 40 12 E"})["lat_deg"] == pytest.approx(12.5666667)
