"""Every command with options that work, by who may use it. A new command gets a line here."""

from typing import Any

from tests.chat.booking import CUP
from tests.kits import DEMO_KIT

GAME = DEMO_KIT.read_bytes()

MANAGERS: dict[str, dict[str, Any]] = {
    "setup audit": {},
    "setup coach": {},
    "setup notes": {},
    "setup show": {},
    "setup start": {},
}
COACHES: dict[str, dict[str, Any]] = {
    "event new": {},
    "event hole": {"row": "1 par 4, 372, bearing 20, Slipway"},
    "event file": {},
    "event rename": {"event": "Second Cup", "name": "Third Cup"},
    "event delete": {"event": "Second Cup"},
    "event dates": {},
    "event load": {"file": ("cup.toml", CUP)},
    "event copy": {"name": "Second Cup"},
    "event use": {"event": "Windlass Cup"},
    "event round": {"round": "Closing round"},
    "event winds": {"division": "Oar"},
    "kit load": {"file": ("game.toml", GAME)},
    "line add": {"hole": 4},
    "line many": {},
    "line copy": {"division": "Oar", "of": "Sail"},
    "line edit": {"hole": 4, "line": "A"},
    "line status": {"hole": 4, "line": "A", "status": "tested"},
    "line retire": {"hole": 4, "line": "B"},
    "publish": {"hole": 4},
    "poll ask": {"question": "When?", "answers": "Saturday; Sunday"},
    "poll end": {},
    "poll hole": {"hole": 4},
    "gain freeze": {"club": "driver", "reason": "an update"},
    "gain release": {"club": "driver", "reason": "an update"},
    "gain leave-out": {"result": 1, "reason": "a slip"},
    "gain reset": {"club": "driver", "reason": "an update"},
}
EVERYBODY: dict[str, dict[str, Any]] = {
    "aim": {"wind": "8 mph from 2", "club": "5-iron", "distance": "160"},
    "bag": {},
    "ceiling": {"hole": 4, "line": "A"},
    "compare": {"hole": 4},
    "equal": {"carry": "150", "wind": "8 mph from 2"},
    "event export": {},
    "event show": {},
    "event table": {},
    "gain log": {},
    "help": {},
    "hole": {"number": 4},
    "kit export": {},
    "kit history": {},
    "kit show": {},
    "line history": {"hole": 4, "line": "A"},
    "line show": {"hole": 4, "line": "A"},
    "me division": {"division": "Oar"},
    "next": {"left": "171, rough, 6 mph from 4"},
    "me export": {},
    "me forget": {},
    "me home": {},
    "measure": {"club": "driver"},
    "poll show": {},
    "practice": {},
    "results": {},
    "round": {},
    "share": {"hole": 4, "line": "A", "wind": "8 mph from 2"},
    "sheet": {},
    "guide": {},
    "table": {},
    "trust": {"club": "driver"},
    "wind": {"question": "8 mph from 2, 5-iron, 160"},
}
