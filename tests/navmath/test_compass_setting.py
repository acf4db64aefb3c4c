import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from published import rows
from threenorths_service.navmath.angle import normalise_signed
from threenorths_service.navmath.directions.compass_setting import (
    bezel_for_azimuth,
    bezel_for_grid_magnetic_angle,
    map_oriented_dial_deg,
)

# FM 3-25.26, para 9-2: 120 clicks of 3 degrees to the ring; the azimuth divided by 3 is the number of clicks.
BEZEL = [
    (
        float(row["id"].removeprefix("bezel-")),
        int(row["expected"].split("clicks")[0].split()[0].split(".")[0]),
    )
    for row in rows("handbook_examples")
    if row["id"].startswith("bezel-") and row["id"] != "bezel-359"
]


@pytest.mark.parametrize(("azimuth", "clicks"), BEZEL)
def test_the_handbook_s_clicks(azimuth, clicks):
    setting = bezel_for_azimuth(azimuth)
    assert setting.nearest.clicks == clicks
    assert setting.nearest.residual_deg == 0


def test_the_handbook_table_was_read():
    assert len(BEZEL) == 5


def test_just_short_of_the_circle_the_nearest_click_is_the_full_turn():
    # The same table, row bezel-359: 119.67 clicks, nearest 120 = 360 degrees.
    setting = bezel_for_azimuth(359)
    assert (setting.nearest.clicks, setting.nearest.set_deg, setting.nearest.residual_deg) == (120, 0, 1)
    assert (setting.other.clicks, setting.other.set_deg) == (119, 357)


@pytest.mark.parametrize(("angle", "clicks", "residual", "side"), [(14, -5, 1, -1), (-14, 5, -1, 1)])
def test_an_easterly_angle_turns_clockwise_and_a_westerly_one_counterclockwise(angle, clicks, residual, side):
    # 14 easterly is 5 clicks clockwise, 1 degree over: common practice, no source.
    nearest = bezel_for_grid_magnetic_angle(angle).nearest
    assert (nearest.clicks, nearest.residual_deg) == (clicks, residual)
    # One degree leads 1000 tan 1 = 17.455 m off in a kilometre; set too far east, the walker goes left.
    assert nearest.off_line_m_per_km == pytest.approx(side * 17.455, abs=5e-4)


def test_a_tie_is_told_and_names_the_lesser_turn():
    setting = bezel_for_azimuth(52.5)
    assert setting.tie
    assert (setting.nearest.clicks, setting.other.clicks) == (17, 18)
    assert setting.nearest.residual_deg == -setting.other.residual_deg


@pytest.mark.parametrize("click", [0.1, 0.3, 1, 2, 2.5, 2.8125, 3, 3.6, 5, 7])
def test_a_whole_number_of_clicks_leaves_no_residual(click):
    count = np.arange(0, int(360 / click))
    setting = bezel_for_azimuth(count * click, click)
    np.testing.assert_array_equal(setting.nearest.clicks, count)
    np.testing.assert_allclose(setting.nearest.residual_deg, 0, atol=1e-9)
    assert not setting.tie.any()


@given(st.floats(0, 360, exclude_max=True), st.floats(0.1, 45))
def test_the_nearest_click_is_within_half_a_click_and_no_other_is_nearer(azimuth, click):
    setting = bezel_for_azimuth(azimuth, click)
    assert abs(setting.nearest.residual_deg) <= click / 2 + 1e-9
    assert abs(setting.nearest.residual_deg) <= abs(setting.other.residual_deg) + 1e-9
    assert (
        abs(normalise_signed(setting.nearest.clicks * click - azimuth) - setting.nearest.residual_deg) < 1e-9
    )


@given(st.floats(-179.999, 179.999), st.floats(0.1, 45))
def test_setting_off_east_and_west_mirror_each_other(angle, click):
    east, west = (
        bezel_for_grid_magnetic_angle(abs(angle), click),
        bezel_for_grid_magnetic_angle(-abs(angle), click),
    )
    if angle != 0:
        assert east.nearest.clicks == -west.nearest.clicks
        assert east.nearest.set_deg == -west.nearest.set_deg


@pytest.mark.parametrize(("angle", "dial"), [(14, 346), (-14, 14), (0, 0), (180, 180)])
def test_the_dial_of_an_oriented_map(angle, dial):
    assert map_oriented_dial_deg(angle) == dial
