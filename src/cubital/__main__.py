"""Runs the command line as ``python -m cubital``."""

from cubital.cli import main

if __name__ == "__main__":
    main()
