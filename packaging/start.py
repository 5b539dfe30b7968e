"""One command from a bare Python to the open demo shop, or with --test to the result of the tests.

Python reads a whole file before it runs the first line, so this one keeps to what any Python can
read; everything newer is in the modules that it imports after the version is known.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - an older Python gets a sentence, not a traceback
    sys.exit(
        "Framekeeper needs Python 3.11 or newer; this is Python "
        + sys.version.split()[0]
        + ". Nothing was changed. Install a newer Python and call it by its name, "
        + "for example: python3.12 packaging/start.py"
    )

from launch import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
