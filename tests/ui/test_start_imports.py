"""The first paint must not wait for libraries that it does not need."""

from __future__ import annotations

import json
import os
import subprocess
import sys

HEAVY = ("scipy", "pyqtgraph", "alembic", "reportlab", "sqlalchemy", "numpy", "python_calamine")

SCRIPT = """
import json, sys
from framekeeper.ui import start
seen = []
def watch(window):
    window.painted.connect(lambda: (seen.append(sorted(sys.modules)), window.close()))
start.run(lambda: None, watch=watch)
print(json.dumps(seen[0]))
"""


def test_nothing_heavy_is_imported_before_the_first_paint() -> None:
    """A fresh process that shows the real window has none of the heavy libraries when it paints."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    modules = json.loads(done.stdout)
    assert "PySide6.QtWidgets" in modules
    assert not [name for name in HEAVY if name in modules]
    assert not [m for m in modules if m.startswith(("framekeeper.services", "framekeeper.storage"))]
