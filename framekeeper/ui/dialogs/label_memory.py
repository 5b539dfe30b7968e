"""Remembers, for this bench and one shop, how labels were printed last and which ones were.

It belongs to the bench and not to the shop: the printer's offset and the part-used sheet lie here.
A file that is missing or cannot be read is an empty memory, because nothing hangs on it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

from PySide6.QtCore import QStandardPaths

from framekeeper.domain.records import FrameRecord
from framekeeper.ui.dialogs.asking import write_file

_VERSION = 1


@dataclass(frozen=True, slots=True)
class LabelHabits:
    """How this bench prints labels; `printed` maps a code to the mesh life that its label tells."""

    format_key: str = ""
    next_cell: int = 1
    right_mm: float = 0.0
    down_mm: float = 0.0
    folder: str = ""
    printed: dict[str, int] = field(default_factory=dict)

    def after_printing(self, frames: Iterable[FrameRecord], **habits: object) -> LabelHabits:
        """Remember that the labels of these frames were printed."""
        printed = self.printed | {frame.code: life_of(frame) for frame in frames}
        return replace(self, printed=printed, **habits)  # type: ignore[arg-type]

    def is_new(self, frame: FrameRecord) -> bool:
        """Say whether there is mesh on this frame of which no label was printed here."""
        life = life_of(frame)
        return life != 0 and self.printed.get(frame.code) != life


def life_of(frame: FrameRecord) -> int:
    """Return the number of the mesh life that is on a frame; 0 where there is none."""
    return frame.state.life.start_event_id if frame.state.life else 0


class LabelMemory:
    """The file in which the habits are kept, one entry for each shop."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path or _usual_path()

    def recall(self, shop: str) -> LabelHabits:
        """Return the habits for a shop."""
        entry = self._read().get(shop)
        if not isinstance(entry, dict):
            return LabelHabits()
        known = {name: entry[name] for name in asdict(LabelHabits()) if name in entry}
        return LabelHabits(**known)

    def keep(self, shop: str, habits: LabelHabits) -> None:
        """Write the habits down.

        Raises
        ------
        StorageTrouble
            If the disk refuses.
        """
        shops = self._read() | {shop: asdict(habits)}
        self._path.parent.mkdir(parents=True, exist_ok=True)
        text = json.dumps({"version": _VERSION, "shops": shops}, indent=1)
        write_file(self._path, text.encode())

    def _read(self) -> dict[str, object]:
        try:
            stored = json.loads(self._path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        shops = stored.get("shops") if isinstance(stored, dict) else None
        return shops if isinstance(shops, dict) and stored.get("version") == _VERSION else {}


def _usual_path() -> Path:
    place = QStandardPaths.StandardLocation.AppConfigLocation
    return Path(QStandardPaths.writableLocation(place)) / "labels.json"
