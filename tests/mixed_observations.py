"""Observations of a place made up for the tests: perfect ones, and what they look like from the tests' own geodesics."""

import math

import numpy as np
from geographiclib.geodesic import Geodesic

from threenorths_service.navmath.fixes.observation import (
    AngleBetween,
    BearingFrom,
    BearingTo,
    DistanceTo,
    LineStoodOn,
)
from threenorths_service.navmath.lines.geodesic import direct, inverse

KINDS = ("to", "from", "distance", "angle", "line")


def seen(place, azimuth_deg, distance_m):
    """Latitude and longitude of the end of a ray, and the bearing back from there."""
    return tuple(float(value) for value in direct(*place, azimuth_deg, distance_m))


def off_m(fixed, place):
    return float(inverse(*place, fixed.lat_deg, fixed.lon_deg)[2])


def codes(fix):
    return [caution.code for caution in fix.cautions]


def line_through(place, azimuth_deg, before_m=2000.0, beyond_m=3000.0, beside_m=0.0, sd_m=10.0):
    """A straight line stood on, passing a place at a distance to its right or left."""
    middle = seen(place, azimuth_deg + 90.0, beside_m)
    ends = [seen(middle[:2], azimuth_deg + 180.0, before_m), seen(middle[:2], azimuth_deg, beyond_m)]
    return LineStoodOn(tuple(end[0] for end in ends), tuple(end[1] for end in ends), sd_m)


def perfect(kind, place, azimuth_deg, distance_m, error=0.0, sd=1.0):
    """One observation of a place along a ray, misread by so many of its standard deviations, in degrees or per cent."""
    lat, lon, back = seen(place, azimuth_deg, distance_m)
    if kind == "to":
        return BearingTo(lat, lon, (azimuth_deg + error * sd) % 360.0, sd)
    if kind == "from":
        return BearingFrom(lat, lon, (back + error * sd) % 360.0, sd)
    if kind == "distance":
        sd_m = 0.01 * sd * distance_m
        return DistanceTo(lat, lon, max(distance_m + error * sd_m, 1.0), sd_m)
    if kind == "line":
        return line_through(place, azimuth_deg, beside_m=10.0 * error)
    right_lat, right_lon, _ = seen(place, azimuth_deg + 75.0, 0.7 * distance_m)
    return AngleBetween(lat, lon, right_lat, right_lon, (75.0 + error * sd) % 360.0, sd)


def random_observations(rng, place, count, noise=1.0):
    """So many observations of random kinds and rays, misread at random."""
    return [
        perfect(
            str(rng.choice(KINDS)),
            place,
            rng.uniform(0.0, 360.0),
            10.0 ** rng.uniform(2.7, 4.3),
            noise * rng.normal(),
            rng.choice([0.3, 1.0, 2.0]),
        )
        for _ in range(count)
    ]


def misses_by_library(lat, lon, observations):
    """Read less expected over the standard deviations, by geographiclib alone."""
    ray = Geodesic.WGS84.Inverse
    misses = []
    for each in observations:
        if isinstance(each, BearingTo):
            misses.append(
                _signed(each.bearing_deg - ray(lat, lon, each.lat_deg, each.lon_deg)["azi1"]) / each.sd_deg
            )
        elif isinstance(each, BearingFrom):
            misses.append(
                _signed(each.bearing_deg - ray(each.lat_deg, each.lon_deg, lat, lon)["azi1"]) / each.sd_deg
            )
        elif isinstance(each, DistanceTo):
            misses.append((each.distance_m - ray(lat, lon, each.lat_deg, each.lon_deg)["s12"]) / each.sd_m)
        elif isinstance(each, AngleBetween):
            right = ray(lat, lon, each.right_lat_deg, each.right_lon_deg)["azi1"]
            left = ray(lat, lon, each.left_lat_deg, each.left_lon_deg)["azi1"]
            misses.append(_signed(each.angle_deg - (right - left)) / each.sd_deg)
        else:
            misses.append(_off_line(lat, lon, each) / each.sd_m)
    return np.array(misses)


def _signed(angle_deg):
    return (angle_deg + 180.0) % 360.0 - 180.0


def _off_line(lat, lon, line):
    """The distance to the geodesic through a line's two ends: along it until the place is abeam."""
    start = line.lat_deg[0], line.lon_deg[0]
    azimuth = Geodesic.WGS84.Inverse(*start, line.lat_deg[1], line.lon_deg[1])["azi1"]
    along = 0.0
    for _ in range(12):
        here = Geodesic.WGS84.Direct(*start, azimuth, along)
        aside = Geodesic.WGS84.Inverse(here["lat2"], here["lon2"], lat, lon)
        along += aside["s12"] * math.cos(math.radians(aside["azi1"] - here["azi2"]))
    return aside["s12"] * math.sin(math.radians(aside["azi1"] - here["azi2"]))


def least_squares_by_library(place, observations):
    """Gauss-Newton by geographiclib and central differences, from the place: latitude, longitude, cost and covariance."""
    lat, lon = place
    step_m = 5.0
    for _ in range(25):
        columns = []
        for azimuth in (0.0, 90.0):
            ends = [Geodesic.WGS84.Direct(lat, lon, azimuth + turn, step_m) for turn in (0.0, 180.0)]
            ahead, behind = (misses_by_library(end["lat2"], end["lon2"], observations) for end in ends)
            columns.append((ahead - behind) / (2.0 * step_m))
        design, misses = np.stack(columns, axis=1), misses_by_library(lat, lon, observations)
        north, east = np.linalg.lstsq(design, -misses, rcond=None)[0]
        length = min(math.hypot(north, east), 300.0)
        end = Geodesic.WGS84.Direct(lat, lon, math.degrees(math.atan2(east, north)), length)
        lat, lon = end["lat2"], end["lon2"]
        if length < 1e-6:
            break
    return (
        lat,
        lon,
        float(np.sum(misses_by_library(lat, lon, observations) ** 2)),
        np.linalg.inv(design.T @ design),
    )
