"""Command line: let `python -m build_tools` start it."""

import sys

from build_tools.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
