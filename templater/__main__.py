"""Run the program as ``python -m templater``."""

import sys

from templater.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
