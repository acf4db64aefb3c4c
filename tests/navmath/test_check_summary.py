"""Summaries of checks: parts add up to the whole, to the last digit."""

from __future__ import annotations

import json
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from threenorths_service.navmath.checks.check_summary import (
    CHECK_SLIPS,
    EDGES_DEG,
    EDGES_M,
    merge,
    summarise,
)
from threenorths_service.navmath.checks.verdict import VERDICTS
from threenorths_service.navmath.errors import OutOfRangeError

rows = st.lists(
    st.tuples(
        st.sampled_from(list(VERDICTS)),
        st.none() | st.sampled_from(list(CHECK_SLIPS)),
        st.just(math.nan) | st.floats(0, 2.1e7),
        st.just(math.nan) | st.floats(-180, 180),
    ),
    max_size=20,
)


def summary_of(some):
    verdicts, slips, metres, degrees = zip(*some, strict=True) if some else ((), (), (), ())
    return summarise(verdicts, slips, metres, degrees)


@given(rows, rows, rows)
def test_merging_is_associative_and_makes_the_summary_of_all(a, b, c):
    one, two, three = (summary_of(some) for some in (a, b, c))
    assert merge(merge(one, two), three) == merge(one, merge(two, three)) == summary_of([*a, *b, *c])
    assert merge(one, two) == merge(two, one)
    assert merge(one, summary_of([])) == one


@given(rows)
def test_every_check_and_every_miss_is_counted_once(some):
    summary = summary_of(some)
    metres = [row[2] for row in some if not math.isnan(row[2])]
    degrees = [abs(row[3]) for row in some if not math.isnan(row[3])]
    assert summary.count == len(some)
    assert sum(summary.slips) == sum(row[1] is not None for row in some)
    for misses, values in ((summary.misses_m, metres), (summary.misses_deg, degrees)):
        assert misses.count == len(values)
        assert misses.sum == pytest.approx(math.fsum(values), abs=1e-6 * (len(values) + 1))
        assert misses.largest == max(values, default=0.0)
        edges = (-math.inf, *misses.edges, math.inf)
        wanted = [sum(low < value <= high for value in values) for low, high in pairwise(edges)]
        assert list(misses.counts) == wanted


def test_a_miss_on_an_edge_counts_below_it():
    summary = summarise(["right"] * 3, [None] * 3, [0.0, 1.0, 1.1], [math.nan, -0.1, 180.0])
    assert summary.misses_m.counts[:2] == (2, 1)
    assert (summary.misses_deg.counts[0], summary.misses_deg.counts[-2:]) == (1, (1, 0))


def test_the_edges_are_a_series_of_1_2_5():
    assert EDGES_M[0] == 1.0
    assert EDGES_M[-1] == 1e6
    assert EDGES_DEG[-1] == 180.0
    for edges in (EDGES_M, EDGES_DEG[:-1]):
        steps = {round(high / low, 9) for low, high in pairwise(edges)}
        assert steps == {2.0, 2.5}


def test_very_many_misses_around_the_earth_do_not_overflow():
    count = 600_000
    summary = summarise(["wrong"] * count, [None] * count, np.full(count, 2e7), np.full(count, np.nan))
    assert summary.misses_m.sum == 2e7 * count


def test_a_summary_is_a_record_of_json():
    record = summarise(["right", "wrong"], [None, "back_bearing"], [math.nan] * 2, [0.5, 180.0]).as_details()
    assert json.loads(json.dumps(record, allow_nan=False)) == record
    assert record["verdicts"] == {"right": 1, "wrong": 1, "undecided": 0, "too_coarse": 0, "unreadable": 0}
    assert record["slips"] == {"back_bearing": 1}
    assert record["distance_m"]["mean"] is record["distance_m"]["largest"] is None
    assert record["difference_deg"]["mean"] == 90.25


@pytest.mark.parametrize("miss", [-1.0, math.inf])
def test_a_miss_that_is_none_is_refused(miss):
    with pytest.raises(OutOfRangeError):
        summarise(["right"], [None], [miss], [math.nan])


@pytest.mark.parametrize(("verdict", "slip"), [("fine", None), ("right", "asleep")])
def test_a_code_that_is_not_listed_is_refused(verdict, slip):
    with pytest.raises(KeyError):
        summarise([verdict], [slip], [math.nan], [math.nan])
