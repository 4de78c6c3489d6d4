"""Files on their way in: bounded in size, written straight into the workspace, gone when dealt with.

They hold patients' rows, so they never touch the computer's common folder for temporary files.
"""

from __future__ import annotations

import re
import secrets
import shutil
from pathlib import Path

from django.core.files.move import file_move_safe
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.http import HttpRequest, HttpResponse
from filelock import BaseFileLock, FileLock, Timeout

from cubital.domain.words import _
from cubital.web.desk import INBOX
from cubital.web.safety import GetResponse
from cubital.web.trouble import show_trouble

MAX_UPLOAD_BYTES = 1024**3  # a million rows are about 100 MB; larger files go in by the command line


_claims: dict[Path, BaseFileLock] = {}


class SizeMiddleware:
    """Refuses what is too large before a byte of it is read."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if int(request.META.get("CONTENT_LENGTH") or 0) > MAX_UPLOAD_BYTES:
            return show_trouble(
                request,
                heading=_("This file is too large for the page."),
                what=_("Files up to 1 GB can be taken in here. Nothing was changed."),
                fix=_("Take it in from the window where Cubital runs: cubital take FILE --facility NAME."),
                status=413,
            )
        return self.get_response(request)


def prepare_inbox(workspace_folder: Path) -> Path:
    """The inbox of a workspace, empty of what earlier runs left; what another window of Cubital waits for stays."""
    inbox = workspace_folder / INBOX
    if _claim_inbox(inbox):
        shutil.rmtree(inbox, ignore_errors=True)
    inbox.mkdir(mode=0o700, parents=True, exist_ok=True)
    return inbox


def _claim_inbox(inbox: Path) -> bool:
    """Whether no other process serves this workspace; the claim lasts as long as this one lives."""
    if inbox in _claims:
        return True
    claim = FileLock(inbox.with_name("inbox.lock"), thread_local=False)
    try:
        claim.acquire(timeout=0)
    except Timeout:
        return False
    _claims[inbox] = claim
    return True


def keep_upload(upload: TemporaryUploadedFile, inbox: Path) -> Path:
    """Moves an upload to a place of its own under its own (tidied) name, where it stays until it is discarded."""
    folder = inbox / secrets.token_hex(8)
    folder.mkdir(mode=0o700, parents=True)
    place = folder / tidy_name(upload.name or "")
    upload.flush()
    file_move_safe(upload.temporary_file_path(), str(place))
    return place


def discard_upload(place: Path) -> None:
    """Removes a kept upload and its folder; one that is gone already is fine."""
    shutil.rmtree(place.parent, ignore_errors=True)


def tidy_name(name: str) -> str:
    """A file name without anything that could lead elsewhere: ``../a b*.csv`` becomes ``a b_.csv``."""
    last = re.split(r"[/\\]", name)[-1]
    tidied = re.sub(r"[^\w.\-() ]+", "_", last).strip(" .")[-120:]
    return tidied or "file"
