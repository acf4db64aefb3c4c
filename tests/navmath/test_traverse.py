import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import NoLegsError, OutOfRangeError, WalkUnclosableError
from threenorths_service.navmath.lines.geodesic import direct, inverse
from threenorths_service.navmath.lines.leg import Leg
from threenorths_service.navmath.lines.line import line_between
from threenorths_service.navmath.lines.misclosure import CHI_SQUARE_95, compass_rule_shares
from threenorths_service.navmath.lines.reckoning import reckon
from threenorths_service.navmath.lines.reckoning_errors import ReckoningErrors
from threenorths_service.navmath.lines.traverse import close

YEAR = 2026.9
START = (60.2, 9.1)
START_M2, END_M2 = np.diag([400.0, 900.0]), np.array([[250.0, 100.0], [100.0, 200.0]])
LINK = [
    Leg(40.0, 900.0, "magnetic", measured_by="paces"),
    Leg(100.0, 600.0, "grid", measured_by="time"),
    Leg(20.0, 1100.0, "true", measured_by="paces"),
    Leg(250.0, 500.0, "magnetic", back=True, measured_by="paces"),
]
LOOP = [Leg(bearing, 800.0) for bearing in (10.0, 85.0, 190.0, 265.0)]

azimuths = st.floats(0.0, 360.0, exclude_max=True)
legs_of_any_kind = st.lists(
    st.builds(Leg, azimuths, st.floats(10.0, 3000.0), st.sampled_from(["true", "grid", "magnetic"])),
    min_size=1,
    max_size=5,
)


def last(reckoning):
    return float(reckoning.walk.lat_deg[-1]), float(reckoning.walk.lon_deg[-1])


def aside(place, azimuth_deg, distance_m):
    return tuple(float(value) for value in direct(*place, azimuth_deg, distance_m)[:2])


def codes(closure):
    return [caution.code for caution in closure.cautions]


def offsets(from_lat, from_lon, to_lat, to_lon):
    """North and east of places from others. [metre]"""
    azimuth_deg, _, distance_m = inverse(from_lat, from_lon, to_lat, to_lon)
    return np.stack(
        [distance_m * np.cos(np.radians(azimuth_deg)), distance_m * np.sin(np.radians(azimuth_deg))], axis=-1
    )


@given(st.tuples(st.floats(-75.0, 75.0), st.floats(-180.0, 180.0, exclude_max=True)), legs_of_any_kind)
def test_a_walk_without_misclosure_is_not_changed(start, legs):
    reckoning = reckon(*start, legs, decimal_year=YEAR)
    closure = close(reckoning, *last(reckoning))
    assert closure.misclosure.distance_m == 0.0
    assert closure.misclosure.true_azimuth_deg is None
    assert closure.misclosure.one_in is None
    assert closure.misclosure.explained
    assert closure.variance_factor == 1.0
    for adjusted in (closure.adjusted, closure.best):
        moved_m = inverse(adjusted.lat_deg, adjusted.lon_deg, reckoning.walk.lat_deg, reckoning.walk.lon_deg)[
            2
        ]
        assert np.max(moved_m) < 1e-7
    for leg, bearing_deg in zip(legs, closure.corrected_bearing_deg, strict=True):
        assert abs((bearing_deg - leg.bearing_deg + 180.0) % 360.0 - 180.0) < 1e-6
    if closure.explanation is not None:
        assert abs(closure.explanation.compass_error_deg) < 1e-9
        assert abs(closure.explanation.length_error_ratio) < 1e-9


def test_the_misclosure_points_from_the_known_end_to_where_the_legs_lead():
    reckoning = reckon(*START, LINK, decimal_year=YEAR)
    end = aside(last(reckoning), 120.0, 80.0)
    missed = close(reckoning, *end).misclosure
    assert missed.distance_m == pytest.approx(80.0, abs=1e-6)
    assert missed.true_azimuth_deg == pytest.approx(300.0, abs=0.01)
    assert missed.north_m == pytest.approx(80.0 * math.cos(math.radians(300.0)), abs=0.02)
    assert missed.east_m == pytest.approx(80.0 * math.sin(math.radians(300.0)), abs=0.02)
    assert missed.one_in == pytest.approx(3100.0 / 80.0, rel=1e-6)


def test_the_compass_rule_moves_each_place_by_its_share_of_the_length():
    reckoning = reckon(*START, LINK, decimal_year=YEAR)
    end = aside(last(reckoning), 120.0, 80.0)
    adjusted = close(reckoning, *end).adjusted
    azimuth_deg, _, moved_m = inverse(
        reckoning.walk.lat_deg, reckoning.walk.lon_deg, adjusted.lat_deg, adjusted.lon_deg
    )
    assert moved_m == pytest.approx(80.0 * np.array([0, 900, 1500, 2600, 3100]) / 3100.0, abs=1e-6)
    # Each from its own north, which is turned by up to 0.023 degree from that at the end.
    assert azimuth_deg[1:] == pytest.approx(120.0, abs=0.03)
    assert float(inverse(adjusted.lat_deg[-1], adjusted.lon_deg[-1], *end)[2]) < 1e-6
    assert compass_rule_shares(np.array([1.0, 0.0, 3.0])).tolist() == [0.0, 0.25, 0.25, 1.0]


def test_corrected_legs_lead_from_the_start_to_the_known_end():
    reckoning = reckon(*START, LINK, decimal_year=YEAR)
    end = aside(last(reckoning), 120.0, 80.0)
    closure = close(reckoning, *end)
    corrected = [
        Leg(bearing, float(length), leg.north, leg.back)
        for leg, bearing, length in zip(
            LINK, closure.corrected_bearing_deg, closure.legs.distance_m, strict=True
        )
    ]
    again = reckon(*START, corrected, decimal_year=YEAR)
    assert float(inverse(*last(again), *end)[2]) < 1e-5


@pytest.mark.parametrize(("compass_deg", "ratio"), [(5.0, 0.04), (-3.0, -0.1), (0.0, 0.05), (4.0, 0.0)])
def test_the_compass_and_the_pace_error_that_explain_a_misclosure(compass_deg, ratio):
    # The walker's bearings are too great and lengths too long by so much; the end is where the legs really led.
    true = [Leg(bearing, length) for bearing, length in ((40.0, 900.0), (100.0, 600.0), (20.0, 1100.0))]
    told = [Leg(leg.bearing_deg + compass_deg, leg.length_m * (1.0 + ratio)) for leg in true]
    explanation = close(reckon(*START, told), *last(reckon(*START, true))).explanation
    # On the ellipsoid the norths along two walks that are 400 m apart differ by up to 0.006 degree.
    assert explanation.compass_error_deg == pytest.approx(compass_deg, abs=0.003)
    assert explanation.length_error_ratio == pytest.approx(ratio, abs=1e-4)


def test_what_would_explain_a_misclosure_is_credible_or_not():
    true = [Leg(bearing, 800.0) for bearing in (40.0, 60.0, 20.0, 40.0)]
    end = last(reckon(*START, true))

    def closed(compass_deg, ratio):
        told = [Leg(leg.bearing_deg + compass_deg, leg.length_m * (1.0 + ratio)) for leg in true]
        return close(reckon(*START, told), *end)

    plain, turned, long = closed(2.0, 0.05), closed(-12.0, 0.05), closed(2.0, 0.4)
    assert plain.explanation.compass_error_credible
    assert plain.explanation.length_error_credible
    assert codes(plain) == []
    assert not turned.explanation.compass_error_credible
    assert turned.explanation.length_error_credible
    assert codes(turned) == ["misclosure_unexplained", "large_compass_error", "correction_not_credible"]
    assert long.explanation.compass_error_credible
    assert not long.explanation.length_error_credible


def test_standard_deviations_of_what_explains_are_those_of_the_legs_own_errors():
    legs = [Leg(40.0, 1000.0)] * 4
    reckoning = reckon(*START, legs)
    explanation = close(reckoning, *last(reckoning), END_M2).explanation
    angle = math.radians(40.0)
    across, along = (
        np.array([-math.sin(angle), math.cos(angle)]),
        np.array([math.cos(angle), math.sin(angle)]),
    )
    turn_m = math.sqrt(4 * (1000.0 * math.radians(3.0)) ** 2 + across @ END_M2 @ across)
    ratio_m = math.sqrt(4 * 30.0**2 + along @ END_M2 @ along)
    assert explanation.compass_error_sd_deg == pytest.approx(math.degrees(turn_m / 4000.0), rel=1e-3)
    assert explanation.length_error_sd_ratio == pytest.approx(ratio_m / 4000.0, rel=3e-3)


def test_a_loop_does_not_tell_the_errors_that_all_legs_share():
    reckoning = reckon(*START, LOOP, start_covariance_m2=START_M2)
    closure = close(reckoning, *START)
    assert closure.loop
    assert closure.explanation is None
    # Nor does a walk whose ends are near each other for what its legs may be off.
    nearly = close(reckoning, *aside(START, 50.0, 60.0))
    assert not nearly.loop
    assert nearly.explanation is None


def test_the_error_of_a_loop_s_start_stays_in_all_its_places():
    known, unsure = (
        close(reckon(*START, LOOP, start_covariance_m2=covariance), *START, END_M2)
        for covariance in (None, START_M2)
    )
    assert unsure.misclosure.covariance_m2 == pytest.approx(known.misclosure.covariance_m2)
    for one, other in ((unsure.adjusted, known.adjusted), (unsure.best, known.best)):
        assert one.covariance_m2[0] == pytest.approx(START_M2)
        difference = one.covariance_m2 - other.covariance_m2
        assert difference == pytest.approx(np.broadcast_to(START_M2, (5, 2, 2)), rel=2e-3, abs=0.2)


def test_between_known_ends_the_ellipse_is_smaller_than_reckoned():
    reckoning = reckon(*START, LINK, start_covariance_m2=START_M2, decimal_year=YEAR)
    closure = close(reckoning, *last(reckoning), END_M2)
    best = closure.best.ellipse.semi_major_m
    assert (best[:-1] < reckoning.ellipse.semi_major_m[:-1]).all()
    assert closure.adjusted.covariance_m2[-1] == pytest.approx(END_M2, rel=2e-3)
    # Least squares is the best of all that is linear in the misclosure, the compass rule one of these.
    excess = np.linalg.eigvalsh(closure.adjusted.covariance_m2 - closure.best.covariance_m2)
    assert np.min(excess) > -1e-9
    assert np.max(excess) > 100.0


def by_generalised_least_squares(legs, errors, end):
    """Adjusted places and their covariances by another way: all errors as one vector, derivatives by differences."""
    count = len(legs)
    sds = np.concatenate(
        [
            np.sqrt(np.diag(START_M2)),
            np.full(count, errors.heading_sd_deg),
            np.full(count, errors.length_sd_ratio),
            [errors.compass_sd_deg, errors.scale_sd_ratio],
        ]
    )

    def places(values):
        place = aside(START, math.degrees(math.atan2(values[1], values[0])), math.hypot(*values[:2]))
        found = [place]
        for index, leg in enumerate(legs):
            bearing = leg.bearing_deg - values[2 + index] - values[-2]
            length = leg.length_m * (1.0 - values[2 + count + index] - values[-1])
            place = aside(place, bearing, length)
            found.append(place)
        return np.array(found)

    plain = places(np.zeros(len(sds)))
    columns = []
    for index, sd in enumerate(sds):
        step = np.zeros(len(sds))
        step[index] = 1e-3 * sd
        moved = places(step)
        columns.append(offsets(*plain.T, *moved.T) / 1e-3)
    influence = np.stack(columns, axis=2)
    gap = offsets(*plain[-1], *end)
    gain = influence[-1].T @ np.linalg.inv(influence[-1] @ influence[-1].T + END_M2)
    covariance = influence @ (np.eye(len(sds)) - gain @ influence[-1]) @ np.swapaxes(influence, 1, 2)
    return influence @ gain @ gap, covariance, plain


def test_least_squares_agrees_with_another_way_to_it():
    # The errors are so small that nothing of the second order is left, and the start's and the end's with them.
    legs = [Leg(bearing, 900.0) for bearing in (40.0, 100.0, 20.0, 300.0)]
    errors = ReckoningErrors(0.3, 0.2, 0.003, 0.005)
    reckoning = reckon(*START, legs, errors=errors, start_covariance_m2=START_M2)
    end = aside(last(reckoning), 200.0, 8.0)
    best = close(reckoning, *end, END_M2).best
    shifts, covariance, plain = by_generalised_least_squares(legs, errors, end)
    assert offsets(*plain.T, best.lat_deg, best.lon_deg) == pytest.approx(shifts, abs=2e-3)
    assert best.covariance_m2 == pytest.approx(covariance, rel=2e-3, abs=0.2)


def drawn_closures(legs, loop, count, seed):
    """Closures of walks that really led along ``legs``, each told with errors; with the places that they led over."""
    rng, errors = np.random.default_rng(seed), ReckoningErrors()
    truth = reckon(*START, legs).walk
    for _ in range(count):
        compass, scale = rng.normal(0.0, errors.compass_sd_deg), rng.normal(0.0, errors.scale_sd_ratio)
        told = [
            Leg(
                leg.bearing_deg + compass + rng.normal(0.0, errors.heading_sd_deg),
                leg.length_m * (1.0 + scale + rng.normal(0.0, errors.length_sd_ratio)),
            )
            for leg in legs
        ]
        north, east = rng.multivariate_normal([0.0, 0.0], START_M2)
        start = aside(START, math.degrees(math.atan2(east, north)), math.hypot(north, east))
        end = start
        if not loop:
            north, east = rng.multivariate_normal([0.0, 0.0], END_M2)
            at = (truth.lat_deg[-1], truth.lon_deg[-1])
            end = aside(at, math.degrees(math.atan2(east, north)), math.hypot(north, east))
        yield truth, close(reckon(*start, told, start_covariance_m2=START_M2), *end, END_M2)


TRUE_LINK = [Leg(bearing, 800.0) for bearing in (40.0, 100.0, 20.0, 60.0)]
_LOOP_END = reckon(*START, LOOP[:3])
_HOME = line_between(*last(_LOOP_END), *START)
TRUE_LOOP = [*LOOP[:3], Leg(float(_HOME.true_azimuth_deg), float(_HOME.distance_m))]


@pytest.mark.parametrize(("legs", "loop"), [(TRUE_LINK, False), (TRUE_LOOP, True)], ids=["link", "loop"])
def test_adjusted_ellipses_hold_95_per_cent_of_2000_walks_and_as_many_misclosures_are_explained(legs, loop):
    inside = {"adjusted": np.zeros(len(legs) + 1), "best": np.zeros(len(legs) + 1)}
    explained, count = 0, 2000
    for truth, closure in drawn_closures(legs, loop, count, seed=21):
        assert closure.loop is loop
        explained += closure.misclosure.explained
        for name, found in inside.items():
            places = getattr(closure, name)
            off = offsets(places.lat_deg, places.lon_deg, truth.lat_deg, truth.lon_deg)[:, :, None]
            # A widened covariance is for those 5 in 100 that are not explained: here all are as stated.
            covariance = places.covariance_m2 / closure.variance_factor
            squares = np.sum(off * np.linalg.solve(covariance, off), axis=(1, 2))
            found += squares <= CHI_SQUARE_95
    assert 0.93 <= explained / count <= 0.97
    for name in inside:
        assert (inside[name] >= 0.93 * count).all(), (name, inside[name])
        assert (inside[name] <= 0.97 * count).all(), (name, inside[name])


def test_a_misclosure_that_is_not_explained_widens_the_ellipses_and_is_cautioned():
    reckoning = reckon(*START, LINK, decimal_year=YEAR)
    near, far = (close(reckoning, *aside(last(reckoning), 50.0, off_m), END_M2) for off_m in (50.0, 1500.0))
    assert near.misclosure.explained
    assert near.variance_factor == 1.0
    assert not far.misclosure.explained
    assert far.misclosure.chi_square > CHI_SQUARE_95
    assert far.variance_factor == far.misclosure.chi_square / 2.0
    widened = far.best.ellipse.semi_major_m[1] / near.best.ellipse.semi_major_m[1]
    assert widened == pytest.approx(math.sqrt(far.variance_factor), rel=1e-6)
    assert "misclosure_unexplained" in codes(far)
    assert "reckoned_only" not in codes(near)


def test_where_the_compass_rule_is_much_worse_than_least_squares_it_says_so():
    # Half of the way was groped in the dark, far less sure than the other: the rule moves both halves alike.
    legs = [Leg(40.0, 1000.0), Leg(40.0, 1000.0, heading_sd_deg=10.0, length_sd_ratio=0.2)]
    even, uneven = (reckon(*START, walked) for walked in ([legs[0]] * 2, legs))
    assert "compass_rule_coarse" not in codes(close(even, *last(even)))
    closure = close(uneven, *last(uneven))
    assert "compass_rule_coarse" in codes(closure)
    assert closure.adjusted.ellipse.semi_major_m[1] > 1.3 * closure.best.ellipse.semi_major_m[1]


def test_an_end_that_the_walk_cannot_reach_is_a_named_error():
    reckoning = reckon(*START, LINK, decimal_year=YEAR)
    with pytest.raises(WalkUnclosableError) as raised:
        close(reckoning, *aside(last(reckoning), 50.0, 3200.0))
    assert raised.value.member == "end"
    # A start known to a kilometre explains a misclosure that is longer than the walk.
    short = reckon(*START, [Leg(0.0, 10.0)], start_covariance_m2=290.0**2 * np.eye(2))
    assert close(short, *aside(START, 90.0, 400.0)).misclosure.explained


def test_halts_alone_cannot_be_closed():
    reckoning = reckon(*START, [Leg(0.0, 0.0)])
    with pytest.raises(NoLegsError) as raised:
        close(reckoning, *START)
    assert raised.value.member == "legs"


def test_the_bearing_of_a_halt_is_not_corrected():
    legs = [Leg(40.0, 900.0), Leg(10.0, 0.0), Leg(100.0, 600.0)]
    reckoning = reckon(*START, legs)
    closure = close(reckoning, *aside(last(reckoning), 120.0, 80.0))
    assert [bearing is None for bearing in closure.corrected_bearing_deg] == [False, True, False]


@pytest.mark.parametrize(
    ("end", "covariance", "member"),
    [
        ((91.0, 0.0), None, "end_lat_deg"),
        ((0.0, math.nan), None, "end_lon_deg"),
        ((60.2, 9.1), [[1.0, 0.0], [0.0, math.nan]], "end_covariance_m2"),
        ((60.2, 9.1), [1.0, 1.0], "end_covariance_m2"),
    ],
)
def test_no_end_is_a_named_error(end, covariance, member):
    with pytest.raises(OutOfRangeError) as raised:
        close(reckon(*START, LOOP), *end, covariance)
    assert raised.value.member == member


def test_a_loop_over_a_pole_and_the_antimeridian_closes():
    for start in ((89.999, 30.0), (-89.999, -120.0), (-17.0, 179.999)):
        legs = [Leg(bearing, 800.0, "grid") for bearing in (10.0, 100.0, 190.0, 280.0)]
        closure = close(reckon(*start, legs), *start)
        # Equal lengths on the ellipsoid are not quite a square on the grid; a misclosure under a millimetre is none.
        assert closure.misclosure.distance_m < 0.01
        assert closure.loop
        assert float(inverse(closure.adjusted.lat_deg[-1], closure.adjusted.lon_deg[-1], *start)[2]) < 1e-3
