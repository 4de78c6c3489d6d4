"""Puts a finished file where the person wants it: whole or not at all, and trouble as a sentence."""

from __future__ import annotations

import errno
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cubital.domain.errors import MachineProblem, RequestProblem
from cubital.domain.words import _

_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


@contextmanager
def replacing(out: Path) -> Iterator[Path]:
    """Gives a draft beside ``out`` to write to; it takes the place of ``out`` only when the block ends well.

    ``RequestProblem`` where ``out`` is a folder or its folder does not exist; ``MachineProblem`` where it cannot be
    written. In both cases, and when the block fails, a file that was there before is as it was.
    """
    _check_place(out)
    draft = out.with_name(f".{out.name[:80]}.{secrets.token_hex(4)}")
    try:
        try:
            yield draft
            draft.replace(out)
        except OSError as problem:
            raise said_of(problem, out) from problem
    finally:
        draft.unlink(missing_ok=True)


def write_whole(out: Path, content: bytes) -> None:
    """Writes ``content`` to ``out``; see ``replacing``."""
    with replacing(out) as draft:
        draft.write_bytes(content)


def _check_place(out: Path) -> None:
    try:
        if out.is_dir():
            raise RequestProblem(_("this is a folder."), where=str(out), fix=_("Name the file to write in it."))
        if not out.parent.is_dir():
            raise RequestProblem(
                _("there is no folder '{folder}'.").format(folder=out.parent),
                where=out.name,
                fix=_("Create it, or name another place."),
            )
    except OSError as problem:
        raise said_of(problem, out) from problem


def said_of(problem: OSError, out: Path) -> MachineProblem:
    """The system's trouble with writing ``out`` as a sentence."""
    if problem.errno in _FULL:
        return MachineProblem(
            _("the disk is full; nothing was written."), where=str(out), fix=_("Make room, or name another place.")
        )
    if problem.errno == errno.ENAMETOOLONG:
        return MachineProblem(_("the name is too long."), where=out.name[:40] + "…", fix=_("Choose a shorter one."))
    return MachineProblem(
        _("the file cannot be written here ({reason}).").format(reason=problem.strerror or type(problem).__name__),
        where=str(out),
        fix=_("Close it if another program has it open, or name a place where you may write."),
    )
