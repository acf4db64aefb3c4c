"""Made-up pairs of sights in rows, and the single functions' answers to them, for the tests of pairs."""

import numpy as np

from threenorths_service.navmath.grids.grid import zone_of
from threenorths_service.navmath.lines.geodesic import direct
from threenorths_service.navmath.sights.intersection import intersect
from threenorths_service.navmath.sights.resection import resect
from threenorths_service.navmath.sights.sight import Sight, angle_from_true_north
from threenorths_service.navmath.sights.sight_pairs import intersect_pairs, resect_pairs

PAIRS_OF = {intersect: intersect_pairs, resect: resect_pairs}
COLUMNS = ("lat_deg", "lon_deg", "bearing_deg", "sd_deg", "place_sd_m")


def pairs_seen(
    operation, north, lat, lon, azimuth, distance_m, sd_deg, place_sd_m, year, zone=None, south=None, rng=None
):
    """The arguments of pairs of sights between places (n,) and known ones at azimuths and distances (2, n) from there.

    The bearings are misread by their standard deviations where a generator is given.
    """
    known_lat, known_lon, back = direct(lat, lon, azimuth, distance_m)
    observed = (known_lat, known_lon) if operation is intersect else (lat, lon)
    true = back if operation is intersect else azimuth
    bearing = true - angle_from_true_north(north, *observed, year, zone, south)
    if rng is not None:
        bearing = bearing + sd_deg * rng.normal(0.0, 1.0, bearing.shape)
    return {
        "lat_deg": known_lat.T,
        "lon_deg": known_lon.T,
        "bearing_deg": np.mod(bearing, 360.0).T,
        "sd_deg": np.broadcast_to(sd_deg, bearing.shape).T,
        "place_sd_m": np.broadcast_to(place_sd_m, bearing.shape).T,
        "north": north,
        "decimal_year": year,
        "zone": None if zone is None else zone.T,
        "south": None if south is None else south.T,
    }


def ordinary_pairs(rng, count, operation, north, named=False):
    """Crossings of 20 to 160 degrees at 0.3 to 30 km, between 80 S and 84 N, with hand-held compasses."""
    lat = np.degrees(np.arcsin(rng.uniform(np.sin(np.radians(-80)), np.sin(np.radians(84)), count)))
    lon = rng.uniform(-180, 180, count)
    first, crossing = rng.uniform(0, 360, count), rng.uniform(20, 160, count) * rng.choice([-1, 1], count)
    distance_m = 10 ** rng.uniform(np.log10(300), np.log10(30_000), (2, count))
    azimuth, sd_deg = np.stack((first, first + crossing)), rng.uniform(0.2, 1.5, (2, count))
    place_sd_m = rng.choice([0.0, 0.3, 2.9, 29.0], (2, count))  # squares of 1, 10 and 100 m
    year = rng.uniform(1990, 2030, count)
    grid = _grids(operation, lat, lon, azimuth, distance_m) if named else (None, None)
    return pairs_seen(
        operation, north, lat, lon, azimuth, distance_m, sd_deg, place_sd_m, year, *grid, rng=rng
    )


def all_sorts_of_pairs(rng, count, operation, north, named=False):
    """Everything together: anywhere, over all lengths and crossings, by theodolites and by pointed arms, with blunders."""
    lat, lon = rng.uniform(-79, 83, count), rng.uniform(-180, 180, count)
    lat = np.where(
        rng.random(count) < 0.1, rng.choice([-1, 1], count) * (90 - 10 ** rng.uniform(-3, 1.3, count)), lat
    )
    first, crossing = rng.uniform(0, 360, count), rng.uniform(20, 160, count) * rng.choice([-1, 1], count)
    crossing = np.where(rng.random(count) < 0.3, rng.uniform(0, 180, count), crossing)
    distance_m, azimuth = 10 ** rng.uniform(1, 5.8, (2, count)), np.stack((first, first + crossing))
    sd_deg = 10 ** np.where(rng.random((2, count)) < 0.9, rng.uniform(-3, 0.5, (2, count)), 1.6)
    place_sd_m = np.where(rng.random((2, count)) < 0.5, 0.0, 10 ** rng.uniform(-1, 2.7, (2, count)))
    year = rng.uniform(1900, 2030, count)
    grid = _grids(operation, lat, lon, azimuth, distance_m) if named else (None, None)
    pairs = pairs_seen(
        operation, north, lat, lon, azimuth, distance_m, sd_deg, place_sd_m, year, *grid, rng=rng
    )
    blunder = rng.random((count, 2)) < 0.03
    return pairs | {"bearing_deg": np.where(blunder, rng.uniform(0, 360, (count, 2)), pairs["bearing_deg"])}


def pairs_at_zone_edges(rng, count, operation, north):
    """Around the edges of grid zones, those of Norway, Svalbard and the poles' among them."""
    lat = np.where(
        rng.random(count) < 0.6, rng.uniform(-79, 82, count), rng.choice([56.0, 64.0, 72.0, 0.0], count)
    )
    lat = lat + rng.choice([-1, 1], count) * 10 ** rng.uniform(-5, -1, count)
    lon = 3 * rng.integers(-60, 60, count) + rng.choice([-1, 1], count) * 10 ** rng.uniform(-5, 0, count)
    first, crossing = rng.uniform(0, 360, count), rng.uniform(20, 160, count)
    distance_m, azimuth = 10 ** rng.uniform(2, 4.7, (2, count)), np.stack((first, first + crossing))
    sd_deg, place_sd_m = 10 ** rng.uniform(-3, 0.2, (2, count)), rng.choice([0.0, 2.9, 290.0], (2, count))
    lon = (lon + 180) % 360 - 180
    return pairs_seen(
        operation, north, lat, lon, azimuth, distance_m, sd_deg, place_sd_m, np.full(count, 2026.0), rng=rng
    )


def _grids(operation, lat, lon, azimuth, distance_m):
    if operation is not intersect:
        return zone_of(lat, lon), lat < 0
    known_lat, known_lon, _back = direct(lat, lon, azimuth, distance_m)
    return zone_of(known_lat, known_lon), known_lat < 0


def row_of(pairs, row):
    """One row of the arguments, as arrays of one."""
    return {
        name: value[row : row + 1] if isinstance(value, np.ndarray) else value
        for name, value in pairs.items()
    }


def joined(*parts):
    """Arguments of the same north, one after the other."""
    columns = {name: [part[name] for part in parts] for name in parts[0]}
    return {
        name: np.concatenate(all_) if isinstance(all_[0], np.ndarray) else all_[0]
        for name, all_ in columns.items()
    }


def single_fix(operation, pairs, row):
    """What `intersect` or `resect` answers to one row; their named errors are raised."""
    sights = [Sight(*(float(pairs[name][row, sight]) for name in COLUMNS)) for sight in (0, 1)]
    zone, south, year = pairs["zone"], pairs["south"], pairs["decimal_year"]
    grid = {} if zone is None else {"zone": zone[row], "south": None if south is None else south[row]}
    if operation is resect and grid:
        grid = {"zone": int(grid["zone"]), "south": None if grid["south"] is None else bool(grid["south"])}
    return operation(sights, pairs["north"], decimal_year=None if year is None else float(year[row]), **grid)
