"""Starts the program: the window, or one command."""

import sys

from framekeeper.cli.run import main

if __name__ == "__main__":
    sys.exit(main())
