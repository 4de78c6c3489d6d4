"""The invented Vellorin network: written, loaded, practised on. Its people, places and data do not exist."""

from cubital.workspace.demo.load import load_demo
from cubital.workspace.demo.practising import write_practice_files

__all__ = ["load_demo", "write_practice_files"]
