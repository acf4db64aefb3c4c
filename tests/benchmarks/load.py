"""Load on a service from a process of its own: it imports next to nothing, so that it starts at once."""

from __future__ import annotations

import socket
import time
from urllib.parse import urlsplit

__all__ = ["count_answers"]

CONNECTIONS = 4


def count_answers(task: tuple[str, str, bytes, float]) -> int:
    """Requests answered in so many seconds over a few connections, each asked in turn."""
    base_url, path, body, seconds = task
    address = urlsplit(base_url)
    head = (
        f"POST {path} HTTP/1.1\r\nHost: {address.netloc}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    message = head.encode() + body
    sockets = [socket.create_connection((address.hostname, address.port)) for _ in range(CONNECTIONS)]
    answered = 0
    try:
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            for connection in sockets:
                connection.sendall(message)
            for connection in sockets:
                _read_answer(connection)
                answered += 1
    finally:
        for connection in sockets:
            connection.close()
    return answered


def _read_answer(connection: socket.socket) -> None:
    received = b""
    while b"\r\n\r\n" not in received:
        received += connection.recv(65536)
    head, _, body = received.partition(b"\r\n\r\n")
    if not head.startswith(b"HTTP/1.1 200"):
        raise RuntimeError(received.decode(errors="replace"))
    length = int(head.lower().partition(b"content-length:")[2].partition(b"\r\n")[0])
    missing = length - len(body)
    while missing > 0:
        missing -= len(connection.recv(65536))
