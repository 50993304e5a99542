"""`python -m shutline` is the `shutline` command."""

import sys

from shutline.cli import main

if __name__ == "__main__":
    sys.exit(main())
