"""A local port for figures (``/metrics``) and health (``/health``), off unless it is set."""

import logging
import threading
from collections.abc import Callable, Generator, Iterable
from contextlib import contextmanager
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, make_server

import prometheus_client

from bot.chat.figures import CountingHandler, Figures
from bot.settings import EXAMPLES
from shared.errors import InputError

HERE_ONLY = "127.0.0.1"
Start = Callable[..., object]


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing: each look would be a line of the log."""


def application(figures: Figures, healthy: Callable[[], bool]) -> Callable[..., Iterable[bytes]]:
    """The WSGI application: ``/health`` is 200 or 503, everything else the figures."""
    library: Any = prometheus_client  # its WSGI functions have no types
    metrics = library.make_wsgi_app(figures.registry)

    def answer(environ: dict[str, Any], start: Start) -> Iterable[bytes]:
        well = healthy()
        figures.ready.set(float(well))
        if environ.get("PATH_INFO") != "/health":
            return metrics(environ, start)
        start("200 OK" if well else "503 Service Unavailable", [("Content-Type", "text/plain")])
        return [b"serving\n" if well else b"not serving\n"]

    return answer


@contextmanager
def metrics_served(
    port: int | None, figures: Figures, healthy: Callable[[], bool]
) -> Generator[int | None]:
    """Serve on a port of this machine while the body runs; the port, None where none is set.

    Errors: InputError for a port that can't be had.
    """
    if port is None:
        yield None
        return
    app: Any = application(figures, healthy)
    try:
        server = make_server(HERE_ONLY, port, app, handler_class=_Quiet)
    except OSError as error:
        raise InputError(
            f"Port {port} of LEEWARD_METRICS_PORT can't be had ({error.strerror}):"
            " name a free one above 1023.",
            EXAMPLES["metrics_port"],
        ) from error
    counting = CountingHandler(figures)
    logging.getLogger().addHandler(counting)
    thread = threading.Thread(target=server.serve_forever, name="metrics", daemon=True)
    thread.start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()
        logging.getLogger().removeHandler(counting)
