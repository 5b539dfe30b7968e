"""The one way in which the set-up stops: a sentence that says what happened and what to do."""


class SetUpTrouble(Exception):
    """The set-up cannot go on; the text says what happened, what was kept and what to do next."""
