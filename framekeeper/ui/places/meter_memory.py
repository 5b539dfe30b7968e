"""Half-typed studies of meters, kept on this bench so that nothing is lost when it dies."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import QIODevice, QSaveFile

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.ui.places.meter_plans import Plan, kept_plan, plan_from

VERSION = 1
_FILE = "studies.json"


@dataclass(frozen=True, slots=True)
class HalfStudy:
    """A study that is half typed."""

    plan: Plan
    values: tuple[float, ...] = ()


class StudyMemory:
    """Reads and writes the file, one part for each shop; what cannot be read is left out."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path or default_path()
        self._shops: dict[str, Any] = {}
        try:
            found = json.loads(self._path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return
        if isinstance(found, dict) and found.get("version") == VERSION:
            shops = found.get("shops")
            self._shops = shops if isinstance(shops, dict) else {}

    def recall(self, shop: str) -> dict[str, HalfStudy]:
        """Give the half-typed studies of a shop by their kind."""
        kept = self._shops.get(shop)
        found = (_half(part) for part in kept) if isinstance(kept, list) else ()
        return {half.plan.kind: half for half in found if half is not None}

    def keep(self, shop: str, halves: dict[str, HalfStudy]) -> None:
        """Write what is half typed.

        Raises
        ------
        StorageTrouble
            If the file cannot be written; what is on the screen stays.
        """
        self._shops[shop] = [
            {"plan": kept_plan(half.plan), "values": list(half.values)} for half in halves.values()
        ]
        text = json.dumps({"version": VERSION, "shops": self._shops}, ensure_ascii=False)
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as trouble:
            raise _cannot(str(trouble)) from trouble
        out = QSaveFile(str(self._path))
        if not (
            out.open(QIODevice.OpenModeFlag.WriteOnly)
            and out.write(text.encode()) >= 0
            and out.commit()
        ):
            raise _cannot(out.errorString())


def _cannot(why: str) -> StorageTrouble:
    return StorageTrouble(
        say("The half-typed study cannot be kept on this computer ({why}).", why=why),
        kept=say("What is typed stays on the screen."),
        hint=say("Finish the study before you close the program."),
    )


def default_path() -> Path:
    """Where this person's system keeps the state of programs."""
    from platformdirs import user_state_path

    return user_state_path("framekeeper", appauthor=False) / _FILE


def _half(part: Any) -> HalfStudy | None:
    if not isinstance(part, dict) or not isinstance(part.get("plan"), dict):
        return None
    plan, values = plan_from(part["plan"]), part.get("values")
    if plan is None or not isinstance(values, list):
        return None
    if not all(isinstance(v, int | float) for v in values):
        return None
    return HalfStudy(plan, tuple(float(v) for v in values))
