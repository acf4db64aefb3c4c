"""Summaries of parts add up to that of all, to the last digit, as the service itself adds them."""

import random

import pytest

from threenorths import ResponseError
from threenorths.batch_summaries import merged
from threenorths_service.navmath.checks.check_summary import CHECK_SLIPS, CheckSummary, summarise
from threenorths_service.navmath.checks.verdict import VERDICTS


def part(lots: random.Random, rows: int) -> tuple[list[str], list[str | None], list[float], list[float]]:
    nothing = float("nan")
    return (
        lots.choices(list(VERDICTS), k=rows),
        lots.choices([None, *CHECK_SLIPS], k=rows),
        [lots.choice([nothing, 10.0 ** lots.uniform(-3.0, 7.0)]) for _ in range(rows)],
        [lots.choice([nothing, lots.uniform(-180.0, 180.0)]) for _ in range(rows)],
    )


@pytest.mark.parametrize("seed", range(20))
def test_parts_add_up_to_the_whole(seed: int) -> None:
    lots = random.Random(seed)
    parts = [part(lots, lots.choice([0, 1, 50])) for _ in range(12)]
    whole = summarise(*([value for each in parts for value in each[column]] for column in range(4)))
    summary = None
    for each in parts:
        summary = merged(summary, summarise(*each).as_details())
    assert summary == whole.as_details()


def test_no_rows_have_no_summary_and_change_none() -> None:
    assert merged(None, None) is None
    empty = summarise([], [], [], [])
    assert isinstance(empty, CheckSummary)
    some = {"count": 3, "nested": {"largest_m": 2.0, "codes": {"a": 1}}}
    assert merged(some, None) == merged(None, some) == some


def test_each_kind_of_member() -> None:
    one = {
        "count": 1,
        "largest_m": 2.5,
        "edges": [1, 2],
        "counts": [1, 0],
        "unit": "m",
        "at": {"x": 1},
        "least": None,
    }
    other = {
        "count": 2,
        "largest_m": 1.5,
        "edges": [1, 2],
        "counts": [0, 2],
        "unit": "m",
        "at": {"y": 1},
        "least": 4,
    }
    assert merged(one, other) == {
        "count": 3,
        "largest_m": 2.5,
        "edges": [1, 2],
        "counts": [1, 2],
        "unit": "m",
        "at": {"x": 1, "y": 1},
        "least": 4,
    }


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"edges": [1, 2]}, {"edges": [1, 3]}),
        ({"counts": [1, 2]}, {"counts": [1]}),
        ({"unit": "m"}, {"unit": "ft"}),
        ({"count": 1}, {"count": [1]}),
        ({"codes": {"a": 1}}, {"codes": 1}),
    ],
)
def test_what_does_not_fit_together_is_an_error(one: dict[str, object], other: dict[str, object]) -> None:
    with pytest.raises(ResponseError, match="do not fit together"):
        merged(one, other)
