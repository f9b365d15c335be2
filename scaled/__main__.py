"""Run the command line with ``python -m scaled``."""

from scaled.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
