"""The table of pinned operations: against pyproj's own operations by code, and against its rules."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from pyproj import Transformer
from pyproj.database import get_database_metadata
from pyproj.enums import TransformDirection
from pyproj.exceptions import ProjError

import threenorths_service.navmath
from threenorths_service.navmath.datums.datum_names import datum_row, read_heading, read_table
from threenorths_service.navmath.datums.datum_pipeline import carried_back, carried_over
from threenorths_service.navmath.datums.datum_shift import BALLPARK_ACCURACY_M
from threenorths_service.navmath.datums.datum_table import DatumOperation, all_operations
from threenorths_service.navmath.datums.datum_table_from_epsg import write_tables

DATA = Path(threenorths_service.navmath.__file__).parent / "data"
OPERATIONS = [
    (datum, operation) for datum, operations in all_operations().items() for operation in operations
]
WITHOUT_GRID = [
    (datum, operation) for datum, operation in OPERATIONS if not operation.grids and operation.code
]
DEGREE_M = 111_320.0
SAME_DATASET = f"EPSG Dataset {get_database_metadata('EPSG.VERSION')} " in read_heading("datums.csv")


def places(operation: DatumOperation) -> tuple[np.ndarray, np.ndarray]:
    """Nine places over the area of an operation."""
    west, south, east, north = operation.box_deg
    width = east - west if east > west else east - west + 360.0
    lat, lon = np.meshgrid(
        south + (north - south) * np.array([0.1, 0.5, 0.9]), west + width * np.array([0.1, 0.5, 0.9])
    )
    return lat.ravel(), (lon.ravel() + 180.0) % 360.0 - 180.0


def apart_m(lat1: np.ndarray, lon1: np.ndarray, lat2: np.ndarray, lon2: np.ndarray) -> np.ndarray:
    east_deg = ((lon1 - lon2 + 180.0) % 360.0 - 180.0) * np.cos(np.radians(lat1))
    return DEGREE_M * np.hypot(lat1 - lat2, east_deg)


def by_code(code: str, lat: np.ndarray, lon: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The dataset's operation of a code, which takes and gives latitude first in degrees."""
    try:
        operation = Transformer.from_pipeline(f"urn:ogc:def:coordinateOperation:EPSG::{code}")
    except ProjError:
        if SAME_DATASET:
            raise
        pytest.skip("the installed pyproj carries another version of the dataset, without this operation")
    back = operation.description.startswith("WGS 84 to")
    return operation.transform(
        lat, lon, direction=TransformDirection.INVERSE if back else TransformDirection.FORWARD
    )


@pytest.mark.parametrize(
    ("datum", "operation"), WITHOUT_GRID, ids=lambda value: getattr(value, "code", value)
)
def test_an_operation_does_what_pyproj_does_by_its_code(datum: int, operation: DatumOperation) -> None:
    lat, lon = places(operation)
    their_lat, their_lon = lat, lon
    for code in operation.code.split("+"):
        their_lat, their_lon = by_code(code, their_lat, their_lon)
    our_lat, our_lon = carried_over(operation, lat, lon)
    assert apart_m(our_lat, our_lon, their_lat, their_lon).max() < 1e-3


def test_every_operation_is_undone_to_a_micrometre() -> None:
    for _, operation in WITHOUT_GRID:
        lat, lon = places(operation)
        assert apart_m(*carried_back(operation, *carried_over(operation, lat, lon)), lat, lon).max() < 1e-6


def test_no_operation_without_grid_shifts_further_than_the_ballpark_figure() -> None:
    largest_m = max(
        apart_m(*carried_over(operation, *places(operation)), *places(operation)).max()
        for _, operation in WITHOUT_GRID
    )
    assert 0.8 * BALLPARK_ACCURACY_M < largest_m < BALLPARK_ACCURACY_M


def test_every_operation_says_how_accurate_it_is_and_where_it_holds() -> None:
    for _, operation in OPERATIONS:
        west, south, east, north = operation.box_deg
        assert 0.0 < operation.accuracy_m < 200.0, operation
        assert -90.0 <= south < north <= 90.0, operation
        assert -180.0 <= west <= 180.0, operation
        assert -180.0 <= east <= 180.0, operation
        assert west != east, operation
        assert operation.area, operation
        assert "offshore" not in operation.area or "onshore" in operation.area or "mainland" in operation.area


def test_no_pipeline_names_a_file_that_the_library_would_look_for_or_fetch() -> None:
    for _, operation in OPERATIONS:
        named = re.findall(r"\+grids=(\S+)", operation.pipeline)
        assert named == [f"{{{index}}}" for index in range(len(operation.grids))]
        assert "+file=" not in operation.pipeline


def test_operations_stand_in_the_order_of_choice() -> None:
    for operations in all_operations().values():
        with_grid = [bool(operation.grids) for operation in operations]
        assert with_grid == sorted(with_grid, reverse=True)
        classes = [
            (not operation.grids, sum(operation.accuracy_m > limit_m for limit_m in (2.5, 5.0, 10.0, 20.0)))
            for operation in operations
        ]
        assert classes == sorted(classes)


def test_every_datum_that_uses_the_operations_of_another_names_one_that_is_there() -> None:
    for row in read_table("datums.csv"):
        assert datum_row(datum_row(int(row["code"])).operations_of).operations_of


def test_the_datums_that_people_meet_on_sheets_have_operations() -> None:
    pinned = set(all_operations())
    for code in (
        4267,
        4269,
        4230,
        4277,
        4301,
        4202,
        4203,
        4284,
        4222,
        4210,
        4209,
        4618,
        4240,
        4258,
        4283,
        7844,
    ):
        assert datum_row(code).operations_of in pinned
    for code in (
        4272,
        4149,
        4312,
        4314,
        4275,
        4807,
        4124,
        4123,
        4611,
        4299,
        4201,
        4263,
        4253,
        4612,
        4156,
        4289,
    ):
        assert datum_row(code).operations_of in pinned


def test_the_tables_are_those_that_the_dataset_of_their_version_gives(tmp_path: Path) -> None:
    if not SAME_DATASET:
        pytest.skip("the installed pyproj carries another version of the dataset")
    write_tables(tmp_path)
    for name in ("datums.csv", "datum_operations.csv"):
        assert (tmp_path / name).read_bytes() == (DATA / name).read_bytes()
