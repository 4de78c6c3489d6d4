"""A workspace and the command line on it, as a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FILES = Path(__file__).parent / "files"


@dataclass(frozen=True)
class Shell:
    """One workspace and the way to run commands on it."""

    folder: Path

    def run(self, *words: str | Path) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-W", "error", "-m", "cubital", "--workspace", str(self.folder), *map(str, words)]
        return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, timeout=300)

    def json(self, *words: str | Path) -> Any:
        """The JSON on standard output, which holds nothing else; the command must succeed."""
        done = self.run(*words, "--json")
        assert done.returncode == 0, f"{words}: exit {done.returncode}\n{done.stderr}"
        return json.loads(done.stdout)

    def ok(self, *words: str | Path) -> str:
        done = self.run(*words)
        assert done.returncode == 0, f"{words}: exit {done.returncode}\n{done.stderr}"
        return done.stdout
