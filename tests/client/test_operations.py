"""Every operation called through the client, over a socket, against the real service.

The numbers are published ones where there are any: the mathematics has its own tests, but a value in a wrong member, a lost
sign or a rounded-off digit would show here.
"""

import dataclasses
import datetime
import json
import math
import pickle

import pytest

import threenorths
from threenorths import (
    ArgumentError,
    Bearing,
    Caution,
    Client,
    CompassSetting,
    Fix,
    Gradient,
    Height,
    LatLon,
    Line,
    MapDistance,
    MilRelation,
    Norths,
    PositionRead,
    Ray,
    ReadPlace,
    Setting,
    Sheet,
    SightFrom,
    SightLine,
    SightTo,
    TravelTime,
    Turn,
    Ups,
    Utm,
    Width,
)

# FGDC-STD-011-2001 (United States National Grid): these coordinates truncate to this reference.
FGDC = Utm(18, "north", 323483.168, 4306479.498)
# C. F. F. Karney, GeographicLib, test_geodesic.py testcases, row 2: WGS 84; azimuths 1e-13 degree, distance 1e-8 m.
GEODESIC = (LatLon(55.52454, 106.05087), LatLon(77.03196, 197.18234))
GEODESIC_AZIMUTH_DEG, GEODESIC_END_AZIMUTH_DEG, GEODESIC_M = (
    22.020059880982801,
    109.112041110671519,
    4105086.1713924406,
)
# The service gives azimuths, latitudes and longitudes to these places, and lengths to a tenth of a millimetre.
AZIMUTH_TOLERANCE_DEG, DEGREE_TOLERANCE, LENGTH_TOLERANCE_M = 5.1e-7, 5.1e-10, 5.1e-5


def plane(east: float, north: float) -> Utm:
    """A plane coordinate of a textbook, laid beside a central meridian, where the grid is as good as plane."""
    return Utm(33, "north", 500_000.0 + east, 4_000_000.0 + north)


def test_positions(client: Client) -> None:
    read = client.positions.read(FGDC, digits=3)
    assert isinstance(read, PositionRead)
    assert read.mgrs == "18SUJ234064"
    assert read.square_m == 100.0
    assert read.form == "utm"
    assert read.utm is not None
    assert (read.utm.zone, read.utm.band, read.utm.hemisphere) == (18, "S", "north")
    assert (read.utm.easting_m, read.utm.northing_m) == (FGDC.easting_m, FGDC.northing_m)
    assert read.ups is None
    assert len(read.square_corners) == 4
    assert read.working is None
    assert client.positions.read("18SUJ2306", take="corner").utm.easting_m == 323000.0
    assert client.positions.read("18SUJ2306").utm.easting_m == 323500.0


# WMM2025 report, table of test values at 2025.0: latitude, longitude, height, then D, I, change of D a year, H and F. The
# last digits are 0.01 degree and 0.1 nT; the service rounds its nT to 0.1 too.
WMM2025 = {
    "at the ellipsoid": (-80.0, 240.0, 0.0, 68.78, -72.00, -0.12, 16898.1, 54698.2),
    "100 km up": (80.0, 0.0, 100_000.0, 0.85, 83.26, 0.52, 6216.7, 52964.9),
}


@pytest.mark.parametrize("row", WMM2025.values(), ids=WMM2025.keys())
def test_norths(client: Client, row: tuple[float, ...]) -> None:
    lat_deg, lon_deg, height_m, declination, inclination, change, horizontal, total = row
    norths = client.norths.at(LatLon(lat_deg, lon_deg), datetime.date(2025, 1, 1), height_m=height_m)
    assert isinstance(norths, Norths)
    assert norths.declination_deg == pytest.approx(declination, abs=0.00501)
    assert norths.inclination_deg == pytest.approx(inclination, abs=0.00501)
    assert norths.annual_change_deg == pytest.approx(change, abs=0.00501)
    assert norths.horizontal_nt == pytest.approx(horizontal, abs=0.101)
    assert norths.total_nt == pytest.approx(total, abs=0.101)
    assert norths.height_m == height_m
    assert norths.date == datetime.date(2025, 1, 1)
    assert norths.decimal_year == 2025.0
    assert norths.position.lon_deg == lon_deg - 360.0 * (lon_deg > 180.0)


def test_norths_today(client: Client) -> None:
    before = datetime.datetime.now(datetime.UTC).date()
    norths = client.norths.at("33V VE 12345 67890", "today")
    assert before <= norths.date <= datetime.datetime.now(datetime.UTC).date()


def test_bearings(client: Client) -> None:
    # US Army, soldier's task "Convert azimuths": magnetic 190 with an easterly G-M angle of 9 degrees is grid 199.
    bearing = client.bearings.convert(190, "magnetic", grid_magnetic_angle_deg=9)
    assert isinstance(bearing, Bearing)
    assert bearing.grid.azimuth_deg == 199.0
    assert bearing.grid.back_azimuth_deg == 19.0
    assert bearing.magnetic.azimuth_deg == 190.0
    assert bearing.true is None
    assert (bearing.angles.source, bearing.angles.declination_deg) == ("given", None)
    assert bearing.date is None


def test_bearings_in_mils_from_a_sheet(client: Client) -> None:
    # US Army, soldier's task "Compute Back Azimuths": 1150 mils back is 4350 mils.
    sheet = Sheet(grid_magnetic_angle_deg=5.5, year=2015, annual_change_deg=0.1)
    bearing = client.bearings.convert(1150, "grid", "mil", sheet=sheet, date="2025-01-01", working=True)
    assert bearing.grid.azimuth_mil == 1150.0
    assert bearing.grid.back_azimuth_mil == 4350.0
    assert bearing.angles.grid_magnetic_angle_deg == pytest.approx(6.5)
    assert bearing.date == datetime.date(2025, 1, 1)
    assert bearing.working


def test_a_bearing_of_nought_is_sent(client: Client) -> None:
    bearing = client.bearings.convert(0, "grid", convergence_deg=0.0, declination_deg=0.0)
    assert bearing.true.azimuth_deg == 0.0
    assert bearing.angles.grid_magnetic_angle_deg == 0.0


def test_compass_settings(client: Client) -> None:
    # US Army TC 3-25.26 and FM 3-25.26, para 9-2: a click is 3 degrees, counted counterclockwise; 51 degrees is 17 clicks.
    setting = client.compass_settings.find(51, "magnetic")
    assert isinstance(setting, CompassSetting)
    assert (setting.clicks, setting.turn, setting.set_deg, setting.residual_deg) == (
        17,
        "counterclockwise",
        51.0,
        0.0,
    )
    assert setting.purpose == "follow_bearing"
    assert isinstance(setting.other_setting, Setting)
    assert setting.short_way == Turn(17, "counterclockwise")


def test_compass_settings_without_a_bearing(client: Client) -> None:
    # Common practice, no source: 14 degrees easterly is 5 clicks clockwise, 1 degree over.
    setting = client.compass_settings.find(grid_magnetic_angle_deg=14)
    assert (setting.clicks, setting.turn, setting.residual_deg) == (5, "clockwise", 1.0)
    assert setting.map_oriented_dial_deg == 346.0
    finer = client.compass_settings.find(grid_magnetic_angle_deg=14, click_deg=2)
    assert (finer.clicks, finer.residual_deg) == (7, 0.0)


def test_map_distances(client: Client) -> None:
    # US Army TC 3-25.26, para 5-5: 2200 m of ground at 1:50,000 is 4.4 cm of map.
    solved = client.map_distances.solve(scale="1:50,000", ground_m=2200)
    assert isinstance(solved, MapDistance)
    assert solved.map_cm == 4.4
    assert solved.scale == 50_000.0
    assert solved.slope_m is None
    assert client.map_distances.solve(ground_km=3, rise_m=-400).gradient_percent < 0.0


def test_lines(client: Client) -> None:
    line = client.lines.between(*GEODESIC)
    assert isinstance(line, Line)
    assert line.distance_m == pytest.approx(GEODESIC_M, abs=LENGTH_TOLERANCE_M)
    assert line.true_azimuth_deg == pytest.approx(GEODESIC_AZIMUTH_DEG, abs=AZIMUTH_TOLERANCE_DEG)
    back = GEODESIC_END_AZIMUTH_DEG + 180.0
    assert line.true_back_azimuth_deg == pytest.approx(back, abs=AZIMUTH_TOLERANCE_DEG)
    assert line.from_.lat_deg == GEODESIC[0].lat_deg
    assert line.to.lat_deg == GEODESIC[1].lat_deg
    assert line.magnetic_azimuth_deg is None
    assert client.lines.between(*GEODESIC, date="2026-11-25").magnetic_azimuth_deg is not None


def test_rays(client: Client) -> None:
    ray = client.rays.follow(GEODESIC[0], GEODESIC_AZIMUTH_DEG, "true", GEODESIC_M)
    assert isinstance(ray, Ray)
    assert ray.position.lat_deg == pytest.approx(GEODESIC[1].lat_deg, abs=DEGREE_TOLERANCE)
    assert ray.position.lon_deg == pytest.approx(GEODESIC[1].lon_deg - 360.0, abs=DEGREE_TOLERANCE)
    assert ray.from_.lat_deg == GEODESIC[0].lat_deg


def test_intersections(client: Client) -> None:
    # J. Mahun, Open Access Surveying Library, COGO, intersection by two directions: lengths to 0.001, azimuths to 1".
    # Half a second over 574 is 0.0014; the lines cross at 61 degrees, so 0.003 covers both.
    sights = [
        SightFrom(plane(2000.0, 1000.0), "253 26 15"),
        SightFrom(plane(1811.082, 480.951), "314 33 26", 0.5),
    ]
    fix = client.intersections.fix(sights, "grid", sd_deg=1.0)
    assert isinstance(fix, Fix)
    assert fix.position.utm.easting_m - 500_000.0 == pytest.approx(1450.051, abs=0.003)
    assert fix.position.utm.northing_m - 4_000_000.0 == pytest.approx(836.445, abs=0.003)
    assert fix.distances_m[0] == pytest.approx(573.754 / 0.9996, abs=0.01)  # from the grid to the ellipsoid
    assert fix.crossing_angle_deg == pytest.approx(61.12, abs=0.01)
    assert fix.sd_deg == (1.0, 0.5)
    assert fix.degrees_of_freedom == 0
    assert "no_check" in {caution.code for caution in fix.cautions}
    assert all(isinstance(caution, Caution) for caution in fix.cautions)


def test_resections(client: Client) -> None:
    # Ferris State University, SURE 215, "Three Point Resection Problem": A, B, C and the angles APB 109 30 45 and
    # BPC 115 05 20 give P = (2128.3903, 5578.1443). Half a second over 1600 m is 0.004 m. The readings below have those
    # angles, and an error that the two angles leave open.
    to_a, to_b, to_c = plane(1000.0, 5300.0), plane(2200.0, 6300.0), plane(3100.0, 5000.0)
    sights = [SightTo(to_a, "254 0 0"), SightTo(to_b, "3 30 45"), SightTo(to_c, "118 36 5")]
    fix = client.resections.fix(sights, "grid", sd_deg=0.01, solve_compass_error=True)
    assert fix.position.utm.easting_m - 500_000.0 == pytest.approx(2128.3903, abs=0.01)
    assert fix.position.utm.northing_m - 4_000_000.0 == pytest.approx(5578.1443, abs=0.01)
    azimuth_to_a_deg = math.degrees(math.atan2(1000.0 - 2128.3903, 5300.0 - 5578.1443)) % 360.0
    assert fix.compass_error_deg == pytest.approx(254.0 - azimuth_to_a_deg, abs=0.001)
    assert fix.compass_error_sd_deg is not None


def test_widths(client: Client) -> None:
    # civinnovate.com, worked solutions of surveying (published/estimate_examples.csv, width-75): printed to 0.01 m.
    bearings = {"base_azimuth": 90, "start_bearing": "N 38 E", "end_bearing": 338}
    width = client.widths.find("two_bearings", base_m=75, **bearings)
    assert isinstance(width, Width)
    assert width.from_start_m == pytest.approx(80.30, abs=0.005)
    assert width.width_m == pytest.approx(80.30 * math.sin(math.radians(52)), abs=0.005)
    paced = client.widths.find("walked_angle", base_paces=31, paces_per_100_m=62, walked_angle="26_34")
    assert (paced.base_m, paced.width_m) == (50.0, 25.0)


def test_heights(client: Client) -> None:
    # Boy Scouts of America, "Handbook for Boys", 1911 (the same, shadow-150): a shadow of 150 beside a stick of 10 with 15.
    height = client.heights.find(
        "shadow", shadow_m=150, stick_m=10, stick_shadow_m=15, shadow_sd_m=0, stick_sd_m=0
    )
    assert isinstance(height, Height)
    assert (height.height_m, height.height_sd_m, height.distance_m) == (100.0, 0.0, 150.0)
    slope = client.heights.find(
        "top_and_base", distance_m=42, top_deg=38, base_deg=7, distance_along_ground=True, eye_height_m=0
    )
    assert slope.height_m == pytest.approx(
        27.451, abs=0.0005
    )  # algebra.com, question 842397 (the same, mound-42)


def test_mil_relations(client: Client) -> None:
    # US Army TM 9-1240-407-12&P, range determination: 10 m at 20 mils are 500 m.
    solved = client.mil_relations.solve(width_m=10, angle=20)
    assert isinstance(solved, MilRelation)
    assert solved.rule_of_thumb.distance_m == 500.0
    assert solved.found == "distance_m"
    assert client.mil_relations.solve(distance_m=500, angle=20, unit="mrad").width_m == pytest.approx(
        10, abs=0.001
    )


def test_travel_times(client: Client) -> None:
    # Army task 071-329-1006 (published/handbook_examples.csv, pace-rate): 3,000 m in an hour.
    solved = client.travel_times.solve(distance_m=3000, time_min=60)
    assert isinstance(solved, TravelTime)
    assert (solved.found, solved.speed_km_per_h, solved.paces) == ("speed_km_per_h", 3.0, None)
    assert client.travel_times.solve(time_min=10, paces_per_min=60, paces_per_100_m=60).distance_m == 1000.0


def test_gradients(client: Client) -> None:
    # Army Engineer subcourse EN5622 (published/handbook_examples.csv, slope-calc-90-500): 90 m over 500 m is 18 per cent.
    gradient = client.gradients.find("rise", rise_m=-90, ground_m=500)
    assert isinstance(gradient, Gradient)
    assert (gradient.gradient_percent, gradient.gradient_sd_percent) == (-18.0, None)
    line = client.gradients.find("crossings", crossings=[(0, 840), (2.5, 820), (3.6, 800)], scale="1:25,000")
    assert (line.steepest.from_mm, line.steepest.to_mm) == (2.5, 3.6)


def test_sight_lines(client: Client) -> None:
    # US Army Engineer subcourse EN0593, figure 2-8 (published/estimate_examples.csv, obstruction-14): 288.3 - 289.7 m.
    profile = [(0, 293), (800, 93), (7200, 93), (8000, 294), (8600, 93), (13_400, 93), (14_000, 298)]
    sight = client.sight_lines.check(
        profile, height_sd_m=0, refraction_k_sd=0, observer_height_m=0, target_height_m=0, refraction_k=0.14
    )
    assert isinstance(sight, SightLine)
    assert (sight.verdict, sight.visible, sight.margin_sd) == ("not_visible", False, None)
    assert sight.clearance_m == pytest.approx(-1.4, abs=0.1)
    assert sight.dead_ground[0].from_m < 8000 < sight.dead_ground[-1].to_m
    placed = client.sight_lines.check(profile, contour_interval_m=10, position=LatLon(60, 15), azimuth_deg=90)
    assert placed.radius_m > sight.radius_m


@pytest.mark.parametrize("pair", [(0,), (0, 1, 2), 5, None], ids=repr)
def test_what_is_no_pair_is_an_error_of_the_client(client: Client, pair: object) -> None:
    with pytest.raises(ArgumentError, match=r"profile\[1\] is no pair of distance_m and height_m"):
        client.sight_lines.check([(0, 10), pair], height_sd_m=0)


def test_a_place_out_of_an_answer_is_a_position(client: Client) -> None:
    read = client.positions.read("33V VE 123 678")
    line = client.lines.between(read, client.rays.follow(read, 45, "grid", 1000).position)
    assert line.distance_m == pytest.approx(1000.0, abs=0.001)
    assert line.grid_azimuth_deg == pytest.approx(45.0, abs=0.0001)
    assert isinstance(line.from_, ReadPlace)
    again = client.positions.read(read.utm)
    assert (again.mgrs, again.lat_deg, again.lon_deg) == ("33VVE1235067850", read.lat_deg, read.lon_deg)


def test_polar_places(client: Client) -> None:
    # DMA TM 8358.2, table 3-7, item 1: last digits 0.01 m; degrees to 1e-12.
    read = client.positions.read(LatLon(84.287233888889, -132.247989166667))
    assert read.utm is None
    assert read.ups.easting_m == pytest.approx(1530125.78, abs=0.0051)
    assert read.ups.northing_m == pytest.approx(2426773.60, abs=0.0051)
    assert client.positions.read(read.ups).mgrs == read.mgrs
    assert client.positions.read(Ups("north", 2_000_000, 2_000_000)).lat_deg == 90.0


def test_a_utm_position_is_never_taken_for_a_polar_one(client: Client) -> None:
    assert client.positions.read(Utm(1, "south", 500_000, 9_000_000, datum="WGS84")).form == "utm"


@pytest.mark.parametrize("date", ["2026-11-25", datetime.date(2026, 11, 25)])
def test_dates_are_texts_or_dates(client: Client, date: str | datetime.date) -> None:
    assert client.norths.at("33V VE 123 678", date).date == datetime.date(2026, 11, 25)


def test_working_and_the_answers_text(client: Client) -> None:
    read = client.positions.read("33V VE 123 678", working=True)
    assert read.working
    assert json.loads(read.raw_json)["working"] == list(read.working)
    assert "raw_json" not in repr(read)
    assert read == client.positions.read("33VVE123678", working=True)
    assert hash(read) == hash(client.positions.read("33VVE123678", working=True))


def test_answers_can_be_pickled_and_are_frozen(client: Client) -> None:
    fix = client.intersections.fix([SightFrom("33V VE 12 65", 52), SightFrom("33V VE 17 64", 331)], "grid")
    assert pickle.loads(pickle.dumps(fix)) == fix  # noqa: S301 - made here
    with pytest.raises(dataclasses.FrozenInstanceError):
        fix.crossing_angle_deg = 90.0


def test_the_service_says_its_version_and_that_it_is_ready(client: Client) -> None:
    assert client.service.version() == threenorths.__version__
    assert client.service.ready() is True


def test_a_position_as_an_object_of_its_members(client: Client) -> None:
    read = client.positions.read({"lat_deg": -44.05, "lon_deg": 169.4})
    assert (read.lat_deg, read.lon_deg) == (-44.05, 169.4)


@pytest.mark.parametrize("sight", [("33V VK 1234 8012", 37), SightTo("33V VK 1234 8012", 37), None], ids=repr)
def test_what_is_no_sight_is_an_error_of_the_client(client: Client, sight: object) -> None:
    with pytest.raises(ArgumentError, match=r"sights\[0\] is no SightFrom"):
        client.intersections.fix([sight, sight], "true")


def test_a_fix_has_its_covariance(client: Client) -> None:
    sights = [SightFrom("33V VK 1234 8012", 40, 1), SightFrom("33V VK 1745 8065", 275, 1)]
    fix = client.intersections.fix(sights, "true")
    variance = fix.covariance_m2.north_north + fix.covariance_m2.east_east
    # The trace of a covariance is the sum of the squares of its ellipse's half-axes, here 2.4477 times as long.
    assert variance == pytest.approx(
        (fix.ellipse.semi_major_m**2 + fix.ellipse.semi_minor_m**2) / 2.447747**2, rel=1e-3
    )


def test_a_feature_is_the_answer_with_its_shape(client: Client) -> None:
    feature = client.positions.feature("33V VE 123 678")
    assert feature["type"] == "Feature"
    assert feature["properties"]["mgrs"] == client.positions.read("33V VE 123 678").mgrs
    corners = threenorths.SheetCorners("58.25 N 13.25 E", "58.5 N 13.75 E")
    assert client.sheets.feature(Sheet(corners=corners))["geometry"]["type"] == "Polygon"
    with pytest.raises(threenorths.NoAnswerError):
        client.positions.feature("nowhere")


def test_places_are_read_on_a_sheet_and_near_a_place(client: Client) -> None:
    sheet = Sheet(
        datum="ED50",
        grid=threenorths.SheetGrid(zone=33, hemisphere="north"),
        corners=threenorths.SheetCorners(LatLon(58.25, 13.25), LatLon(58.5, 13.75)),
    )
    read = client.positions.read("123 678", sheet=sheet, near="33V VE 145 662", reach_m=10_000)
    assert read.shift is not None
    assert read.local is not None
    assert (read.shift.datum, read.local.reference) == ("ED50", "33V VE 123 678")
    with pytest.raises(threenorths.NoAnswerError, match="the same"):
        client.lines.between("123 678", read, sheet=sheet)
    with pytest.raises(ArgumentError, match="there is no option dattum"):
        client.positions.read("123 678", dattum="ED50")  # type: ignore[call-arg]  # the slip under test


def test_a_sheet_is_checked(client: Client) -> None:
    corners = threenorths.SheetCorners("58.25 N 13.25 E", "58.5 N 13.75 E")
    sheet = Sheet(scale="1:50000", corners=corners, declination_deg=1.0, year=1988, annual_change_deg=0.05)
    checked = client.sheets.check(sheet, "2026-11-25")
    assert checked.carried is not None
    assert checked.carried.by_sheet is not None
    assert checked.carried.by_sheet.angle_deg == pytest.approx(1.0 + 0.05 * checked.carried.years, abs=1e-3)
    assert "sheet_change_disagrees" in {caution.code for caution in checked.cautions}


def test_a_walk_is_reckoned(client: Client) -> None:
    legs = [threenorths.Leg(bearing=90, distance_m=300), threenorths.Leg(bearing=0, distance_m=400)]
    walk = client.reckonings.walk(plane(0, 0), legs, "grid", end=plane(300, 400))
    assert walk.closure is not None
    assert walk.closure.misclosure.distance_m < 0.5
    assert len(walk.closure.corrected_bearings_deg) == len(walk.legs) == 2


def test_a_compass_is_checked(client: Client) -> None:
    # US Army, soldier's task "Convert azimuths": magnetic 190 with an easterly G-M angle of 9 degrees is grid 199.
    readings = [
        threenorths.KnownReading(reading=192, known_azimuth=199),
        threenorths.KnownReading(reading=102, known_azimuth=109, reading_sd_deg=0.5),
    ]
    check = client.compass_checks.find(
        readings, "magnetic", known_north="grid", grid_magnetic_angle_deg=9, reading_sd_deg=1
    )
    assert isinstance(check, threenorths.CompassCheck)
    assert check.error_deg == 2.0
    assert [reading.known_azimuth_deg for reading in check.readings] == [190.0, 100.0]
    # With the half degree of a protractor.
    assert [reading.sd_deg for reading in check.readings] == pytest.approx([1.25**0.5, 0.5**0.5], abs=1e-4)
    assert check.deviation is None
    assert check.without_suspect is None
    with pytest.raises(ArgumentError, match=r"readings\[0\] is no KnownReading"):
        client.compass_checks.find([(192, 199)], "magnetic")  # type: ignore[list-item]


def test_a_compass_is_checked_by_a_mark_and_a_shadow(client: Client) -> None:
    moment = datetime.datetime(2026, 7, 1, 7, tzinfo=datetime.timezone(datetime.timedelta(hours=2)))
    place, mark = LatLon(47.5, 11.1), LatLon(47.52, 11.13)
    sky = client.sky_bearings.at("sun", place, moment, "shadow")
    line = client.lines.between(place, mark, date=moment.date())
    assert line.magnetic_azimuth_deg is not None
    readings = [
        threenorths.KnownReading(reading=sky.magnetic_azimuth_deg, body="sun", moment=moment, part="shadow"),
        threenorths.KnownReading(reading=line.magnetic_azimuth_deg, to=mark),
    ]
    check = client.compass_checks.find(readings, "magnetic", position=place)
    assert check.error_deg == pytest.approx(0.0, abs=1e-3)
    assert check.date == moment.date()
    assert check.cautions[0].code == "never_look_at_the_sun"
    late = client.compass_checks.find(readings, "magnetic", position=place, watch_sd_s=600)
    assert late.readings[0].sd_deg > check.readings[0].sd_deg


def test_local_attraction_is_found(client: Client) -> None:
    # A worked example of plane surveying, an open traverse: see published/local_attraction_examples.csv, open-44.
    legs = [("44 40", "225 20"), ("96 20", "274 18"), ("30 40", "212 02"), ("320 12", "140 12")]
    found = client.local_attractions.find(legs, sd_deg=1 / 60, working=True)
    assert isinstance(found, threenorths.LocalAttraction)
    corrected = [44 + 40 / 60, 95 + 40 / 60, 32 + 2 / 60, 320 + 12 / 60]
    assert [leg.corrected_deg for leg in found.legs] == pytest.approx(corrected, abs=5.1e-5)
    assert [station.affected for station in found.stations] == [False, True, True, False, False]
    assert found.stations[0].angle_deg is None
    assert found.misclosure_deg is None
    assert found.working
    ring = client.local_attractions.find([(10, 190), (130, 310), (250, 71)], closed=True, sd_deg=1)
    assert ring.misclosure_deg == -1.0
    with pytest.raises(ArgumentError, match=r"legs\[1\] is no pair"):
        client.local_attractions.find([(10, 190), 50])  # type: ignore[list-item]


def test_sky_bearings(client: Client) -> None:
    # I. Reda and A. Andreas, Solar Position Algorithm, NREL/TP-560-34302, table A5.1: azimuth 194.340241, printed for
    # 12:30:30 at seven hours west of UTC; 0.0005 as in published/sky_examples.csv.
    west = datetime.timezone(datetime.timedelta(hours=-7))
    moment = datetime.datetime(2003, 10, 17, 12, 30, 30, tzinfo=west)
    sun = client.sky_bearings.at("sun", LatLon(39.742476, -105.1786), moment, height_m=1830.14)
    assert isinstance(sun, threenorths.SkyBearing)
    assert sun.true_azimuth_deg == pytest.approx(194.340241, abs=0.0005)
    assert sun.moment == moment
    assert sun.moment.utcoffset() == moment.utcoffset()
    assert sun.cautions[0].code == "never_look_at_the_sun"
    by_text = client.sky_bearings.at(
        "sun", LatLon(39.742476, -105.1786), "2003-10-17T19:30:30Z", height_m=1830.14
    )
    assert by_text.true_azimuth_deg == sun.true_azimuth_deg


def test_twilights(client: Client) -> None:
    # US Naval Observatory, Washington, 5 March 2024: sunset 23:06 and civil dusk 23:32 UTC, as in
    # published/sky_examples.csv; printed to a minute.
    start = datetime.datetime(2024, 3, 5, 20, tzinfo=datetime.UTC)
    light = client.twilights.over(LatLon(38.889444, -77.035278), start, hours=4, step_min=120)
    assert isinstance(light, threenorths.Twilights)
    events = {each.event: each.moment for each in light.events}
    for event, minute in (("sunset", 6), ("civil_dusk", 32)):
        off = events[event] - datetime.datetime(2024, 3, 5, 23, minute, tzinfo=datetime.UTC)
        assert abs(off) <= datetime.timedelta(seconds=36)
    assert [step.moment.hour for step in light.steps] == [20, 22, 0]
    assert light.steps[0].moonlight is None
    assert light.steps[2].moonlight == "none"


@pytest.mark.parametrize("moment", [datetime.datetime(2026, 7, 1, 7), datetime.date(2026, 7, 1), 7], ids=repr)
def test_a_moment_without_an_offset_is_an_error_of_the_client(client: Client, moment: object) -> None:
    with pytest.raises(ArgumentError, match="moment is no moment with its offset"):
        client.sky_bearings.at("sun", "33V VK 12345 67890", moment)  # type: ignore[arg-type]


def test_a_place_is_fixed_from_any_observations(client: Client) -> None:
    observations = [
        threenorths.BearingTo(plane(3000, 4000), 36.87),
        threenorths.BearingFrom(plane(0, -2000), 0.0),
        threenorths.DistanceTo(plane(3000, 4000), 5002, 20),
        threenorths.AngleBetween(plane(-4000, 0), plane(3000, 4000), 126.87),
        threenorths.LineStoodOn([plane(-500, 0), plane(500, 0)]),
    ]
    fixed = client.fixes.find(observations, "grid", sd_deg=0.2, regions=True)
    utm = fixed.places[0].position.utm
    assert utm is not None
    assert (utm.easting_m, utm.northing_m) == pytest.approx((500_000, 4_000_000), abs=10)
    assert len(fixed.regions) == 3
    assert [each.kind for each in fixed.places[0].observations] == [
        "bearing_to", "bearing_from", "distance", "angle", "line"
    ]  # fmt: skip
    with pytest.raises(ArgumentError, match=r"observations\[0\]"):
        client.fixes.find([("33V VK 1 6", 3)])  # type: ignore[list-item]


def test_areas_are_searched(client: Client) -> None:
    river = {"type": "LineString", "coordinates": [[13.36, 62.7], [13.37, 62.93], [13.36, 63.2]]}
    arguments = {
        "greatest_m": 8000.0,
        "not_crossed": [river],
        "sides": [threenorths.Side(river, LatLon(62.9, 13.3))],
    }
    found = client.search_areas.find(LatLon(62.93, 13.32), **arguments)
    assert found.outer_bound is not None
    assert found.outer_bound.bbox[2] < 13.372
    collection = client.search_areas.feature(LatLon(62.93, 13.32), **arguments)
    assert [feature["properties"]["share"] for feature in collection["features"]] == [0.5, 0.75, 0.95, None]
