"""Values that Python has and JSON has not, in rows of batches that go to the real service."""

import datetime
import uuid
from collections.abc import Iterator
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest

from threenorths import ArgumentError, Client

PLACE = "33V VK 12345 67890"
NAME = uuid.UUID("12345678-1234-5678-1234-567812345678")


@pytest.mark.parametrize("number", [float("nan"), float("inf"), np.float32("nan"), -np.inf, Decimal("NaN")])
def test_a_number_that_is_none_is_an_error_of_its_row_alone(client: Client, number: object) -> None:
    source = [
        {"map_mm": 40, "scale": 25_000},
        {"map_mm": number, "scale": 25_000},
        {"map_mm": 4, "scale": 25_000},
    ]
    good, bad, last = client.batch("map-distances", source)
    assert (good["answer"]["ground_m"], last["answer"]["ground_m"]) == (1000.0, 100.0)
    assert (bad["error"]["row"], bad["error"]["member"]) == (2, "map_mm")
    assert str(number).strip("-").lower()[:3] in bad["error"]["text"].lower()


def test_columns_of_one_s_own_may_be_of_many_types(client: Client) -> None:
    own = {
        "price": Decimal("12.50"),
        "number": Decimal("12345678901234567890.5"),
        "name": NAME,
        "on": datetime.date(2026, 11, 25),
        "share": np.float32(0.5),
        "missing": float("nan"),
        "parts": (1, [float("inf")]),
    }
    (row,) = client.batch("positions", [{"position": PLACE, **own}])
    assert "answer" in row
    assert {name: row[name] for name in own} == {
        "price": 12.5,
        "number": "12345678901234567890.5",
        "name": str(NAME),
        "on": "2026-11-25",
        "share": 0.5,
        "missing": "nan",
        "parts": [1, ["inf"]],
    }


def test_a_column_of_a_frame_may_hold_numbers_and_texts(client: Client) -> None:
    frame = pd.DataFrame({"bearing": [45.5, "45 30 00", None, "N 45 E"], "own": [1, "b", 2.5, None]})
    rows = list(client.batch("bearings", frame, members={"north": "magnetic", "declination_deg": 5.0}))
    assert [row["answer"]["true"]["azimuth_deg"] for row in rows if "answer" in row] == [50.5, 50.5, 50.0]
    assert (rows[2]["error"]["row"], rows[2]["error"]["member"]) == (3, "bearing")
    assert [row.get("own") for row in rows] == ["1", "b", "2.5", None]


@pytest.mark.parametrize("rows_per_request", [1, 7, 100_000])
@pytest.mark.parametrize("at_once", [1, 4])
def test_rows_that_were_drawn_before_the_source_failed_are_answered_first(
    client: Client, rows_per_request: int, at_once: int
) -> None:
    def source(bad: object) -> Iterator[dict[str, object]]:
        for number in range(40):
            yield {"position": PLACE, "number": number}
        if bad is None:
            raise LookupError("the source broke off")
        yield {"position": bad}

    for bad, error in ((None, LookupError), (object(), ArgumentError)):
        rows = client.batch("positions", source(bad), rows_per_request=rows_per_request, at_once=at_once)
        came = iter(rows)
        assert [next(came)["number"] for _ in range(40)] == list(range(40))
        with pytest.raises(error):
            next(came)
