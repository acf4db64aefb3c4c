"""A stand-in for the service's batches: it speaks their protocol, reads no position, and misbehaves when told to.

A row is answered with the length of its position as ``lat_deg``; the position ``bad`` has an error. A CSV record of other
than the header's cells has one too. A position ``end`` ends the stream there, as a record that has no end does.
"""

import csv
import gzip
import io
import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pyarrow as pa
import pyarrow.parquet as pq

NDJSON, CSV, ARROW = "application/x-ndjson", "text/csv", "application/vnd.apache.arrow.stream"

#: What to do before a request is answered, with its number from 0 and its body. True: it is answered by this already.
Hook = Callable[[BaseHTTPRequestHandler, int, bytes], bool | None]


@dataclass
class Asked:
    """One request."""

    path: str
    media: str
    accept: str
    query: dict[str, list[str]]
    headers: dict[str, str]
    rows: list[dict[str, Any]]
    body: bytes = field(repr=False)


class StandIn:
    """The server; ``most_at_once`` is how many requests it had under way at one moment."""

    def __init__(self) -> None:
        self.asked: list[Asked] = []
        self.hook: Hook | None = None
        self.with_summary = False
        self.most_at_once = 0
        self._under_way = 0
        self._lock = threading.Lock()
        ours = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self) -> None:
                ours._post(self)

            def log_message(self, *_: object) -> None:
                """Nothing on the test's output."""

        class Server(ThreadingHTTPServer):
            def handle_error(self, *_: object) -> None:
                """A client that went away is what some tests are about."""

        self._server = Server(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_port}"
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.01})
        self._thread.start()

    def close(self) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()

    def _post(self, handler: BaseHTTPRequestHandler) -> None:
        # Not counted once its answer is on its way, whose reader asks the next thing at once.
        with self._counted():
            body = handler.rfile.read(int(handler.headers["Content-Length"]))
            if handler.headers.get("Content-Encoding") == "gzip":
                body = gzip.decompress(body)
            media, accept = handler.headers["Content-Type"], handler.headers["Accept"]
            rows, carried = read(media, body)
            path, query = urlsplit(handler.path).path, parse_qs(urlsplit(handler.path).query)
            with self._lock:
                number = len(self.asked)
                self.asked.append(Asked(path, media, accept, query, dict(handler.headers), rows, body))
            if self.hook is not None and self.hook(handler, number, body):
                return
            answer = written(accept, answered(rows, self.with_summary), carried)
        send(handler, 200, answer, accept)

    @contextmanager
    def _counted(self) -> Iterator[None]:
        with self._lock:
            self._under_way += 1
            self.most_at_once = max(self.most_at_once, self._under_way)
        try:
            yield
        finally:
            with self._lock:
                self._under_way -= 1


def read(media: str, body: bytes) -> tuple[list[dict[str, Any]], list[str]]:
    """The rows of a body, and the columns that they carry."""
    if media == NDJSON:
        rows = [_object(line) for line in body.split(b"\n") if line.strip()]
        return rows, list(dict.fromkeys(name for row in rows for name in row if name != "malformed"))
    if media == ARROW:
        table = pa.ipc.open_stream(body).read_all()
        return table.to_pylist(), table.column_names
    head, *records = (record for record in csv.reader(io.StringIO(body.decode(), newline="")) if record)
    fitting = [
        dict(zip(head, cells, strict=True)) if len(cells) == len(head) else {"malformed": True}
        for cells in records
    ]
    return fitting, head


def _object(line: bytes) -> dict[str, Any]:
    try:
        row = json.loads(line)
    except ValueError:
        row = None
    return row if isinstance(row, dict) else {"malformed": True}


def answered(rows: list[dict[str, Any]], with_summary: bool) -> list[dict[str, Any]]:
    records: list[dict[str, Any]] = []
    good = 0
    for number, row in enumerate(rows, start=1):
        position = row.get("position")
        if row.get("malformed"):
            records.append({"error": {"code": "malformed_row", "text": "no row", "row": number}})
        elif position == "end":
            fault = {"code": "malformed_stream", "text": "it ends here", "row": number, "byte": 0}
            records.append({"error": fault})
            break
        elif position == "bad":
            fault = {
                "code": "unreadable_position",
                "member": "position",
                "text": "no position",
                "row": number,
            }
            records.append({**row, "error": fault})
        else:
            good += 1
            records.append({**row, "answer": {"lat_deg": float(len(position or ""))}})
    if with_summary:
        longest = max((record["answer"]["lat_deg"] for record in records if "answer" in record), default=None)
        records.append({"summary": {"count": good, "largest": longest, "edges": [1.0], "counts": [good, 0]}})
    return records


def written(media: str, records: list[dict[str, Any]], carried: list[str]) -> bytes:
    if media == NDJSON:
        return b"".join(json.dumps(record).encode() + b"\n" for record in records)
    flat = [_flat(record) for record in records]
    errors = ["error.code", "error.member", "error.text", "error.row", "error.byte"]
    columns = [*carried, "answer.lat_deg", *errors, *(["summary"] if "summary" in _names(flat) else [])]
    if media == CSV:
        text = io.StringIO(newline="")
        writer = csv.DictWriter(text, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(flat)
        return text.getvalue().encode()
    types = {"answer.lat_deg": pa.float64(), "error.row": pa.int64(), "error.byte": pa.int64()}
    types |= dict.fromkeys([*errors[:3], "summary"], pa.string())
    arrays = [pa.array([row.get(name) for row in flat], types.get(name)) for name in columns]
    sink = pa.BufferOutputStream()
    table = pa.table(arrays, names=columns)
    with pa.ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    return sink.getvalue().to_pybytes()


def _names(flat: list[dict[str, Any]]) -> set[str]:
    return {name for row in flat for name in row}


def _flat(record: dict[str, Any]) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for name, value in record.items():
        if name in ("answer", "error"):
            flat |= {f"{name}.{part}": below for part, below in value.items()}
        else:
            flat[name] = json.dumps(value) if name == "summary" else value
    return flat


def send(handler: BaseHTTPRequestHandler, status: int, body: bytes, media: str) -> None:
    handler.send_response(status)
    handler.send_header("Content-Type", media)
    if handler.close_connection:
        handler.send_header("Connection", "close")  # which http.server, unlike others, does not say by itself
    if "gzip" in handler.headers.get("Accept-Encoding", ""):
        body = gzip.compress(body)
        handler.send_header("Content-Encoding", "gzip")
    handler.send_header("Content-Length", str(len(body)))
    handler.end_headers()
    handler.wfile.write(body)


def slowly(seconds: float) -> Hook:
    """Every answer after a wait."""

    def hook(*_: object) -> None:
        time.sleep(seconds)

    return hook


def places(count: int) -> list[dict[str, Any]]:
    """Rows whose positions are as long as their numbers say, so that each answer tells its row."""
    return [{"id": number, "position": "x" * (number % 50)} for number in range(count)]


def source_files(folder: Path, count: int) -> dict[str, Path]:
    """The same rows in a file of each kind."""
    rows = places(count)
    table = pa.Table.from_pylist(rows)
    paths = {kind: folder / f"places.{kind}" for kind in ("csv", "ndjson", "jsonl", "parquet", "arrow")}
    records = "".join(f"{row['id']},{row['position']}\n" for row in rows)
    paths["csv"].write_text(f"id,position\n{records}")
    lines = "".join(json.dumps(row) + "\n" for row in rows)
    for kind in ("ndjson", "jsonl"):
        paths[kind].write_text(lines)
    pq.write_table(table, paths["parquet"], row_group_size=7)
    with pa.ipc.new_file(str(paths["arrow"]), table.schema) as file:
        file.write_table(table, max_chunksize=7)
    return paths
