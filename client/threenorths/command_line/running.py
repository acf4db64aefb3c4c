"""How every command runs: what it shares with the others, how it prints, and how it fails."""

from __future__ import annotations

import functools
import json
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NoReturn, Protocol

import click

from ..answers import Caution
from ..client import DEFAULT_URL, URL_VARIABLE, Client
from ..errors import (
    ArgumentError,
    InvalidRequestError,
    NoAnswerError,
    ServiceError,
    ThreeNorthsError,
    TransportError,
)
from ..transport import RETRIED_STATUSES
from .tables import Tables, aligned

__all__ = ["BAD_INPUT", "FAILED", "URL", "Answer", "Command", "failing_plainly", "operation_command"]

#: Exit codes. 0 is an answer; 2 is also what click gives for options that it does not know.
FAILED, BAD_INPUT, NO_SERVICE = 1, 2, 3

_BEGINS_AS_NUMBER = re.compile(r"-[0-9.]")


class Answer(Protocol):
    """What every answer of an operation has."""

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What the answer cannot know well."""

    @property
    def working(self) -> tuple[str, ...] | None:
        """The steps of the sum, where asked for."""

    @property
    def raw_json(self) -> str:
        """The answer as it came."""


class Command(click.Command):
    """A command with examples, whose arguments may begin with a minus sign: ``-33.9, 18.4`` is a position, not options."""

    def __init__(self, *arguments: Any, examples: tuple[str, ...] = (), **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.examples = examples

    def format_epilog(
        self,
        ctx: click.Context,  # noqa: ARG002 - click's signature
        formatter: click.HelpFormatter,
    ) -> None:
        """Write the examples, each on a line of its own so that it can be copied."""
        with formatter.section("Examples, with invented places and numbers"):
            for example in self.examples:
                formatter.write(f"{'':{formatter.current_indent}}{example}\n")

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse, with a blank set before such arguments; positions and numbers are read the same with it."""
        return super().parse_args(ctx, [f" {arg}" if _BEGINS_AS_NUMBER.match(arg) else arg for arg in args])


URL = click.Option(
    ["--url"],
    metavar="URL",
    help=f"Address of the service. Left out: ${URL_VARIABLE}, or else {DEFAULT_URL}.",
)
_JSON = click.Option(["--json", "as_json"], is_flag=True, help="Print the answer's JSON as it came.")
_WORKING = click.Option(["--working"], is_flag=True, help="Print the steps of the sum too.")


_GEOJSON = click.Option(
    ["--geojson", "as_geojson"], is_flag=True, help="Print the answer as a GeoJSON feature."
)


def operation_command(
    name: str,
    show: Callable[[Any], Tables],
    closing: str | None = None,
    *,
    examples: tuple[str, ...],
    feature: Callable[..., dict[str, Any]] | None = None,
) -> Callable[[Callable[..., Answer]], click.Command]:
    """Make a command of a function that asks an operation, whose name the command has.

    The function takes a `Client` and the values of its options, and gives the answer; ``show`` makes the answer's
    tables. ``closing`` is said below all, and ``examples`` are command lines for the help. ``feature``, of what the
    function takes, gives the answer as GeoJSON, where it has a shape.
    """

    def decorate(ask: Callable[..., Answer]) -> click.Command:
        @click.command(name, cls=Command, examples=examples)
        @functools.wraps(ask)
        def run(
            url: str | None, as_json: bool, working: bool, as_geojson: bool = False, **arguments: Any
        ) -> None:
            with failing_plainly(), Client(url) as client:
                if as_geojson and feature is not None:
                    shape = feature(client, working=working or None, **arguments)
                    click.echo(json.dumps(shape, ensure_ascii=False))
                    return
                answer = ask(client, working=working or None, **arguments)
            click.echo(answer.raw_json if as_json else "\n".join(_page(answer, show(answer), closing)))

        run.params += [_WORKING, _JSON, *([] if feature is None else [_GEOJSON]), URL]
        return run

    return decorate


@contextmanager
def failing_plainly() -> Iterator[None]:
    """Turn the client's errors into words on the standard error stream and an exit code."""
    try:
        yield
    except ThreeNorthsError as error:
        _fail(error)


def _page(answer: Answer, tables: Tables, closing: str | None) -> Iterator[str]:
    for index, rows in enumerate(rows for rows in tables if rows):
        if index > 0:
            yield ""
        yield from aligned(rows)
    if answer.working:
        yield ""
        yield "Working:"
        yield from (f"  {number}. {step}" for number, step in enumerate(answer.working, start=1))
    if answer.cautions:
        yield ""
        yield from (f"Caution: {caution.message}" for caution in answer.cautions)
    if closing is not None:
        yield ""
        yield closing


def _fail(error: ThreeNorthsError) -> NoReturn:
    click.echo(f"Error: {error}", err=True)
    if isinstance(error, TransportError):
        click.echo(f"Is the service running there? --url or ${URL_VARIABLE} says where it is.", err=True)
    sys.exit(_exit_code(error))


def _exit_code(error: ThreeNorthsError) -> int:
    if isinstance(error, TransportError) or (
        isinstance(error, ServiceError) and error.status in RETRIED_STATUSES
    ):
        return NO_SERVICE
    is_input = isinstance(error, ArgumentError | InvalidRequestError | NoAnswerError)
    return BAD_INPUT if is_input else FAILED
