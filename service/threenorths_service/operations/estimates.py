"""What the operations that estimate in the field share: the members of a method, paced lengths, how good it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from ..navmath.cautions import Caution, caution
from ..navmath.errors import MembersConflictError, MembersMissingError, NavigationError
from ..navmath.estimates.estimate import paced_length_m
from .fields import Number

__all__ = [
    "Members",
    "as_given",
    "check_members",
    "default_sd_cautions",
    "in_metres",
    "naming",
    "paced_names",
    "paces_member",
    "paces_per_100_m_member",
    "sds_of_given",
    "weak_cautions",
    "worked",
]

#: An estimate whose standard deviation is over this share of it is a rough idea only: common practice, no source.
WEAK_RATIO = 0.2

COUNT = "paces_per_100_m"


@dataclass(frozen=True, slots=True)
class Members:
    """What a method needs, and what else it takes. A length named in metres may come in paces."""

    needs: tuple[str, ...]
    takes: tuple[str, ...] = ()


def paces_per_100_m_member() -> Number:
    """The walker's own count."""
    return Number(
        "The walker's own count over 100 m of like ground; a length in paces needs it.",
        minimum=20,
        maximum=500,
    )


def paces_member(what: str, most: float = 50_000) -> Number:
    """A length in paces."""
    return Number(f"{what} in the walker's paces; needs `{COUNT}`.", minimum=1, maximum=most)


def check_members(request: Mapping[str, Any], methods: Mapping[str, Members]) -> None:
    """See that the request has what its method needs, and nothing that belongs to another method.

    Raises `MembersMissingError` or `MembersConflictError`.
    """
    method = request["method"]
    wanted = methods[method]
    given = {_in_metres_name(name): name for name in request}
    for name in wanted.needs:
        if name not in given:
            raise MembersMissingError(
                f"the method '{method}' needs {name}", member=name, allowed=f"{' and '.join(wanted.needs)}"
            )
    known = {name for members in methods.values() for name in (*members.needs, *members.takes)}
    for name in known.difference(wanted.needs, wanted.takes).intersection(given):
        raise MembersConflictError(
            f"the method '{method}' does not use {given[name]}",
            member=given[name],
            value=request[given[name]],
            allowed=f"with this method {', '.join((*wanted.needs, *wanted.takes))}",
        )


def in_metres(request: Mapping[str, Any], *lengths: str) -> dict[str, Any]:
    """The request with the lengths that it gives in paces as metres, and without the count.

    Raises `MembersMissingError` for paces without a count, and `MembersConflictError` for a count without paces or a
    length given twice.
    """
    metric = {name: value for name, value in request.items() if name != COUNT}
    paced = [name for name in lengths if f"{name}_paces" in request]
    for name in paced:
        if f"{name}_m" in request:
            raise MembersConflictError(
                f"the same length is given as {name}_m and {name}_paces",
                member=f"{name}_paces",
                value=request[f"{name}_paces"],
                allowed="one of the two",
            )
        if COUNT not in request:
            raise MembersMissingError(
                "a length in paces needs the walker's count", member=COUNT, allowed="paces over 100 m"
            )
        metric[f"{name}_m"] = float(paced_length_m(metric.pop(f"{name}_paces"), request[COUNT]))
    if COUNT in request and not paced:
        raise MembersConflictError(
            "a count is given, but no length in paces",
            member=COUNT,
            value=request[COUNT],
            allowed=f"beside {', '.join(f'{name}_paces' for name in lengths)}",
        )
    return metric


@contextmanager
def naming(members: Mapping[str, str]) -> Iterator[None]:
    """Within it an error of the mathematics names the member that the request has, from ``members`` by its own name."""
    try:
        yield
    except NavigationError as error:
        error.member = members.get(error.member or "", error.member)
        raise


def paced_names(request: Mapping[str, Any]) -> dict[str, str]:
    """For `naming`: the lengths that the request has in paces, by their names in metres."""
    return {_in_metres_name(name): name for name in request if name.endswith("_paces")}


def sds_of_given(
    request: Mapping[str, Any], members: Mapping[str, str], defaults: Mapping[str, float]
) -> dict[str, float]:
    """Of two given quantities of three, the standard deviations; ``members`` has the name of each quantity's own.

    Raises `MembersConflictError` for one of a quantity that is sought: it follows.
    """
    for name, sd in members.items():
        if sd in request and name not in defaults:
            raise MembersConflictError(
                f"{sd} is of what is sought, and follows from the others",
                member=sd,
                value=request[sd],
                allowed="standard deviations of what is given",
            )
    return {members[name]: request.get(members[name], default) for name, default in defaults.items()}


def default_sd_cautions(request: Mapping[str, Any], defaults: Mapping[str, str]) -> list[Caution]:
    """What is to be said of standard deviations that were not given; ``defaults`` has words for each member."""
    taken = [words for member, words in defaults.items() if member not in request]
    if not taken:
        return []
    return [
        caution("default_sd", f"Standard deviations that were not given were taken as {'; '.join(taken)}.")
    ]


def weak_cautions(what: str, value: float, sd: float, unit: str) -> list[Caution]:
    """What is to be said of an estimate that is not known well."""
    if sd <= WEAK_RATIO * abs(value):
        return []
    message = f"The {what} is known to {worked(value)} {unit}, give or take {worked(sd)}: take it for a rough idea only."
    return [caution("weak_estimate", message)]


def as_given(value: float) -> str:
    """A number of a working as it was given: to a thousandth, without noughts behind."""
    text = f"{value:,.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def worked(value: float) -> str:
    """A number that came out of a working: to a tenth, below 1 to three figures."""
    return f"{value:,.1f}" if abs(value) >= 1.0 else f"{value:.3g}"


def _in_metres_name(name: str) -> str:
    return f"{name.removesuffix('_paces')}_m" if name.endswith("_paces") else name
