"""The allowance law in a process of its own, for the questions that are asked all day.

A flight is some thousands of short calls that hold the interpreter; beside an event loop of the
same interpreter each makes the other wait (``python -m tests.bench.rate`` prints both). One pipe
rather than a pool of processes: a pool's threads pass a job on thrice, and each waits its turn too.
"""

import logging
import multiprocessing
import signal
import threading
import time
from contextlib import suppress
from dataclasses import replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

import numpy as np

from engine.finish_law import allow_finish
from engine.ground import Ground
from engine.law import Allowances, Shots
from engine.rack import Rack
from engine.response import Response
from shared.errors import EngineError

log = logging.getLogger(__name__)

Asked = dict[str, Any]  # what ``allow_finish`` takes
PATIENCE_S = 5.0  # a batch takes some 10 ms
REST_S = 30.0  # from one start to the next: a process that can't live is not begun all the time


class LawWorker:
    """``allow_finish`` in another process; in this one while that is not up, and where it fails.

    Call it from threads, never from the event loop.
    """

    def __init__(self, *, rest_s: float = REST_S) -> None:
        self._rest_s = rest_s
        self._lock = threading.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._started_s: float | None = None
        self._up = self._closed = False

    def start(self) -> None:
        """Have the process come up; it answers once it has imported the engine."""
        context = multiprocessing.get_context("spawn")  # a fork would copy the threads' locks
        with self._lock:
            if self._closed:
                return
            self._started_s = time.monotonic()
            pipe, theirs = context.Pipe()
            process = context.Process(target=serve, args=(theirs,), name="law", daemon=True)
            process.start()
            theirs.close()
            self._process, self._pipe, self._up = process, pipe, False

    @property
    def pid(self) -> int | None:
        """The process that computes, None where none does."""
        return None if self._process is None else self._process.pid

    @property
    def is_up(self) -> bool:
        """Whether the process answers by now."""
        with self._lock:
            return self._pipe is not None and self._has_come_up(self._pipe)

    def __call__(
        self,
        *,
        rack: Rack,
        shots: Shots,
        grounds: Ground | None,
        over_full: float,
        response: Response | None,
    ) -> Allowances:
        """As ``engine.finish_law.allow_finish``."""
        rows, places = np.unique(shots.row, return_inverse=True)
        few: Asked = {
            "rack": rack.take(rows),
            "shots": replace(shots, row=places.astype(np.intp)),
            "grounds": grounds,
            "over_full": over_full,
            "response": None if response is None else response.take(rows),
        }
        found = self._ask(few)
        if found is None:  # the same few, so that both ways sum alike
            found = allow_finish(**few)
        return replace(found, row=shots.row)

    def _ask(self, asked: Asked) -> Allowances | None:
        """What the process says; None where it can't."""
        if not self._lock.acquire(blocking=False):
            return None  # it has enough to do
        try:
            if self._pipe is not None:
                if not self._has_come_up(self._pipe):
                    return None
                self._pipe.send(asked)
                if self._pipe.poll(PATIENCE_S):
                    return self._pipe.recv()
                log.warning("the process that computes answers gives none; it is ended")
        except (OSError, EOFError) as error:
            log.warning("the process that computes answers has ended: %r", error)
        finally:
            self._lock.release()
        self._begin_anew()
        return None

    def _begin_anew(self) -> None:
        """Leave a process that failed; start another unless the last has only just begun."""
        self._end()
        begun_s = self._started_s
        if begun_s is not None and time.monotonic() - begun_s >= self._rest_s:
            self.start()

    def _has_come_up(self, pipe: Connection) -> bool:
        """Whether the process has said that it is ready."""
        if not self._up and pipe.poll():
            self._up = pipe.recv()
        return self._up

    def close(self) -> None:
        """End the process; what is asked from now on is computed here."""
        self._closed = True
        self._end()

    def _end(self) -> None:
        with self._lock:
            process, pipe = self._process, self._pipe
            self._process = self._pipe = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.kill()
            process.join()


def serve(pipe: Connection) -> None:
    """Answer until the other end closes; interrupts are left to it, and what has no answer too."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(EOFError, OSError):
        pipe.send(True)
        while True:
            asked: Asked = pipe.recv()
            try:
                pipe.send(allow_finish(**asked))
            except EngineError:
                pipe.send(None)
