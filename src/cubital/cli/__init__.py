"""The command line: one to one with the library, JSON for machines, sentences for people."""

from cubital.cli.root import main

__all__ = ["main"]
