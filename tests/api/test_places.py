"""How every operation reads its positions: on a datum, on a sheet, and near where they are expected. All places invented."""

from __future__ import annotations

import pytest

NEAR = "33V VE 1450 6620"
HUT = "33V VE 123 678"
#: A sheet of the British National Grid, 20 km square.
BRITISH = {
    "grid": {"epsg": 27700},
    "corners": {"south_west": "British grid TQ 20 70", "north_east": "British grid TQ 40 90"},
}
#: A sheet of UTM zone 33 by its corners.
FELLS = {
    "grid": {"zone": 33, "hemisphere": "north"},
    "corners": {
        "south_west": {"lat_deg": 58.25, "lon_deg": 13.25},
        "north_east": {"lat_deg": 58.5, "lon_deg": 13.75},
    },
}


def codes(answer):
    return [caution["code"] for caution in answer["cautions"]]


@pytest.mark.parametrize("datum", ["ED50", "ed 50", "European 1950", "EPSG:4230", "4230"])
def test_a_datum_is_named_by_name_or_code(post, datum):
    answer = post("positions", {"position": HUT, "datum": datum})
    assert (answer["shift"]["datum"], answer["shift"]["datum_epsg"]) == ("ED50", 4230)
    assert "EPSG:" in answer["shift"]["operation"]
    assert 0 < answer["shift"]["accuracy_m"] < 20


def test_a_place_on_an_old_datum_is_given_on_both(post):
    on_ed50 = post("positions", {"position": HUT, "datum": "ED50"})
    assert on_ed50["datum"] == "WGS84"
    local = on_ed50["local"]
    # What was read is what is given back on its own datum, to the millimetre.
    assert (local["easting_m"], local["northing_m"]) == (412350, 6467850)
    assert (local["reference"], local["zone"], local["hemisphere"], local["epsg"]) == (HUT, 33, "north", None)
    # ED50 and WGS84 lie some 200 m apart in the north of Europe: the same figures are another place.
    again = post("lines", {"from": HUT, "to": HUT, "datum": "ED50"}, 422)
    assert again["code"] == "coincident_points"
    apart = post("lines", {"from": {"lat_deg": on_ed50["lat_deg"], "lon_deg": on_ed50["lon_deg"]}, "to": HUT})
    assert 150 < apart["distance_m"] < 250


def test_a_place_is_carried_to_the_sheets_datum_and_back(post):
    sheet = {"datum": "ED50", "grid": {"zone": 33, "hemisphere": "north"}}
    gps = {"lat_deg": 58.34279, "lon_deg": 13.50274, "datum": "WGS84"}
    answer = post("positions", {"position": gps, "sheet": sheet, "digits": 5})
    assert answer["shift"] is None
    assert "sheet_datum_taken" not in codes(answer)
    back = post("positions", {"position": answer["local"]["reference"], "sheet": sheet})
    assert back["lat_deg"] == pytest.approx(gps["lat_deg"], abs=1e-5)
    assert back["lon_deg"] == pytest.approx(gps["lon_deg"], abs=2e-5)


def test_a_prime_meridian_other_than_greenwich_counts_for_longitudes_alone(post):
    # NTF (Paris), EPSG:4807, counts longitudes from Paris, 2.33722917 degrees east of Greenwich; UTM zones do not.
    paris = post("positions", {"position": "46.80000 N 0.00000 E", "datum": "EPSG:4807"})
    assert paris["lon_deg"] == pytest.approx(2.33722917, abs=0.002)
    local = paris["local"]
    assert (local["zone"], local["hemisphere"]) == (31, "north")
    assert local["easting_m"] == pytest.approx(500_000 - 0.66277 * 76_300, abs=300)
    again = post("positions", {"position": local["reference"], "datum": "EPSG:4807", "digits": 4})
    assert again["lon_deg"] == pytest.approx(paris["lon_deg"], abs=0.001)


def test_the_datum_is_that_of_the_position_then_of_the_request_then_of_the_sheet(post):
    place = {"lat_deg": 58.34279, "lon_deg": 13.50274}
    sheet = {"datum": "ED50"}
    by_sheet = post("positions", {"position": place, "sheet": sheet})
    assert by_sheet["shift"]["datum"] == "ED50"
    assert "sheet_datum_taken" in codes(by_sheet)
    by_request = post("positions", {"position": place, "sheet": sheet, "datum": "Pulkovo 1942"}, 422)
    assert by_request["code"] == "outside_datum_area"
    by_position = post("positions", {"position": {**place, "datum": "ETRS89"}, "sheet": sheet})
    assert by_position["shift"]["datum"] == "ETRS89"
    assert "sheet_datum_taken" not in codes(by_position)
    marked = post("positions", {"position": "58.34279 N 13.50274 E WGS84", "sheet": sheet})
    assert marked["shift"] is None


@pytest.mark.parametrize(
    ("body", "code", "pointer"),
    [
        ({"position": HUT, "datum": "ED51"}, "unknown_datum", "/datum"),
        ({"position": {"lat_deg": 1, "lon_deg": 1, "datum": "Atlantis"}}, "unknown_datum", "/position/datum"),
        ({"position": "40 S 150 E", "datum": "ED50"}, "outside_datum_area", "/position"),
        ({"position": {"epsg": 4326, "easting_m": 0, "northing_m": 0}}, "unknown_grid", "/position/epsg"),
        (
            {"position": {"epsg": 27700, "easting_m": 0, "northing_m": 5e6}},
            "outside_grid",
            "/position/easting_m",
        ),
        ({"position": HUT, "sheet": {"datum": "Nowhere"}}, "unknown_datum", "/sheet/datum"),
        ({"position": HUT, "sheet": {"grid": {"epsg": 4326}}}, "unknown_grid", "/sheet/grid/epsg"),
        (
            {"position": HUT, "sheet": {"grid": {"epsg": 27700}, "datum": "ED50"}},
            "inconsistent_sheet",
            "/sheet/datum",
        ),
        (
            {
                "position": HUT,
                "sheet": {"corners": {"south_west": "58.5 N 13.75 E", "north_east": "58 N 13 E"}},
            },
            "inconsistent_sheet",
            "/sheet/corners/south_west",
        ),
        ({"position": HUT, "near": "nowhere"}, "unreadable_position", "/near"),
    ],
)
def test_what_cannot_be_read_names_its_member(refuse, body, code, pointer):
    refuse("positions", body, code, pointer)


def test_no_shift_known_is_refused_unless_said_so(post, refuse):
    # The EPSG dataset has no operation from this one to WGS 84.
    body = {"position": "30 N 31 E", "datum": "Egypt 1930"}
    refuse("positions", body, "ballpark_shift")
    answer = post("positions", {**body, "allow_ballpark": True})
    assert answer["shift"]["ballpark"]
    assert answer["shift"]["accuracy_m"] >= 500
    assert "ballpark_datum" in codes(answer)


def test_a_shift_less_sure_than_the_square_is_cautioned(post):
    fine = post("positions", {"position": "33V VE 12345 67845", "datum": "ED50"})
    assert "datum_coarse" in codes(fine)
    assert fine["square_m"] >= 10 or fine["shift"]["accuracy_m"] < 10
    coarse = post("positions", {"position": HUT, "datum": "ED50"})
    assert "datum_coarse" not in codes(coarse)


@pytest.mark.parametrize("text", ["123 678", "123678", "VE 123 678", "grid 123 678", "12345 67845"])
def test_a_short_reference_is_read_near_a_place(post, text):
    answer = post("positions", {"position": text, "near": NEAR})
    assert answer["mgrs"].startswith("33VVE123")
    assert answer["expected"]["fits"]
    assert "short_reference" in codes(answer)


def test_a_short_reference_is_read_on_a_sheet(post):
    answer = post("positions", {"position": "123 678", "sheet": FELLS})
    assert answer["mgrs"] == "33VVE123678"
    assert answer["expected"] == {
        "fits": True, "near_distance_m": None, "near_true_azimuth_deg": None, "outside_sheet_m": 0
    }  # fmt: skip


def test_squares_stand_in_for_corners(post):
    answer = post(
        "positions",
        {"position": "123 678", "sheet": {**FELLS, "corners": FELLS["corners"], "squares": ["VE"]}},
    )
    assert answer["mgrs"] == "33VVE123678"


def test_nothing_tells_what_a_short_reference_means(refuse):
    refuse("positions", {"position": "123 678"}, "unreadable_position", "/position")


def test_a_short_reference_out_of_reach_is_refused_with_the_nearest(refuse):
    problem = refuse(
        "positions", {"position": "623 178", "near": NEAR, "reach_m": 5000}, "nothing_in_reach", "/position"
    )
    assert problem["readings"]
    distances = [reading["distance_m"] for reading in problem["readings"]]
    assert distances == sorted(distances)
    assert distances[0] > 5000


def test_a_short_reference_with_two_places_in_reach_is_refused_with_both(refuse):
    problem = refuse(
        "positions",
        {"position": "123 678", "near": NEAR, "reach_m": 120_000},
        "ambiguous_position",
        "/position",
    )
    assert len(problem["readings"]) >= 2
    assert problem["readings"][0]["read_as"] == "MGRS 33VVE123678"


def test_readings_are_ranked_by_distance(refuse):
    problem = refuse(
        "positions", {"position": "47.5 lat 8.5", "near": "8.6 N 47.4 E"}, "ambiguous_position", "/position"
    )
    assert [reading["lat_deg"] for reading in problem["readings"]] == [8.5, 47.5]
    assert problem["readings"][0]["distance_m"] < 30_000 < problem["readings"][1]["distance_m"]


@pytest.mark.parametrize(
    ("text", "slip", "meant"),
    [
        ("33V VE 678 123", "easting_and_northing_swapped", "33VVE123678"),
        ("33V VE 132 678", None, None),
        ("33V VE 813 678", "digits_transposed", "33VVE183678"),
        ("33V VF 123 678", "neighbouring_square", "33VVE123678"),
        ("13.503 N 58.343 E", "latitude_and_longitude_swapped", None),
        ("58.343 N 13.503 W", "wrong_hemisphere", None),
    ],
)
def test_a_place_out_of_reach_comes_with_likely_slips(post, text, slip, meant):
    answer = post("positions", {"position": text, "near": NEAR, "reach_m": 20_000})
    if slip is None:
        assert answer["alternatives"] == []
        assert answer["expected"]["fits"]
        return
    assert not answer["expected"]["fits"]
    assert "far_from_near" in codes(answer)
    found = {other["slip"]: other for other in answer["alternatives"]}
    assert slip in found
    assert found[slip]["distance_m"] <= 20_000
    if meant is not None:
        assert found[slip]["read_as"] == f"MGRS {meant}"


@pytest.mark.parametrize(
    ("text", "slip"),
    [
        ("32V VE 123 678", "wrong_zone"),
        ("33P VE 123 678", "wrong_band"),
        ("33V AB 123 678", "wrong_letters"),
        ("three two victor, victor echo, one two three, six seven eight", "wrong_zone"),
    ],
)
def test_a_square_that_is_not_in_its_zone_is_refused_with_likely_slips(refuse, text, slip):
    problem = refuse("positions", {"position": text, "near": NEAR}, "square_not_in_zone", "/position")
    assert {"slip": slip, "read_as": "MGRS 33VVE123678"}.items() <= problem["readings"][0].items()


@pytest.mark.parametrize(
    ("text", "slip"),
    [
        ("678 123", "easting_and_northing_swapped"),
        ("VF 123 678", "wrong_letters"),
        ("813 678", "digits_transposed"),
        ("31V 123 678", "wrong_zone"),
    ],
)
@pytest.mark.parametrize(
    "expected", [{"near": NEAR, "reach_m": 5000}, {"sheet": FELLS}], ids=["near", "sheet"]
)
def test_a_short_reference_out_of_reach_comes_with_likely_slips_among_the_nearest(
    refuse, text, slip, expected
):
    meant = "MGRS 33VVE183678" if slip == "digits_transposed" else "MGRS 33VVE123678"
    problem = refuse("positions", {"position": text, **expected}, "nothing_in_reach", "/position")
    first = problem["readings"][0]
    assert (first["slip"], first["read_as"]) == (slip, meant)
    assert first["explanation"]
    distances = [reading["distance_m"] for reading in problem["readings"]]
    assert distances == sorted(distances)
    assert any("slip" not in reading for reading in problem["readings"])


@pytest.mark.parametrize("text", ["123 345", "SK 123 345", "412345 334567"])
def test_figures_are_not_of_a_national_grid_where_another_datum_is_named(post, refuse, text):
    near = {"lat_deg": 52.9, "lon_deg": -1.8}
    assert post("positions", {"position": text, "near": near})["shift"]["datum"] == "OSGB36"
    refuse("positions", {"position": text, "near": near, "datum": "ED50"}, "nothing_in_reach", "/position")
    refuse("positions", {"position": f"{text} WGS84", "near": near}, "nothing_in_reach", "/position")
    sheet = {"datum": "OSGB36", "grid": {"epsg": 27700}}
    assert post("positions", {"position": text, "near": near, "sheet": sheet})["shift"]["datum"] == "OSGB36"


def test_a_national_grid_and_wgs84_contradict_each_other(refuse):
    problem = refuse(
        "positions", {"position": "British grid SK 123 345 WGS84"}, "unreadable_position", "/position"
    )
    assert "OSGB36" in problem["detail"]


def test_a_grid_that_bends_angles_is_told(post):
    # EPSG:3035 keeps areas and not angles.
    place = {"epsg": 3035, "easting_m": 4500000, "northing_m": 3500000}
    assert "grid_bends_angles" in codes(post("norths", {"position": place, "date": "2026-11-25"}))


def test_a_place_off_the_sheet_is_told_everywhere(post):
    answer = post("norths", {"position": "33V VF 123 678", "sheet": FELLS, "date": "2026-11-25"})
    assert "outside_sheet" in codes(answer)
    line = post("lines", {"from": HUT, "to": "33V VF 123 678", "sheet": FELLS})
    assert codes(line).count("outside_sheet") == 1


def test_grid_north_is_that_of_the_national_grid(post):
    # Published: the British National Grid's central meridian is 2 degrees west (Ordnance Survey, "A guide to coordinate
    # systems in Great Britain"), so convergence is about (lon + 2) sin(lat); UTM zone 30's is 3 degrees west.
    place = post("positions", {"position": "British grid TQ 305 802"})
    expected = (place["lon_deg"] + 2) * 0.7827
    assert place["local"]["convergence_deg"] == pytest.approx(expected, abs=0.01)
    assert (place["local"]["epsg"], place["local"]["reference"]) == (27700, "TQ 305 802")
    on_grid = post("norths", {"position": "British grid TQ 305 802", "date": "2026-11-25"})
    assert on_grid["convergence_deg"] == pytest.approx(expected, abs=0.01)
    as_wgs84 = {"lat_deg": place["lat_deg"], "lon_deg": place["lon_deg"]}
    by_sheet = post(
        "norths", {"position": as_wgs84, "sheet": BRITISH, "datum": "WGS84", "date": "2026-11-25"}
    )
    assert by_sheet["convergence_deg"] == pytest.approx(on_grid["convergence_deg"], abs=1e-6)
    by_zone = post("norths", {"position": as_wgs84, "date": "2026-11-25"})
    assert by_zone["convergence_deg"] - on_grid["convergence_deg"] == pytest.approx(0.7827, abs=0.01)


def test_a_line_on_a_national_grid_is_by_its_coordinates(post):
    answer = post("lines", {"from": "TQ 30000 80000", "to": "TQ 33000 84000", "sheet": BRITISH})
    assert answer["grid_distance_m"] == pytest.approx(5000, abs=0.01)
    assert answer["grid_azimuth_deg"] == pytest.approx(36.869898, abs=1e-4)
    back = post(
        "rays",
        {
            "from": "TQ 30000 80000",
            "bearing": answer["grid_azimuth_deg"],
            "north": "grid",
            "distance_m": answer["distance_m"],
            "sheet": BRITISH,
        },
    )
    place = {"lat_deg": back["position"]["lat_deg"], "lon_deg": back["position"]["lon_deg"], "datum": "WGS84"}
    there = post("positions", {"position": place, "sheet": BRITISH, "digits": 5})
    assert there["local"]["easting_m"] == pytest.approx(533000.5, abs=0.02)
    assert there["local"]["northing_m"] == pytest.approx(184000.5, abs=0.02)


def test_a_resection_of_grid_bearings_is_on_the_sheets_grid(post):
    # Marks 3-4-5 and 5-12-13 from the observer at TQ 30000 80000: grid bearings by arithmetic.
    sights = [
        {"to": {"epsg": 27700, "easting_m": 533000, "northing_m": 184000}, "bearing": 36.8699},
        {"to": {"epsg": 27700, "easting_m": 525000, "northing_m": 192000}, "bearing": 337.3801},
        {"to": {"epsg": 27700, "easting_m": 534000, "northing_m": 177000}, "bearing": 126.8699},
    ]
    fix = post("resections", {"sights": sights, "north": "grid", "sheet": BRITISH})
    place = {"lat_deg": fix["position"]["lat_deg"], "lon_deg": fix["position"]["lon_deg"], "datum": "WGS84"}
    there = post("positions", {"position": place, "sheet": BRITISH})
    # The tangent at the observer parts from the straight line on the map by under an arc second over 13 km.
    assert there["local"]["easting_m"] == pytest.approx(530000, abs=1)
    assert there["local"]["northing_m"] == pytest.approx(180000, abs=1)


def test_angles_come_from_the_sheet_or_from_the_model(post, refuse):
    body = {"bearing": 78, "north": "magnetic", "position": HUT, "date": "2026-11-25"}
    plain = post("bearings", body)
    on_sheet = post("bearings", {**body, "sheet": FELLS})
    assert on_sheet["angles"]["source"] == "model"
    assert on_sheet["grid"] == plain["grid"]
    printing = {**FELLS, "grid_magnetic_angle_deg": 6.5, "year": 2020, "annual_change_deg": 0.15}
    refuse("bearings", {**body, "sheet": printing}, "angles_conflict")
    assert post("bearings", {**body, "sheet": printing, "angles_from": "model"})["grid"] == plain["grid"]
    by_sheet = post("bearings", {**body, "sheet": printing, "angles_from": "sheet"})
    assert by_sheet["angles"]["source"] == "sheet"
    refuse("bearings", {"bearing": 1, "north": "true", "angles_from": "model"}, "angles_missing", "/position")


def test_the_square_of_a_reference_is_a_polygon(app):
    client = app.test_client()
    answer = client.post("/v1/positions", json={"position": HUT}, headers={"Accept": "application/geo+json"})
    assert answer.content_type == "application/geo+json"
    feature = answer.get_json(force=True)
    assert feature["type"] == "Feature"
    assert feature["properties"]["mgrs"] == "33VVE123678"
    (ring,) = feature["geometry"]["coordinates"]
    assert ring[0] == ring[-1]
    assert len(ring) >= 5
    lon, lat = ring[0]
    corner = feature["properties"]["square_corners"][0]
    assert (lat, lon) == pytest.approx((corner["lat_deg"], corner["lon_deg"]), abs=1e-8)


def test_a_point_is_a_point_and_plain_json_is_the_default(app):
    client = app.test_client()
    point = client.post(
        "/v1/positions", json={"position": "47.5 N 8.5 E"}, headers={"Accept": "application/geo+json"}
    ).get_json(force=True)
    assert point["geometry"] == {"type": "Point", "coordinates": [8.5, 47.5]}
    for accept in ("*/*", "application/json", "application/json, application/geo+json;q=0.5", ""):
        answer = client.post("/v1/positions", json={"position": HUT}, headers={"Accept": accept})
        assert answer.content_type == "application/json"
    # An operation without a shape answers as it always does.
    line = client.post(
        "/v1/lines", json={"from": HUT, "to": NEAR}, headers={"Accept": "application/geo+json"}
    )
    assert line.content_type == "application/json"


def test_a_sheet_across_the_antimeridian_is_cut(app):
    sheet = {"corners": {"south_west": "17 S 179.5 E", "north_east": "16.5 S 179.5 W"}}
    answer = app.test_client().post(
        "/v1/sheets", json={"sheet": sheet}, headers={"Accept": "application/geo+json"}
    )
    geometry = answer.get_json(force=True)["geometry"]
    assert geometry["type"] == "MultiPolygon"
    assert len(geometry["coordinates"]) == 2
    for (ring,) in geometry["coordinates"]:
        assert len({lon > 0 for lon, _lat in ring}) == 1


def test_a_universal_reference_is_not_on_the_datum_of_a_national_sheet(post):
    plain = post("positions", {"position": "30U WD 7000 3000"})
    on_sheet = post("positions", {"position": "30U WD 7000 3000", "sheet": BRITISH})
    assert (on_sheet["lat_deg"], on_sheet["lon_deg"]) == (plain["lat_deg"], plain["lon_deg"])
    utm = {"zone": 30, "hemisphere": "north", "easting_m": 570000, "northing_m": 5830000}
    assert post("positions", {"position": utm, "sheet": BRITISH})["shift"] is None
    assert post("positions", {"position": "UTM 30 north 570000 5830000", "sheet": BRITISH})["shift"] is None


def test_a_reference_is_written_no_finer_than_its_datum_is_known(post):
    place = {"lat_deg": 58.3, "lon_deg": 13.5, "datum": "ED50"}
    answer = post("positions", {"position": place})
    assert answer["shift"]["accuracy_m"] == 7
    assert answer["square_m"] == 10
    assert "datum_coarse" in codes(answer)
    # On its own datum it is as fine as it was given; what comes to a datum is not.
    assert len(answer["local"]["reference"]) == len("33V VE 12345 67890")
    to_sheet = post(
        "positions",
        {"position": {"lat_deg": 58.3, "lon_deg": 13.5, "datum": "WGS84"}, "sheet": {"datum": "ED50"}},
    )
    assert len(to_sheet["local"]["reference"]) == len("33V VE 1234 6789")
    assert "datum_coarse" in codes(to_sheet)


def test_squares_of_a_sheet_without_edges_are_held(post):
    sheet = {"grid": {"zone": 33, "hemisphere": "north"}, "squares": ["33V VE"]}
    on_it = post("positions", {"position": "33V VE 123 678", "sheet": sheet})
    assert on_it["expected"]["fits"]
    off_it = post("positions", {"position": "33V VF 123 678", "sheet": sheet})
    assert not off_it["expected"]["fits"]
    assert "outside_sheet" in codes(off_it)


def test_a_coarse_place_near_by_reaches_as_far_as_its_square(post, refuse):
    answer = post("positions", {"position": "500 500", "near": "33V VE", "reach_m": 1000})
    assert answer["mgrs"] == "33VVE500500"
    refuse("positions", {"position": "123 678", "near": "58 N 13 E", "reach_m": 1000}, "ambiguous_position")


def test_a_printed_angle_that_is_wrong_is_cautioned_wherever_it_is_used(post, refuse):
    body = {"bearing": 100, "north": "magnetic", "date": "2026-11-25"}
    wrong_sign = {**FELLS, "declination_deg": -6.5, "year": 2025.5, "annual_change_deg": 0.2}
    assert "sheet_angle_disagrees" in codes(post("bearings", {**body, "sheet": wrong_sign}))
    stale = {**FELLS, "declination_deg": 1.0, "year": 1988}
    assert "sheet_angle_stale" in codes(post("bearings", {**body, "sheet": stale}))
    refuse("bearings", {**body, "sheet": {**stale, "datum": "nonsense"}}, "unknown_datum", "/sheet/datum")
    given = {**body, "sheet": stale, "angles_from": "sheet"}
    refuse("bearings", {**given, "position": "nowhere"}, "unreadable_position", "/position")
    assert "outside_sheet" in codes(post("bearings", {**given, "position": "30U XC 99 10"}))
