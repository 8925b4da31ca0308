"""How the log is written: lines to read, or a JSON object a line for programs."""

import json
import logging
from datetime import UTC, datetime

from bot.settings import Settings

TEXT = "%(asctime)s %(levelname)s %(name)s %(message)s"


class JsonLines(logging.Formatter):
    """A record as one line of JSON: time (UTC), level, logger, message, and the traceback."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        said = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
        }
        if record.exc_info:
            said["traceback"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False)


def begin_log(settings: Settings) -> None:
    """Have the log written to stderr as the settings say."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines() if settings.log == "json" else logging.Formatter(TEXT))
    logging.basicConfig(level=settings.log_level, handlers=[handler], force=True)
    logging.getLogger("alembic").setLevel(logging.WARNING)
