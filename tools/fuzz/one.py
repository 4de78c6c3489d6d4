"""One reader under coverage-led search, in a process of its own: ``python -m tools.fuzz.one NAME RUNS SEED FOLDER``.

Anything but a ``CubitalError`` is written into the folder, once for each place in the code, and the search goes on.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import json
import logging
import pkgutil
import sys
import time
import traceback
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["cubital.intake", "cubital.bedside"], enable_loader_override=False):
    import cubital.bedside
    import cubital.intake
    import cubital.intake.fhir
    import cubital.intake.hl7
    from cubital.domain.errors import CubitalError

    for package in (cubital.intake, cubital.intake.fhir, cubital.intake.hl7, cubital.bedside):
        for module in pkgutil.iter_modules(package.__path__, package.__name__ + "."):
            importlib.import_module(module.name)

from tools.fuzz.targets import READERS

MEMORY_MB = 2_000


def main() -> None:
    """Runs the search; the process ends in the fuzzer's own way."""
    name, runs, seed, folder = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4])
    logging.disable(logging.CRITICAL)
    reader = READERS[name]
    corpus = folder / "corpus" / name
    corpus.mkdir(parents=True, exist_ok=True)
    for number, start in enumerate(reader.seeds):
        (corpus / f"seed-{number}").write_bytes(start)
    for start in reader.seeds:  # what is made once must not count as slow
        with contextlib.suppress(CubitalError):
            reader.read(start)
    slowest = [0.0]

    def try_one(data: bytes) -> None:
        began = time.process_time()
        try:
            reader.read(data)
        except CubitalError as refusal:
            if not str(refusal).strip():
                _keep(folder, name, data, AssertionError("a refusal without a sentence"))
        except Exception as error:  # noqa: BLE001 the search is for whatever comes out
            _keep(folder, name, data, error)
        spent = time.process_time() - began
        if spent > slowest[0]:
            slowest[0] = spent
            (folder / f"{name}.slowest").write_text(f"{spent:.3f}")
        if spent > reader.most_seconds:
            _keep(folder, name, data, TimeoutError(f"{spent:.1f} s of processor time"))

    flags = [
        sys.argv[0], str(corpus), f"-runs={runs}", f"-seed={seed}", f"-max_len={reader.longest}",
        f"-rss_limit_mb={MEMORY_MB}", "-timeout=120", "-print_final_stats=1", f"-artifact_prefix={folder}/{name}-",
    ]  # fmt: skip
    atheris.Setup(flags, try_one)
    atheris.Fuzz()


def _keep(folder: Path, name: str, data: bytes, error: Exception) -> None:
    """Writes the input and what came of it, once for each kind of error and place."""
    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "cubital" in frame.filename]
    place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
    key = hashlib.sha256(f"{type(error).__name__} {place}".encode()).hexdigest()[:10]
    found = folder / f"{name}.{key}.crash"
    if not found.exists():
        found.write_bytes(data)
        words = {"reader": name, "error": type(error).__name__, "words": str(error)[:300], "place": place}
        found.with_suffix(".json").write_text(json.dumps(words))


if __name__ == "__main__":
    main()
