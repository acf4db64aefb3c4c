"""One piece of a batch, asked of the service until each of its rows has its answer."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from dataclasses import replace

from .batch_answers import MALFORMED, Break, PartAnswer, SentAnswer
from .batch_arrow_answers import joined_tables, misfit_table, read_arrow
from .batch_csv_answers import joined_csv, misfit_csv, read_csv
from .batch_ndjson_answers import misfit_line, read_ndjson
from .batch_options import BatchOptions
from .batch_pieces import ARROW, CSV, NDJSON, ArrowPiece, LinePiece, Misfit, Piece
from .batch_summaries import merged
from .errors import DamagedStreamError, ResponseError, ThreeNorthsError
from .replies import error_of
from .transport import Reply, Transport

__all__ = ["PieceAsker"]

#: How often a piece is sent that the service could not read, though nothing is wrong with it to be seen, or that was answered
#: without all its rows.
TRIES_OF_DAMAGED = 3

#: What a piece is answered by: the rows of one request, or the one row between two of them that could not be read.
_Found = SentAnswer | Misfit

_READERS: dict[str, Callable[[bytes, int], SentAnswer]] = {
    NDJSON: read_ndjson,
    CSV: read_csv,
    ARROW: read_arrow,
}


class PieceAsker:
    """Asks for the answers of pieces, in the medium ``accept``. Threads may share one."""

    def __init__(self, transport: Transport, options: BatchOptions, accept: str) -> None:
        self._transport, self._options, self._accept = transport, options, accept

    def __call__(self, piece: Piece) -> PartAnswer:
        """The answer to one piece.

        Most pieces take one request. A row that the service cannot read past, such as a record of CSV that has no end,
        ends its answer there: it gets its error as its answer, and the rows behind it a further request. Raises `ApiError`,
        `TransportError`, `ResponseError`, or `DamagedStreamError` where what arrives is not what was sent.
        """
        found = self._ask_table(piece) if isinstance(piece, ArrowPiece) else self._ask_lines(piece)
        return self._part(piece, found)

    def _ask_table(self, piece: ArrowPiece) -> list[_Found]:
        for _ in range(TRIES_OF_DAMAGED):
            answer, reply = self._send(piece)
            if self._is_whole(answer, piece.rows):
                return [answer]
        # No row's contents can break an Arrow stream: it was broken on the way, or is of a kind the service does not know.
        raise self._damaged(answer, piece.rows, reply)

    def _ask_lines(self, piece: LinePiece) -> list[_Found]:
        found: list[_Found] = []
        suspect: int | None = None
        tries = 0
        while True:
            answer, reply = self._send(piece)
            if self._is_whole(answer, piece.rows):
                return [*found, answer]
            at = self._broken_at(answer, piece.rows)
            if at is None or answer.broken is None or piece.numbers[at] != suspect:
                # Was it damaged on the way? That does not strike the same row twice.
                suspect, tries = None if at is None else piece.numbers[at], tries + 1
                if tries == TRIES_OF_DAMAGED:
                    raise self._damaged(answer, piece.rows, reply)
                continue
            found += [answer, _misfit(piece, at, answer.broken)]
            piece, suspect, tries = piece.behind(at), None, 0
            if not piece.lines:
                return found

    def _send(self, piece: Piece) -> tuple[SentAnswer, Reply]:
        body = piece.body()
        # A request's own connection lets a balancer, and a service of several workers, give each to whoever is free.
        headers = {"Accept-Encoding": "identity", "Connection": "close"}
        if self._options.compress:
            body = gzip.compress(body, compresslevel=1, mtime=0)
            headers |= {"Accept-Encoding": "gzip", "Content-Encoding": "gzip"}
        reply = self._transport.send(
            "POST", self._options.path, body, accept=self._accept, content_type=piece.media, headers=headers
        )
        if reply.status != 200:
            raise error_of(reply)
        if reply.content_type != self._accept:
            message = f"the answer is not {self._accept} but {reply.content_type or 'of an unnamed type'}; is there a proxy?"
            raise ResponseError(message, reply.status, reply.request_id)
        try:
            answer = _READERS[self._accept](reply.body, piece.numbers.start - 1)
            if not self._options.rows_come and answer.summary is not None:
                answer = replace(answer, bad_rows=sum(answer.summary.get("errors", {}).values()))
            return answer, reply
        except ThreeNorthsError:
            raise
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            message = f"the answer is no {self._accept} as this version of the client knows it: {error}"
            raise ResponseError(message, reply.status, reply.request_id) from error

    def _rows_to_come(self, rows: int) -> int:
        return rows if self._options.rows_come else 0

    def _is_whole(self, answer: SentAnswer, rows: int) -> bool:
        return answer.broken is None and answer.rows == self._rows_to_come(rows)

    def _broken_at(self, answer: SentAnswer, rows: int) -> int | None:
        """The index of the line that the service could not read past, all before it answered; ``None`` if there is none."""
        if answer.broken is None:
            return None
        at = answer.rows if answer.broken.row is None else answer.broken.row - 1
        return at if at < rows and answer.rows == self._rows_to_come(at) else None

    def _damaged(self, answer: SentAnswer, rows: int, reply: Reply) -> DamagedStreamError:
        if answer.broken is None:
            message = f"{self._rows_to_come(rows):,} rows were to come and {answer.rows:,} came"
        else:
            message = f"what the service read is not what was sent: {answer.broken.text}"
        return DamagedStreamError(message, reply.status, reply.request_id)

    def _part(self, piece: Piece, found: list[_Found]) -> PartAnswer:
        summary, bad_rows = None, 0
        answers = [part for part in found if isinstance(part, SentAnswer)]
        for answer in answers:
            summary = merged(summary, answer.summary)
            bad_rows += answer.bad_rows
        if misfits := len(found) - len(answers):
            bad_rows += misfits
            if summary is not None:
                # The service counts the rows that it could read.
                summary = merged(summary, {"rows": misfits, "errors": {MALFORMED: misfits}})
        if not self._options.rows_come:
            found = [*answers]
        head, lines, table = b"", list[bytes](), None
        if self._accept == ARROW:
            table = joined_tables(
                [part.table if isinstance(part, SentAnswer) else misfit_table(part) for part in found]
            )
        elif self._accept == CSV:
            head, lines = joined_csv(
                [
                    (part.head, part.lines) if isinstance(part, SentAnswer) else misfit_csv(part)
                    for part in found
                ]
            )
        else:
            for part in found:
                lines += part.lines if isinstance(part, SentAnswer) else [misfit_line(part)]
        return PartAnswer(piece.rows, bad_rows, head, lines, table, summary, piece.end)


def _misfit(piece: LinePiece, at: int, broken: Break) -> Misfit:
    """The row that a request broke off in, told by its place in the source, in the text too."""
    number = piece.numbers[at]
    byte = None if broken.byte is None else piece.byte_in_source(at, broken.byte)
    place = f"row {number}" if byte is None else f"row {number}, at byte {byte}"
    text = broken.text.replace(f"row {broken.row}, at byte {broken.byte}", place)
    return Misfit(number, byte, text)
