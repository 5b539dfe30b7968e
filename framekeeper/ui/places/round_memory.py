"""What a round must not lose when the computer dies: half-typed surveys, meter and points.

A small file of this bench beside the settings, one part for each shop; written whole or not at
all. What is recorded is in the journal and needs no memory.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from PySide6.QtCore import QIODevice, QSaveFile

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.events import MOMENTS, Moment
from framekeeper.domain.points import OWN, PATTERN_NAMES
from framekeeper.domain.sentence import say

VERSION = 1
_FILE = "round.json"


@dataclass(frozen=True, slots=True)
class Draft:
    """A survey that is half typed; the moment and the meter are told where it is read again."""

    pattern: str
    readings: tuple[float | None, ...]
    moment: Moment | None = None
    meter: str = ""

    @property
    def typed(self) -> int:
        """How many numbers are there."""
        return sum(value is not None for value in self.readings)


@dataclass
class ShopMemory:
    """What this bench remembers of one shop."""

    meter: str = ""
    pattern: str = ""  # empty: the shop's own
    drafts: dict[str, Draft] = field(default_factory=dict)


class RoundMemory:
    """Reads and writes the file; without one everything starts empty."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path or default_path()
        self._shops: dict[str, Any] = {}
        self._load()

    def recall(self, shop: str) -> ShopMemory:
        """Give what is remembered of a shop; what cannot be read is left out."""
        kept = _dict(self._shops.get(shop))
        return ShopMemory(
            meter=_text(kept, "meter"),
            pattern=_text(kept, "pattern"),
            drafts={
                code: _draft(draft)
                for code, draft in _dict(kept.get("drafts")).items()
                if _is_draft(draft)
            },
        )

    def keep(self, shop: str, memory: ShopMemory) -> None:
        """Write what is to be remembered.

        Raises
        ------
        StorageTrouble
            If the file cannot be written; what is on the screen stays.
        """
        self._shops[shop] = asdict(memory)
        text = json.dumps({"version": VERSION, "shops": self._shops}, ensure_ascii=False)
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as trouble:
            raise self._cannot(str(trouble)) from trouble
        out = QSaveFile(str(self._path))
        if not (
            out.open(QIODevice.OpenModeFlag.WriteOnly)
            and out.write(text.encode()) >= 0
            and out.commit()
        ):
            raise self._cannot(out.errorString())

    def _cannot(self, why: str) -> StorageTrouble:
        return StorageTrouble(
            say("Half-typed surveys cannot be kept on this computer ({why}).", why=why),
            kept=say("What is typed stays on the screen."),
            hint=say("Finish this survey before you close the program."),
        )

    def _load(self) -> None:
        try:
            found = json.loads(self._path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return
        if isinstance(found, dict) and found.get("version") == VERSION:
            shops = found.get("shops")
            self._shops = shops if isinstance(shops, dict) else {}


def default_path() -> Path:
    """Where this person's system keeps the state of programs."""
    from platformdirs import user_state_path

    return user_state_path("framekeeper", appauthor=False) / _FILE


def _dict(found: Any) -> dict[str, Any]:
    return found if isinstance(found, dict) else {}


def _text(kept: dict[str, Any], key: str) -> str:
    value = kept.get(key, "")
    return value if isinstance(value, str) else ""


def _draft(kept: dict[str, Any]) -> Draft:
    moment = kept.get("moment")
    told = moment if moment in MOMENTS else None
    return Draft(kept["pattern"], tuple(kept["readings"]), told, _text(kept, "meter"))


def _is_draft(draft: Any) -> bool:
    return (
        isinstance(draft, dict)
        and draft.get("pattern") in (*PATTERN_NAMES, OWN)
        and isinstance(draft.get("readings"), list)
        and all(v is None or isinstance(v, int | float) for v in draft["readings"])
    )
