"""Grids that an operator provides: an invented NTv2 file in a folder of PROJ_DATA is used where it has values."""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from threenorths_service.navmath.datums import datum_grids, datum_pipeline, datum_table
from threenorths_service.navmath.datums.datum import find_datum
from threenorths_service.navmath.datums.datum_shift import shifted_from_wgs84, shifted_to_wgs84, to_wgs84

GRID = "SPED2ETV2.gsb"
BY_GRID = "ED50 to WGS 84 (41) (EPSG:15933)"
#: What the invented grid adds: north and east. [second of arc]
NORTH_S, EAST_S = -4.5, -3.5


def ntv2(south: int, north: int, west: int, east: int) -> bytes:
    """An NTv2 file with nodes at whole degrees and the same shift at each; its longitudes are positive to the west."""

    def record(name: str, value: bytes) -> bytes:
        return name.ljust(8).encode() + value.ljust(8)[:8]

    def whole(name: str, number: int) -> bytes:
        return record(name, struct.pack("<i", number) + bytes(4))

    def real(name: str, number: float) -> bytes:
        return record(name, struct.pack("<d", number))

    columns, nodes_up = east - west + 1, north - south + 1
    parts = [
        whole("NUM_OREC", 11),
        whole("NUM_SREC", 11),
        whole("NUM_FILE", 1),
        record("GS_TYPE", b"SECONDS "),
        record("VERSION", b"INVENTED"),
        record("SYSTEM_F", b"ED50    "),
        record("SYSTEM_T", b"ETRS89  "),
        real("MAJOR_F", 6378388.0),
        real("MINOR_F", 6356911.946),
        real("MAJOR_T", 6378137.0),
        real("MINOR_T", 6356752.314),
        record("SUB_NAME", b"INVENTED"),
        record("PARENT", b"NONE    "),
        record("CREATED", b"        "),
        record("UPDATED", b"        "),
        real("S_LAT", south * 3600.0),
        real("N_LAT", north * 3600.0),
        real("E_LONG", -east * 3600.0),
        real("W_LONG", -west * 3600.0),
        real("LAT_INC", 3600.0),
        real("LONG_INC", 3600.0),
        whole("GS_COUNT", columns * nodes_up),
        struct.pack("<4f", NORTH_S, -EAST_S, 0.1, 0.1) * (columns * nodes_up),
        record("END", b""),
    ]
    return b"".join(parts)


def forget() -> None:
    """Forget the grids found, as a new process does."""
    datum_grids.grid_path.cache_clear()
    datum_table.operations_of.cache_clear()
    datum_pipeline._transformer.cache_clear()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder of an operator, with a space in its name, that holds the invented grid over a part of Spain."""
    folder = tmp_path / "shift grids"
    folder.mkdir()
    (folder / GRID).write_bytes(ntv2(38, 42, -6, -1))
    monkeypatch.setenv("PROJ_DATA", os.pathsep.join([str(tmp_path / "none"), str(folder)]))
    forget()
    yield folder
    monkeypatch.undo()
    forget()


def test_without_a_folder_no_grid_is_found() -> None:
    assert GRID not in {path.name for path in datum_table.grids_found().values()}
    assert shifted_to_wgs84(find_datum("ED50"), 40.4, -3.7)[2].operation == "ED50 to WGS 84 (28) (EPSG:1633)"


def test_a_grid_in_a_folder_of_proj_data_is_found_and_used(folder: Path) -> None:
    assert datum_table.grids_found() == {"es_ign_SPED2ETV2.tif": folder / GRID}
    lat, lon, shift = shifted_to_wgs84(find_datum("ED50"), 40.4, -3.7)
    assert (shift.operation, shift.accuracy_m) == (BY_GRID, 1.0)
    assert lat == pytest.approx(40.4 + NORTH_S / 3600.0, abs=1e-9)
    assert lon == pytest.approx(-3.7 + EAST_S / 3600.0, abs=1e-9)
    assert shifted_from_wgs84(find_datum("ED50"), lat, lon)[:2] == pytest.approx((40.4, -3.7), abs=1e-11)


@pytest.mark.usefixtures("folder")
def test_where_the_grid_has_no_value_the_next_operation_is_taken() -> None:
    places = to_wgs84(find_datum("ED50"), [40.4, 40.4, 43.0, 40.4], [-3.7, -0.5, -4.0, -7.9])
    labels = [places.operations[index].label for index in places.operation]
    assert labels[0] == BY_GRID
    assert BY_GRID not in labels[1:]
    assert np.isfinite(places.lat_deg).all()
    back_lat, back_lon, shift = shifted_from_wgs84(
        find_datum("ED50"), float(places.lat_deg[1]), float(places.lon_deg[1])
    )
    assert shift.operation == labels[1]
    assert (back_lat, back_lon) == pytest.approx((40.4, -0.5), abs=1e-11)


def test_an_operation_that_misses_one_of_its_two_grids_is_not_used(folder: Path) -> None:
    (folder / "conus").write_bytes(ntv2(25, 49, -125, -67))
    forget()
    usable = datum_table.operations_of(4267).operations
    assert any(operation.grids and "conus" in operation.grids[0] for operation in usable)
    assert all(len(operation.grids) < 2 for operation in usable)
    assert any(len(operation.grids) == 2 for operation in datum_table.all_operations()[4267])


def test_a_file_that_is_no_grid_is_passed_over(folder: Path) -> None:
    (folder / GRID).write_bytes(b"no grid at all")
    assert datum_table.grids_found() == {}
    assert shifted_to_wgs84(find_datum("ED50"), 40.4, -3.7)[2].operation == "ED50 to WGS 84 (28) (EPSG:1633)"
