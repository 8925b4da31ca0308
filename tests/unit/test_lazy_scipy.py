"""A wind question does not wait for scipy, which only intervals and rates need."""

import subprocess
import sys

import pytest

ASKED = "engine.law, engine.aim, engine.flight, engine.intervals, engine.variants, engine.verdict"


@pytest.mark.parametrize("modules", [ASKED, "engine.practice, engine.group_rates"])
def test_scipy_is_imported_only_where_it_is_used(modules: str) -> None:
    code = f"import sys, {modules}; sys.exit('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    used = "import sys; import engine.intervals as ours; ours.tries_to_tell_apart(0.2, 0.5)"
    done = subprocess.run([sys.executable, "-c", f"{used}; sys.exit('scipy' in sys.modules)"])
    assert done.returncode == 1
