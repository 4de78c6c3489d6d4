"""Folders that many tests need alike: built once, then copied."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from postgres_server import ON_SERVER

Builder = Callable[[Path], None]


@dataclass
class BuiltOnce:
    """Fills a folder as a builder would: the builder runs once, later folders are copies.

    For a builder that makes a workspace and closes it. With the records on a server nothing is copied. ``empty`` makes
    a fresh empty folder.
    """

    empty: Callable[[], Path]
    built: dict[Builder, Path] = field(default_factory=dict)

    def __call__(self, build: Builder, folder: Path) -> Path:
        """``folder``, filled."""
        if ON_SERVER:
            build(folder)
            return folder
        if build not in self.built:
            place = self.empty()
            build(place)
            self.built[build] = place
        return Path(shutil.copytree(self.built[build], folder, dirs_exist_ok=True))
