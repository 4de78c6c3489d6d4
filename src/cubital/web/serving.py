"""Shows the pages to one person on this computer: loopback only, opened by a link that works once."""

from __future__ import annotations

import logging
import os
import signal
import socket
import tempfile
import webbrowser
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

from cubital.domain.errors import MachineProblem
from cubital.domain.words import _, current_language
from cubital.web.configuring import configure_pages
from cubital.workspace.opening import Workspace, open_workspace

LOOPBACK = "127.0.0.1"
THREADS = 6


def serve(
    workspace_folder: Path,
    *,
    port: int = 8765,
    open_browser: bool = True,
    announce: Callable[[str], None] = print,
) -> None:
    """Serves the pages until Ctrl-C.

    ``port`` 0 takes a free one. ``announce`` gets each sentence for the window. Raises ``MachineProblem`` where the
    port is taken, ``WorkspaceProblem`` where the folder cannot be used.
    """
    configure_pages()
    # Faults of ours go to the window with their traceback; what is merely refused (a stranger, a bad form) does not.
    logging.basicConfig(level=logging.ERROR, format="%(asctime)s %(message)s")
    workspace = open_workspace(workspace_folder)
    server = bind_server(build_application(workspace), port)
    try:
        for sign in (signal.SIGINT, signal.SIGTERM):
            signal.signal(sign, _leave)
        announce(_("Cubital is running for this computer only. Open this link; it works once:"))
        link = f"http://{LOOPBACK}:{server.effective_port}{new_link_path()}"
        announce(link)
        announce(_("Press Ctrl-C in this window to stop."))
        if open_browser:
            webbrowser.open(link)
        server.run()
    finally:
        _close(server, workspace, announce)


def build_application(workspace: Workspace) -> Any:
    """The WSGI application over one workspace. ``configure_pages`` must have been called."""
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application

    from cubital.web.desk import hold_workspace
    from cubital.web.uploading import prepare_inbox

    hold_workspace(workspace)
    inbox = prepare_inbox(workspace.folder)
    settings.FILE_UPLOAD_TEMP_DIR = str(inbox)
    settings.LANGUAGE_CODE = current_language()
    # The server writes a large request to a temporary file before it hands it on; that file holds patients' rows too.
    tempfile.tempdir = str(inbox)
    return get_wsgi_application()


def bind_server(application: Any, port: int) -> Any:
    """A server that listens on the loopback address and nowhere else."""
    from waitress import create_server

    from cubital.web.uploading import MAX_UPLOAD_BYTES

    return create_server(
        application,
        sockets=[bind_loopback(port)],
        threads=THREADS,
        ident="",
        # Our own page about size comes first; this is the wall behind it.
        max_request_body_size=2 * MAX_UPLOAD_BYTES,
        clear_untrusted_proxy_headers=True,
    )


def bind_loopback(port: int) -> socket.socket:
    """A socket on the loopback address at ``port``; ``MachineProblem`` where the port cannot be had."""
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # elsewhere this option would let a second program take the same port
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((LOOPBACK, port))
    except (OSError, OverflowError) as error:
        bound.close()
        raise MachineProblem(
            _("port {port} cannot be used on this computer ({why}).").format(port=port, why=_reason(error)),
            fix=_("Another Cubital may be running. Close it, or choose another port with --port."),
        ) from error
    return bound


def new_link_path() -> str:
    """The path of a fresh one-time link."""
    from cubital.web.door import door

    return door.new_link_path()


def _reason(error: Exception) -> str:
    return str(getattr(error, "strerror", None) or error)


def _leave(_number: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)


def _close(server: Any, workspace: Workspace, announce: Callable[[str], None]) -> None:
    from cubital.web.running import jobs

    server.close()
    if jobs.any_running():
        announce(
            _("Finishing the file that is being taken in. Press Ctrl-C again to stop at once; nothing is half-taken.")
        )
    jobs.stop()
    workspace.close()
    announce(_("Cubital has stopped."))
