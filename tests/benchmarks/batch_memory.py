"""Memory of a worker over ten million rows of each medium, above what it has when idle.

`python -m benchmarks batch_memory`, from the folder of the tests.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryFile

import numpy as np
import pyarrow as pa
import pyarrow.ipc as arrow_ipc
import requests

from serving import APPLICATION, GUNICORN, started_service
from threenorths_service.batch.stream import ARROW, CSV, NDJSON
from threenorths_service.navmath.references.mgrs import write_mgrs

from .ratio import Ratio

__all__ = ["measure"]

ROWS, ROWS_A_PIECE = 10_000_000, 100_000
AIM_MIB = 150.0


def measure() -> Iterator[Ratio]:
    """Each medium in a service of its own, since the peak of a process never sinks."""
    for medium in (ARROW, CSV, NDJSON):
        with (
            TemporaryFile() as body,
            started_service([*GUNICORN, APPLICATION], WEB_CONCURRENCY="1") as service,
        ):
            size = _write(body, medium)
            body.seek(0)
            (worker,) = (
                Path(f"/proc/{service.process.pid}/task/{service.process.pid}/children").read_text().split()
            )
            idle_mib = _mib(worker, "VmRSS")
            rows = 0
            with requests.post(
                f"{service.base_url}/v1/batches/positions?columns=lat_deg,lon_deg",
                body,
                headers={"Content-Type": medium, "Accept": CSV, "Accept-Encoding": "identity"},
                stream=True,
                timeout=600,
            ) as answer:
                for piece in answer.iter_content(1 << 20):
                    rows += piece.count(b"\n")
            if rows != ROWS + 1:
                raise AssertionError(f"{rows} lines came back")
            above_mib = _mib(worker, "VmHWM") - idle_mib
            note = f"{idle_mib:.0f} MiB idle, {size / 1e6:.0f} MB sent"
            yield Ratio(
                f"memory over {ROWS:,} rows, {medium}, MiB above idle", above_mib, AIM_MIB, False, note
            )


def _write(body: object, medium: str) -> int:
    random = np.random.default_rng(4)
    stream = None
    for start in range(0, ROWS, ROWS_A_PIECE):
        texts = write_mgrs(
            random.uniform(-79, 83, ROWS_A_PIECE), random.uniform(-180, 180, ROWS_A_PIECE)
        ).tolist()
        numbers = range(start, start + ROWS_A_PIECE)
        if medium == ARROW:
            batch = pa.record_batch({"id": pa.array(numbers), "position": pa.array(texts)})
            stream = stream or arrow_ipc.new_stream(body, batch.schema)
            stream.write_batch(batch)
            continue
        header = "id,position\n" if medium == CSV and start == 0 else ""
        form = "{},{}\n" if medium == CSV else '{{"id":{},"position":"{}"}}\n'
        body.write((header + "".join(map(form.format, numbers, texts))).encode())  # type: ignore[attr-defined]
    if stream is not None:
        stream.close()
    return int(body.tell())  # type: ignore[attr-defined]


def _mib(process: str, name: str) -> float:
    for line in Path(f"/proc/{process}/status").read_text().splitlines():
        if line.startswith(f"{name}:"):
            return int(line.split()[1]) / 1024.0
    raise KeyError(name)
