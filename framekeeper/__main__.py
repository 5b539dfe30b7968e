"""Starts the program: the window, or one command."""

import sys

from framekeeper.launch import open_window, window_words


def main() -> int:
    """Open the window, or do what the command line says; return the exit code."""
    if getattr(sys, "frozen", False):
        # A search for a cut plan is a process of its own: in a bundle it is this program again.
        import multiprocessing

        multiprocessing.freeze_support()
    words = window_words(sys.argv[1:])
    if words is not None:
        return open_window(words)
    from framekeeper.cli.run import main as run

    return run()


if __name__ == "__main__":
    sys.exit(main())
