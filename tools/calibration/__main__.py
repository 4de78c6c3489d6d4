"""Runs every claim of this folder (modules with ``CLAIMS``) and prints one table; exit code 1 where one fails.

python tools/calibration [NAME ...]
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import calibration
from calibration.claim import Claim, Claims, table


def find_claims(names: list[str]) -> list[Claims]:
    """The claims of every module here, or of those named."""
    modules = [module.name for module in pkgutil.iter_modules(calibration.__path__) if module.name != "__main__"]
    loaded = [importlib.import_module(f"calibration.{name}") for name in modules if not names or name in names]
    return [claims for module in loaded for claims in getattr(module, "CLAIMS", ())]


def main() -> int:
    """Runs what was asked for."""
    done: list[Claim] = []
    for claims in find_claims(sys.argv[1:]):
        began = time.monotonic()
        found = list(claims())
        print(f"{claims.__name__}: {len(found)} claims, {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
        done.extend(found)
    print(table(done))
    return 0 if done and all(claim.holds for claim in done) else 1


if __name__ == "__main__":
    sys.exit(main())
