"""The few kinds of trouble that a person is told about; everything else is a bug."""

from __future__ import annotations

from framekeeper.domain.sentence import Sentence


class FramekeeperError(Exception):
    """Trouble with a sentence for the person.

    Parameters
    ----------
    said
        What happened, as a `Sentence` or plain English.
    kept
        What was kept; by default nothing was written.
    hint
        What to do next.
    argument
        The name of the argument that was refused, where there is one.
    """

    default_kept = "Nothing was changed."

    def __init__(
        self,
        said: Sentence | str,
        *,
        kept: Sentence | str | None = None,
        hint: Sentence | str = "",
        argument: str = "",
    ) -> None:
        super().__init__(str(said))
        self.said = said
        self.kept = self.default_kept if kept is None else kept
        self.hint = hint
        self.argument = argument

    def parts(self) -> tuple[Sentence | str, ...]:
        """What happened, what was kept, what to do: the parts that have something to say."""
        return tuple(part for part in (self.said, self.kept, self.hint) if str(part))

    def text(self) -> str:
        """All parts in plain English on one line."""
        return " ".join(str(part) for part in self.parts())


class NotValid(FramekeeperError, ValueError):
    """An input that cannot be right."""


class NotEnoughData(FramekeeperError):
    """Too few readings for an honest answer."""


class NotPossible(FramekeeperError):
    """The history of this frame does not allow it."""


class NotFound(FramekeeperError):
    """Nothing in this shop answers to that name or code."""


class Conflict(FramekeeperError):
    """Someone else saved first."""


class StorageTrouble(FramekeeperError):
    """The disk, the network, a lock or a damaged file: the surroundings' fault, not ours."""
