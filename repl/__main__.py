"""``python -m repl`` is ``boxlock``."""

import sys

from repl.cli import main

if __name__ == "__main__":
    sys.exit(main())
