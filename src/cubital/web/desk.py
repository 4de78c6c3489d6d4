"""The one workspace that the pages work on. One process serves one folder, so this is set once at the start."""

from __future__ import annotations

from pathlib import Path

from cubital.workspace.opening import Workspace

INBOX = "inbox"

_held: list[Workspace] = []


def hold_workspace(workspace: Workspace) -> None:
    """From here on the pages work on ``workspace``."""
    _held[:] = [workspace]


def the_workspace() -> Workspace:
    """The workspace that is being served; ``RuntimeError`` where nobody has set one."""
    if not _held:
        raise RuntimeError("the pages were asked for before a workspace was opened")
    return _held[0]


def the_inbox() -> Path:
    """The folder of that workspace in which files lie while they are looked at."""
    return the_workspace().folder / INBOX
