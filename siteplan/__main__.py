"""Run the command line with ``python -m siteplan``."""

import sys

from siteplan.cli import main

if __name__ == "__main__":
    sys.exit(main())
