"""What can be counted of a running Leeward, as the Prometheus client library keeps it."""

import logging

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram

SECONDS = (0.05, 0.1, 0.25, 0.5, 1.0, 1.5, 3.0, 10.0, 30.0)


class Figures:
    """The figures of one process; no member, community or text is among them."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self.answers = Histogram(
            "leeward_answer_seconds",
            "From a command, button or form to its answer",
            buckets=SECONDS,
            registry=self.registry,
        )
        self.log_records = Counter(
            "leeward_log_records", "Lines of the log", ["level"], registry=self.registry
        )
        self.waiting = Gauge(
            "leeward_messages_waiting", "Messages still to be posted", registry=self.registry
        )
        self.ready = Gauge("leeward_ready", "1 while Discord is served", registry=self.registry)


class CountingHandler(logging.Handler):
    """Counts the lines of the log by their level."""

    def __init__(self, figures: Figures) -> None:
        super().__init__()
        self._figures = figures

    def emit(self, record: logging.LogRecord) -> None:
        """Count one."""
        self._figures.log_records.labels(level=record.levelname).inc()
