"""zstd bodies that want more memory than HTTP allows them, and frames of all kinds that do not."""

from __future__ import annotations

import io
import itertools

import pyarrow as pa
import pytest

from threenorths_service.api.problems import BadBodyError
from threenorths_service.api.zstd_frames import MOST_WINDOW_BYTES, BoundedFrames
from threenorths_service.batch.stream import NDJSON

LINE = b'{"position":"33VVK1234567890"}\n'
MAGIC = b"\x28\xb5\x2f\xfd"
SKIPPABLE = b"\x53\x2a\x4d\x18\x05\x00\x00\x00apart" + b"\x50\x2a\x4d\x18\x00\x00\x00\x00"


def frame(content: bytes, header: bytes, *, magic: bytes = MAGIC) -> bytes:
    """A frame with the content as it is, behind its flags and the fields of its header."""
    return magic + header + (len(content) << 3 | 1).to_bytes(3, "little") + content


def windowed(content: bytes, exponent: int, mantissa: int = 0) -> bytes:
    """A frame with a window of (8 + mantissa) / 8 times 2 to the power of 10 + exponent."""
    return frame(content, bytes([0, exponent << 3 | mantissa]))


def single(content: bytes, size: int) -> bytes:
    """A frame whose content is its window, of a stated size."""
    return frame(content, bytes([0xE0]) + size.to_bytes(8, "little"))


def read(body: bytes, sizes: tuple[int, ...] = (1 << 16,)) -> bytes:
    """The body as it is let through, in pieces of the sizes in turn."""
    file = BoundedFrames(io.BytesIO(body))
    pieces = iter(itertools.cycle(sizes))
    return b"".join(iter(lambda: file.read(next(pieces)), b""))


def decoded(body: bytes) -> bytes:
    return pa.CompressedInputStream(pa.PythonFile(BoundedFrames(io.BytesIO(body)), mode="r"), "zstd").read()


@pytest.fixture
def ask(app):
    """Post a zstd body of lines of JSON and give the response; its status is checked."""

    def ask(body, status=200):
        response = app.test_client().post(
            "/v1/batches/positions?columns=lat_deg",
            data=body,
            headers={"Content-Type": NDJSON, "Content-Encoding": "zstd"},
            buffered=True,
        )
        assert response.status_code == status, response.get_data(as_text=True)
        return response

    return ask


@pytest.mark.parametrize(
    "body",
    [
        windowed(LINE, 17),  # 128 MiB, the most that the decoder takes
        windowed(LINE, 13, 1),
        windowed(LINE, 31, 7),  # 3.75 TB, the most that there is
        single(LINE, (8 << 20) + 1),
        frame(LINE, bytes([0xA0]) + (128 << 20).to_bytes(4, "little")),
        frame(LINE, bytes([0xE3]) + bytes(4) + (1 << 40).to_bytes(8, "little")),
        SKIPPABLE + windowed(LINE, 14),
        pa.Codec("zstd").compress(LINE * 9).to_pybytes() + windowed(LINE, 17),
    ],
    ids=range(8),
)
def test_a_window_of_more_than_8_mib_is_refused(ask, body):
    problem = ask(body, status=400).get_json()
    assert problem["code"] == "bad_request"
    assert "and 8 MiB are the most over HTTP" in problem["detail"]


def test_the_window_that_is_wanted_is_named(ask):
    assert "a window of 128 MiB," in ask(windowed(LINE, 17), status=400).get_json()["detail"]
    assert "a window of 9 MiB," in ask(windowed(LINE, 13, 1), status=400).get_json()["detail"]


@pytest.mark.parametrize(
    "body",
    [
        windowed(LINE, 13),
        windowed(LINE, 12, 7),
        frame(LINE, bytes([0x20, len(LINE)])),
        frame(LINE * 9, bytes([0x60]) + (len(LINE) * 9 - 256).to_bytes(2, "little")),
        frame(LINE, bytes([0xA0]) + len(LINE).to_bytes(4, "little")),
        SKIPPABLE + windowed(LINE, 5) + SKIPPABLE + windowed(LINE, 6) + SKIPPABLE,
    ],
    ids=range(6),
)
def test_a_window_of_up_to_8_mib_is_taken(ask, body):
    assert ask(body).data.count(b'"lat_deg"') == body.count(LINE)


@pytest.mark.parametrize("level", [-5, 1, 3, 9, 19])
def test_what_zstd_makes_at_its_ordinary_levels_is_taken(level):
    content = b"".join(
        b"%d %d\n" % (row, row * row % 9973) for row in range(1_000_000 if level < 9 else 100_000)
    )
    body = pa.Codec("zstd", level).compress(content).to_pybytes()
    assert len(content) > MOST_WINDOW_BYTES or level >= 9
    assert decoded(body) == content


def test_frames_are_let_through_in_pieces_of_any_size():
    content = bytes(range(256)) * 2000 + b"a" * 500_000  # blocks of all kinds
    sink = pa.BufferOutputStream()
    with pa.CompressedOutputStream(sink, "zstd") as stream:
        stream.write(content)
        stream.flush()
        stream.write(LINE)
    checked = bytearray(frame(LINE, bytes([4, 5 << 3])) + b"\x00\x00\x00\x00")
    body = SKIPPABLE + sink.getvalue().to_pybytes() + windowed(LINE, 3) + bytes(checked) + SKIPPABLE
    assert decoded(SKIPPABLE + sink.getvalue().to_pybytes() + windowed(LINE, 3)) == content + LINE * 2
    for sizes in ((1,), (2, 3), (7, 1, 64), (len(body),)):
        assert read(body, sizes) == body
        with pytest.raises(BadBodyError):
            read(body + windowed(LINE, 17), sizes)


def test_a_body_cut_anywhere_is_let_through_as_far_as_it_comes():
    body = SKIPPABLE + windowed(LINE, 3) + single(LINE, len(LINE))
    body += frame(LINE, bytes([0x23]) + b"\xff" * 4 + bytes([len(LINE)]))  # with the number of a dictionary
    for end in range(len(body)):
        assert read(body[:end], (5,)) == body[:end]


@pytest.mark.parametrize("bad", [b"rubbish!", windowed(LINE, 3)[:6] + b"\x07\x00\x00", b"\x00" * 9])
def test_what_comes_before_something_that_is_no_frame_is_answered(ask, bad):
    lines = ask(windowed(LINE * 1000, 7) * 2 + bad).data.splitlines()
    # pyarrow loses what it decoded in the call that meets the break.
    assert 2000 - (8 << 10) / len(LINE) < len(lines) <= 2001
    assert b"malformed_stream" in lines[-1]
    assert b"the zstd compression breaks off" in lines[-1]
    assert "breaks off" in ask(bad, status=400).get_json()["detail"]


@pytest.mark.parametrize("first", range(0x1E, 0x28))
def test_frames_of_before_the_standard_are_not_taken(ask, first):
    body = frame(LINE, bytes([0, 17 << 3]), magic=bytes([first]) + MAGIC[1:])
    assert "no frame of zstd" in ask(body, status=400).get_json()["detail"]


def test_any_bit_turned_in_a_header_fails_in_one_of_two_ways():
    body = SKIPPABLE + windowed(LINE, 3) + single(LINE, len(LINE)) + frame(LINE, bytes([0x20, len(LINE)]))
    for at in range(len(body)):
        for bit in range(8):
            damaged = bytearray(body)
            damaged[at] ^= 1 << bit
            try:
                assert read(bytes(damaged), (11,)) == bytes(damaged)
            except (OSError, BadBodyError):
                continue
