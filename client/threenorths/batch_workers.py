"""Several requests under way at once, their answers in order, and never many more of them than are taken."""

from __future__ import annotations

import queue
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future
from typing import Generic, TypeVar

__all__ = ["answers_in_order"]

Asked = TypeVar("Asked")
Answered = TypeVar("Answered")


def answers_in_order(
    ask: Callable[[Asked], Answered], pieces: Iterable[Asked], at_once: int
) -> Generator[Answered, None, None]:
    """The answers to the pieces in their order, ``at_once`` of them asked for at a time.

    Pieces are drawn here, in the caller's own thread, and only while fewer than twice ``at_once`` are under way or wait to be
    taken: whoever takes slowly holds the source back. What a request raises is raised in its answer's place, and what the
    source raises behind the answers to all that was drawn from it. Whoever stops early, or is stopped, waits for no request:
    its threads end with the requests that they are in, or with the program.
    """
    window = 2 * at_once
    workers = _Workers(ask, at_once)
    pending: deque[Future[Answered]] = deque()
    drawing, failed = iter(pieces), None
    try:
        while True:
            try:
                piece = next(drawing)
            except StopIteration:
                break
            except Exception as error:  # noqa: BLE001 - it is raised behind the answers
                failed = error
                break
            pending.append(workers.submit(piece))
            while pending and (len(pending) >= window or pending[0].done()):
                yield pending.popleft().result()
        while pending:
            yield pending.popleft().result()
        if failed is not None:
            raise failed
    finally:
        for future in pending:
            future.cancel()
        workers.stop()


class _Workers(Generic[Asked, Answered]):
    """Daemon threads, which a program that is stopped does not wait for; those of an executor it would."""

    def __init__(self, ask: Callable[[Asked], Answered], count: int) -> None:
        self._ask, self._count = ask, count
        self._jobs: queue.SimpleQueue[tuple[Future[Answered], Asked] | None] = queue.SimpleQueue()
        self._threads: list[threading.Thread] = []

    def submit(self, piece: Asked) -> Future[Answered]:
        future: Future[Answered] = Future()
        self._jobs.put((future, piece))
        if len(self._threads) < self._count:
            thread = threading.Thread(target=self._work, name="threenorths batch", daemon=True)
            self._threads.append(thread)
            thread.start()
        return future

    def stop(self) -> None:
        for _ in self._threads:
            self._jobs.put(None)

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            future, piece = job
            if future.set_running_or_notify_cancel():
                try:
                    future.set_result(self._ask(piece))
                except BaseException as error:  # noqa: BLE001 - it is raised where the answer is taken
                    future.set_exception(error)
            del job, future, piece  # nothing is held while the thread waits
