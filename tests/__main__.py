"""Every check of the project in order, the tests last: ``python -m tests``."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent

CHECKS = (
    (str(BIN / "ruff"), "check", "."),
    (str(BIN / "ruff"), "format", "--check", "."),
    (str(BIN / "lint-imports"),),
    (str(BIN / "pyright"), "--pythonpath", sys.executable),
    (sys.executable, "-m", "pytest", "-n", "2"),
)


def main() -> int:
    """Run each check from the root; stop at the first that fails and pass its status on."""
    for check in CHECKS:
        print("::", *(Path(check[0]).name, *check[1:]), flush=True)
        status = subprocess.run(check, cwd=ROOT, check=False).returncode
        if status:
            return status
    return 0


if __name__ == "__main__":
    sys.exit(main())
