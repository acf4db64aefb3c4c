"""Arrow streams of a few kilobytes that would become gigabytes, and record batches that are that large: refused unread."""

from __future__ import annotations

import io
import struct
import subprocess
import sys
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.ipc as arrow_ipc
import pytest

from arrow_streams import written

MEASURE = """
import io, sys
sys.path.insert(0, {tests!r})
import pyarrow as pa
from arrow_streams import written
from batch_rows import decoded
from threenorths_service.batch.catalogue import BATCHED, COLUMNAR
from threenorths_service.batch.chunks import Source
from threenorths_service.batch.plan import plan_of
from threenorths_service.batch.stream import ARROW, answer_stream

positions = BATCHED["positions"]
plan = plan_of(positions, COLUMNAR["positions"], ("lat_deg", "lon_deg"))

def answers_to(file):
    return decoded(b"".join(answer_stream(Source(file, positions), plan, ARROW, ARROW)), ARROW)

def most_kib():
    status = open("/proc/self/status").read()
    return int(status.partition("VmHWM:")[2].split()[0])

answers_to(io.BytesIO(written(pa.table({{"position": ["33VVK12"] * 9}}), compression="zstd")))
before = most_kib()
with open({path!r}, "rb") as file:
    rows = answers_to(file)
print(len(rows), most_kib() - before, rows[-1]["error.text"])
"""


class Sparse(io.RawIOBase):
    """A file in which long runs are left out as holes: as many zeros, that take no room."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self._file = path.open("wb")

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        if len(data) < 1 << 16:
            return self._file.write(data)
        self._file.seek(len(data), io.SEEK_CUR)
        return len(data)

    def close(self) -> None:
        self._file.close()
        super().close()


@pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="reads the peak of memory as Linux tells it"
)
@pytest.mark.parametrize("kind", ["compressed", "dictionary", "plain", "stated"])
def test_a_trap_is_refused_without_the_memory_that_it_would_take(kind, tmp_path):
    path = tmp_path / "trap.arrows"
    zeros = pa.Array.from_buffers(pa.float64(), 1 << 20, [None, pa.py_buffer(bytes(8 << 20))])
    wide = pa.table(
        {"position": pa.nulls(1 << 20, pa.string()), **{f"own{number}": zeros for number in range(400)}}
    )
    if kind == "compressed":
        path.write_bytes(written(wide, 1 << 20, compression="zstd"))
        assert path.stat().st_size < 1 << 20
    elif kind == "plain":
        with Sparse(path) as file, arrow_ipc.new_stream(pa.PythonFile(file, mode="w"), wide.schema) as stream:
            stream.write_table(wide)
        assert path.stat().st_size > 3 << 30
    elif kind == "dictionary":
        texts = pa.DictionaryArray.from_arrays(pa.array([0]), zeros)
        table = pa.table({"position": ["33VVK12"], **{f"own{number}": texts for number in range(400)}})
        path.write_bytes(written(table, compression="zstd"))
        assert path.stat().st_size < 1 << 20
    else:
        stream = written(pa.table({"position.lat_deg": zeros}), 1 << 20, compression="lz4")
        stated = struct.pack("<q", 8 << 20)
        assert stream.count(stated) == 1
        path.write_bytes(stream.replace(stated, struct.pack("<q", 3 << 30)))
    code = MEASURE.format(tests=str(Path(__file__).parents[1]), path=str(path))
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    rows, grown_kib, text = told.split(" ", 2)
    assert int(rows) == 1
    assert "the record batch would take" in text
    assert int(grown_kib) < 32 << 10
