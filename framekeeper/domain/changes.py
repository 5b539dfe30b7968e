"""What a finished change touched, so that every open view can decide whether to refresh."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Changes:
    """The kinds of thing that changed, and the frames."""

    # "frames", "mesh_types", "rolls", "meters", "settings"; "forecast" is no person's doing
    kinds: frozenset[str] = frozenset()
    frame_ids: frozenset[int] = frozenset()
    operation_id: int = 0

    def __or__(self, other: Changes) -> Changes:
        return Changes(
            self.kinds | other.kinds,
            self.frame_ids | other.frame_ids,
            max(self.operation_id, other.operation_id),
        )
