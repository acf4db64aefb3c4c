import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.errors import OutOfRangeError
from threenorths_service.navmath.estimates.gradient import height_sd_from_contours
from threenorths_service.navmath.estimates.sight_line import (
    BLOCKED_SD,
    CLEAR_SD,
    HEIGHT_CORRELATION_M,
    Verdict,
    sight_line,
)
from threenorths_service.navmath.estimates.terrain_profile import MEAN_RADIUS_M, REFRACTION_K

TRUE = {"height_sd_m": 0, "refraction_k_sd": 0}
BEND = (1 - REFRACTION_K) / (2 * MEAN_RADIUS_M)

profiles = st.lists(st.floats(0, 200), min_size=2, max_size=10)


def uneven(heights):
    """Distances of the points of a profile of 15 km, further and further apart."""
    return 15_000 * np.linspace(0, 1, len(heights)) ** 1.5


above = st.floats(0, 50)


def brute_clearance(distance, heights, observer, target):
    """The least clearance of many places between, and where: the earth drawn as a parabola, one ray."""
    places = np.linspace(0, distance[-1], 20_001)[1:-1]
    ground = np.interp(places, distance, heights) - BEND * places**2
    end = heights[-1] - BEND * distance[-1] ** 2 + target
    line = heights[0] + observer + (end - heights[0] - observer) * places / distance[-1]
    return np.min(line - ground)


@given(profiles, above, above)
def test_the_clearance_is_the_least_of_many_places(heights, observer, target):
    distance = uneven(heights)
    found = sight_line(distance, heights, observer_height_m=observer, target_height_m=target, **TRUE)
    brute = brute_clearance(distance, heights, observer, target)
    # Two places lie 0.75 m apart, and the ground slopes by less than 200 m in 555 m from one to the other. Where the line is
    # nearest to the ground at an end, that is no obstruction, and the one found stands lower.
    assert found.clearance_m >= brute - 0.3
    if brute < min(observer, target) - 0.3:
        assert found.clearance_m == pytest.approx(brute, abs=0.3)
    assert 0 < found.obstruction_distance_m < 15_000 or len(heights) == 2
    assert found.visible == (found.verdict == Verdict.VISIBLE) or abs(brute) < 0.3


@given(profiles, above, above)
def test_raised_to_the_least_height_either_end_is_just_seen(heights, observer, target):
    distance = uneven(heights)
    found = sight_line(distance, heights, observer_height_m=observer, target_height_m=target, **TRUE)
    for member, given_heights in (
        ("least_target_height_m", (observer, found.least_target_height_m)),
        ("least_observer_height_m", (found.least_observer_height_m, target)),
    ):
        least = getattr(found, member)
        if least <= 999:
            raised = brute_clearance(distance, heights, *(np.array(given_heights) + 1e-6))
            assert raised > -1e-3
            # 20 m lower at an end is 0.7 m at the nearest point to the other end; the places miss a peak by 0.14 m.
            if least > 20:
                lowered = [height - 20 * (height == least) for height in given_heights]
                assert brute_clearance(distance, heights, *lowered) < 0


@given(profiles, above, above)
def test_the_line_is_the_same_from_its_other_end(heights, observer, target):
    distance = uneven(heights)
    there = sight_line(distance, heights, observer_height_m=observer, target_height_m=target, height_sd_m=3)
    turned = distance[-1] - distance[::-1]
    back = sight_line(
        turned, heights[::-1], observer_height_m=target, target_height_m=observer, height_sd_m=3
    )
    assert there.clearance_m == pytest.approx(back.clearance_m, abs=1e-6)
    assert there.margin_sd == pytest.approx(back.margin_sd, rel=1e-6, abs=1e-6)
    assert there.least_target_height_m == pytest.approx(back.least_observer_height_m, abs=1e-6)


def test_two_places_at_sea_level_see_each_other_over_their_two_horizons():
    # The sum of the distances of the two horizons, sqrt(h / c) each.
    reach = np.sqrt(2.0 / BEND) + np.sqrt(30.0 / BEND)
    near, far = (
        sight_line([0, reach + step], [0, 0], observer_height_m=2, target_height_m=30, **TRUE)
        for step in (-0.01, 0.01)
    )
    assert near.visible
    assert not far.visible
    assert near.obstruction_distance_m == pytest.approx(np.sqrt(2.0 / BEND), abs=1)
    assert far.least_target_height_m == pytest.approx(30, abs=1e-4)


def test_a_short_line_with_nothing_between_is_clear_of_its_ends():
    found = sight_line([0, 100], [10, 10], height_sd_m=3)
    assert found.verdict == Verdict.VISIBLE or found.margin_sd > 0
    assert found.least_target_height_m == 0.0


def test_what_lies_between_two_clear_answers_is_told():
    distance, ridge = [0, 1000, 2000, 3000, 4000], [110, 125, 140]
    sd = height_sd_from_contours(20)
    found = sight_line(
        distance,
        [[120, 90, top, 90, 120] for top in ridge],
        height_sd_m=sd,
        observer_height_m=2,
        target_height_m=2,
    )
    assert [Verdict(v) for v in found.verdict] == [
        Verdict.TOO_CLOSE_TO_TELL,
        Verdict.TOO_CLOSE_TO_TELL,
        Verdict.NOT_VISIBLE,
    ]
    assert found.visible.tolist() == [True, False, False]
    clear = sight_line(distance, [120, 90, 95, 90, 120], height_sd_m=sd)
    assert clear.verdict == Verdict.VISIBLE


def test_the_spread_of_a_clearance_counts_the_two_ends_by_nearness():
    # Far apart in units of the correlation length, three heights are independent: 1 + 1/4 + 1/4 of the variance.
    found = sight_line(
        [0, 5000, 10_000], [100, 110, 100], height_sd_m=2, height_correlation_m=10, refraction_k_sd=0
    )
    assert found.obstruction_distance_m == 5000
    assert found.clearance_sd_m == pytest.approx(2 * np.sqrt(1.5), rel=1e-9)


def test_refraction_spreads_a_long_line():
    # The clearance of the middle changes by d^2 / (8 R) for each unit of k.
    found = sight_line([0, 20_000, 40_000], [100, 100, 100], height_sd_m=0, refraction_k_sd=0.05)
    assert found.clearance_sd_m == pytest.approx(0.05 * 40_000**2 / (8 * MEAN_RADIUS_M), rel=1e-3)


@given(profiles, st.floats(0.5, 50), st.floats(0.5, 50), st.floats(0.1, 10))
def test_raised_to_the_sure_height_the_target_is_told_visible(heights, observer, target, height_sd):
    distance = 400.0 * np.arange(len(heights))
    spread = {"height_sd_m": height_sd}
    found = sight_line(distance, heights, observer_height_m=observer, target_height_m=target, **spread)
    # Between neighbouring points 400 m apart the ground is humped by 3 mm, so much may a new nearest place add; ten times
    # so much of it at the far end.
    for eye, top in (
        (observer, found.sure_target_height_m + 0.03),
        (found.sure_observer_height_m + 0.03, target),
    ):
        if max(eye, top) < 1000:
            there = sight_line(distance, heights, observer_height_m=eye, target_height_m=top, **spread)
            assert there.verdict == Verdict.VISIBLE


def test_under_the_sure_height_it_is_not():
    profile = ([0, 1000, 2000, 3000, 4000], [120, 90, 123, 90, 120])
    found = sight_line(*profile, height_sd_m=2)
    assert found.verdict == Verdict.TOO_CLOSE_TO_TELL
    sure = found.sure_target_height_m
    # The ridge is halfway: the target is raised by twice what the line lacks there.
    lacks = CLEAR_SD * found.clearance_sd_m - found.clearance_m
    assert sure == pytest.approx(1.6 + 2 * lacks, abs=0.01)
    assert sight_line(*profile, height_sd_m=2, target_height_m=sure - 0.05).verdict != Verdict.VISIBLE
    assert sight_line(*profile, height_sd_m=2, target_height_m=sure + 0.05).verdict == Verdict.VISIBLE


@pytest.mark.parametrize("length", [5000.0, 500.0])
def test_the_least_height_s_spread_is_that_of_many_trials(length):
    rng = np.random.default_rng(11)
    size = 20_000
    distance = length * np.array([0.0, 0.6, 1.0])
    alike = np.exp(-np.abs(distance[:, None] - distance) / HEIGHT_CORRELATION_M)
    heights = rng.multivariate_normal([100.0, 150.0, 120.0], 4.0 * alike, size)
    trials = sight_line(np.broadcast_to(distance, heights.shape), heights, **TRUE)
    told = sight_line(distance, [100, 150, 120], height_sd_m=2, refraction_k_sd=0)
    # 20,000 trials tell a spread to 0.5 %.
    for member in ("least_target_height", "least_observer_height"):
        spread = np.std(getattr(trials, f"{member}_m"))
        assert getattr(told, f"{member}_sd_m") == pytest.approx(spread, rel=0.02)


@pytest.mark.parametrize(
    ("length", "relief", "bowl", "alike_m"), [(3000, 20, 25, 500), (5000, 30, 40, 500), (3000, 20, 25, 100)]
)
def test_a_clear_verdict_is_right_in_95_of_100_trials(length, relief, bowl, alike_m):
    # Rough ground across a valley as mapped, and as it is: the map's heights with the errors that are stated of them.
    rng = np.random.default_rng(12)
    size, points, sd = 8000, 60, 3.04
    distance = np.linspace(0, length, points)
    rough = relief * np.cumsum(rng.normal(size=(size, points)), axis=1) / np.sqrt(points)
    mapped = 500 + rough + bowl * np.linspace(-1, 1, points) ** 2
    alike = np.exp(-np.abs(distance[:, None] - distance) / alike_m)
    errors = sd * rng.normal(size=(size, points)) @ np.linalg.cholesky(alike + 1e-9 * np.eye(points)).T
    target = rng.uniform(0, 15, size)
    told = sight_line(distance, mapped, height_sd_m=sd, target_height_m=target, height_correlation_m=alike_m)
    seen = sight_line(distance, mapped + errors, target_height_m=target, **TRUE).visible
    clear, blocked = told.verdict == Verdict.VISIBLE, told.verdict == Verdict.NOT_VISIBLE
    assert min(np.sum(clear), np.sum(blocked)) > 90
    assert np.mean(seen[clear]) >= 0.95
    assert np.mean(~seen[blocked]) >= 0.95
    # At the threshold itself, not only far beyond it.
    assert np.mean(seen[clear & (told.margin_sd < CLEAR_SD + 0.5)]) >= 0.95


def test_the_margin_is_the_verdict_s():
    found = sight_line([0, 1000, 2000], [[100, 90, 100], [100, 99, 100], [100, 130, 100]], height_sd_m=3)
    expected = np.where(found.margin_sd >= CLEAR_SD, 2, np.where(found.margin_sd <= -BLOCKED_SD, 0, 1))
    np.testing.assert_array_equal(found.verdict, expected)


@pytest.mark.parametrize(
    ("options", "member"),
    [
        ({"height_sd_m": -1}, "height_sd_m"),
        ({"observer_height_m": -0.1}, "observer_height_m"),
        ({"target_height_m": np.nan}, "target_height_m"),
        ({"refraction_k": 1}, "refraction_k"),
        ({"refraction_k_sd": -1}, "refraction_k_sd"),
        ({"height_correlation_m": 0}, "height_correlation_m"),
        ({"radius_m": 1}, "radius_m"),
    ],
)
def test_what_is_out_of_range_is_named(options, member):
    with pytest.raises(OutOfRangeError) as caught:
        sight_line([0, 1000], [10, 10], **{"height_sd_m": 3} | options)
    assert caught.value.member == member


@given(profiles, above, above, st.floats(0, 20), st.floats(-5, 0.9))
def test_no_profile_makes_an_unhandled_number(heights, observer, target, sd, refraction):
    distance = np.linspace(0, 3000, len(heights))
    found = sight_line(
        distance,
        heights,
        height_sd_m=sd,
        observer_height_m=observer,
        target_height_m=target,
        refraction_k=refraction,
    )
    for name in found.__slots__:
        assert not np.any(np.isnan(np.float64(getattr(found, name)))), name
        assert name == "margin_sd" or np.all(np.isfinite(np.float64(getattr(found, name)))), name
