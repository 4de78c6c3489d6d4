"""Files made for the person: written in the workspace's inbox, sent, and gone again."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from pathlib import Path

from django.http import FileResponse

from cubital.web.desk import the_inbox


def send_made_file(name: str, make: Callable[[Path], object]) -> FileResponse:
    """Lets ``make`` write a file called ``name`` and sends it; nothing of it stays on the disk."""
    with tempfile.TemporaryDirectory(dir=the_inbox()) as folder:
        out = Path(folder) / name
        make(out)
        content = io.BytesIO(out.read_bytes())
    return FileResponse(content, as_attachment=True, filename=name)
