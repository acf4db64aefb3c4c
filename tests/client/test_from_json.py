"""The builder of results: by the annotations, strict on what it knows, and blind to what it does not."""

import datetime
import json
from dataclasses import dataclass
from typing import Any

import pytest

from threenorths import Client, PositionRead
from threenorths.from_json import MismatchError, build


@dataclass(frozen=True, slots=True)
class Inner:
    count: int


@dataclass(frozen=True, slots=True)
class Outer:
    from_: str
    date: datetime.date
    moment: datetime.datetime
    length_m: float
    flag: bool
    inner: Inner
    inners: tuple[Inner, ...]
    maybe: Inner | None
    anything: Any
    later: float | None = None


GOOD = {
    "from": "a",
    "date": "2026-11-25",
    "moment": "2026-11-25T17:30:00+01:00",
    "length_m": 3,
    "flag": False,
    "inner": {"count": 0},
    "inners": [{"count": 1}, {"count": 2, "new": 1}],
    "maybe": None,
    "anything": [1, "x"],
    "new": {},
}


def test_a_whole_object() -> None:
    built = build(Outer, GOOD)
    inners = (Inner(1), Inner(2))
    moment = datetime.datetime(2026, 11, 25, 16, 30, tzinfo=datetime.UTC)
    assert built == Outer(
        "a", datetime.date(2026, 11, 25), moment, 3.0, False, Inner(0), inners, None, [1, "x"], None
    )
    assert built.moment.utcoffset() == datetime.timedelta(hours=1)
    assert isinstance(built.length_m, float)
    assert build(Outer, {**GOOD, "maybe": {"count": 4}, "later": 1.5}).maybe == Inner(4)


@pytest.mark.parametrize("member", sorted(GOOD.keys() - {"new"}))
def test_what_has_no_default_may_not_be_missing(member: str) -> None:
    with pytest.raises(MismatchError, match=f"^{member} is missing"):
        build(Outer, {name: value for name, value in GOOD.items() if name != member})


@pytest.mark.parametrize(
    ("member", "value", "said"),
    [
        ("from", 1, "from is 1, not a text"),
        ("date", "2026-11-31", "date is '2026-11-31', not a date"),
        ("moment", "2026-11-25T17:30:00", "moment is '2026-11-25T17:30:00', not a moment"),
        ("moment", "2026-11-25T24:30:00Z", "moment is '2026-11-25T24:30:00Z', not a moment"),
        ("length_m", "3", "length_m is '3', not a number"),
        ("length_m", True, "length_m is True, not a number"),
        ("length_m", float("inf"), "length_m is inf, not a number"),
        ("length_m", None, "length_m is None, not a number"),
        ("flag", 0, "flag is 0, not true or false"),
        ("inner", [], "inner is not an object"),
        ("inner", {"count": 1.0}, r"inner\.count is 1\.0, not a whole number"),
        ("inner", {"count": True}, r"inner\.count is True, not a whole number"),
        ("inners", {}, "inners is not a list"),
        ("inners", [{"count": 1}, {}], r"inners\[1\]\.count is missing"),
        ("maybe", 0, "maybe is not an object"),
        ("later", "", "later is '', not a number"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(member: str, value: object, said: str) -> None:
    with pytest.raises(MismatchError, match=f"^{said}$"):
        build(Outer, {**GOOD, member: value})


def test_no_member_of_a_real_answer_may_be_missing(client: Client) -> None:
    answer = json.loads(client.positions.read("33V VE 123 678").raw_json)
    for member in answer:
        with pytest.raises(MismatchError, match=member):
            build(PositionRead, {name: value for name, value in answer.items() if name != member})
