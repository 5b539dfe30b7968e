"""The caution that belongs to a step; the texts are data, so that a safety hand can read them.

They are usual cautions and name no dose, no limit and no first aid: who shows one also says that
the data sheet, the machine's manual, local codes and trained people decide.
"""

from __future__ import annotations

import json
from functools import cache

from framekeeper import shipped
from framekeeper.ui.text import tr


@cache
def _texts() -> dict[str, str]:
    path = shipped.find("resources/cautions.json")
    texts: dict[str, str] = json.loads(path.read_text(encoding="utf-8"))
    return texts


def caution(step: str) -> str:
    """Return the caution of a step in the person's language; empty where a step cannot hurt."""
    text = _texts()[step]
    return tr(text) if text else ""
