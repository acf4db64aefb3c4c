"""A server on loopback that does, request by request, what it is told to: answer well, badly, or not at all."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

#: What to do with one request.
Act = Callable[[BaseHTTPRequestHandler], None]

POSITION = b"""{"cautions": [], "lat_deg": 58.3, "lon_deg": 13.5, "datum": "WGS84", "mgrs": "33VVE1267",
"mgrs_spaced": "33V VE 12 67", "square_m": 1000.0, "square_corners": [], "utm": null, "ups": null,
"central_meridian_deg": 15.0, "east_of_central_meridian_m": -87500.0, "convergence_deg": -1.27, "point_scale_factor": 0.9997,
"written": {"decimal_degrees": "", "degrees_minutes": "", "degrees_minutes_seconds": ""}, "form": "mgrs",
"read_as": "MGRS 33VVE1267", "resolution_m": 1000.0, "shift": null, "local": null,
 "expected": null, "alternatives": [], "a_member_of_tomorrow": [1]}"""


@dataclass
class Received:
    """A request as the server got it."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes


class MisbehavingServer:
    """Performs its acts in order, and the last one again for every further request."""

    def __init__(self) -> None:
        self.acts: list[Act] = [answer(200, POSITION)]
        self.received: list[Received] = []
        self.stopping = threading.Event()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler_class())
        self.url = f"http://127.0.0.1:{self._server.server_port}"
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.01})
        self._thread.start()

    def close(self) -> None:
        self.stopping.set()
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()

    def _handler_class(self) -> type[BaseHTTPRequestHandler]:
        ours = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"
            server_stopping = self.stopping

            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
                ours.received.append(Received(self.command, self.path, dict(self.headers), body))
                act = ours.acts.pop(0) if len(ours.acts) > 1 else ours.acts[0]
                act(self)

            do_GET = do_POST  # noqa: N815 - the name that http.server looks for

            def log_message(self, *_: object) -> None:
                """Nothing on the test's output."""

        return Handler


def answer(status: int, body: bytes, content_type: str = "application/json", **headers: str) -> Act:
    """A whole answer. An underscore in a header's name stands for a dash."""

    def act(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(status)
        handler.send_header("Content-Type", content_type)
        handler.send_header("Content-Length", str(len(body)))
        for name, value in headers.items():
            handler.send_header(name.replace("_", "-"), value)
        handler.end_headers()
        handler.wfile.write(body)

    return act


def cut_before_the_answer(handler: BaseHTTPRequestHandler) -> None:
    handler.close_connection = True


def cut_mid_answer(handler: BaseHTTPRequestHandler) -> None:
    """Half of what was announced, then the end of the connection."""
    handler.send_response(200)
    handler.send_header("Content-Type", "application/json")
    handler.send_header("Content-Length", str(len(POSITION)))
    handler.end_headers()
    handler.wfile.write(POSITION[: len(POSITION) // 2])
    handler.close_connection = True


def never_answer(handler: BaseHTTPRequestHandler) -> None:
    handler.server_stopping.wait(60)
    handler.close_connection = True


def fall_silent_mid_answer(handler: BaseHTTPRequestHandler) -> None:
    handler.send_response(200)
    handler.send_header("Content-Length", "100")
    handler.end_headers()
    handler.wfile.write(b"{")
    handler.wfile.flush()
    never_answer(handler)


def not_http(handler: BaseHTTPRequestHandler) -> None:
    handler.wfile.write(b"SSH-2.0-something else listens here\r\n")
    handler.close_connection = True
