"""What a PostgreSQL server's complaints mean for the person, by the codes of its manual (Appendix A, error codes)."""

from __future__ import annotations

import sys

from cubital.domain.errors import CubitalError, MachineProblem, RequestProblem, WorkspaceProblem
from cubital.domain.words import _

WHERE = "PostgreSQL"
LOST = ("08", "57P")  # connection exceptions; an administrator's shutdown or a crash
BUSY = ("55P03", "57014")  # a lock was not to be had in time
FULL = ("53100", "53200")  # disk full, out of memory
NOT_ALLOWED = ("42501", "25006")  # insufficient privilege; a server that only lets read


def server_problem(error: BaseException | None, *, connecting: bool = False) -> CubitalError | None:
    """The sentence for an error of the server or of the way to it; none for anything else."""
    driver = sys.modules.get("psycopg")
    while error is not None and not (driver and isinstance(error, driver.Error)):
        if type(error).__name__ == "NotSupportedError":
            return _too_old(str(error))
        error = error.__cause__
    if error is None or driver is None:
        return None
    code = str(getattr(error, "sqlstate", None) or "")
    said = (str(error).strip().splitlines() or [""])[-1].strip()
    if connecting:
        return _unreachable(said)
    if code.startswith(LOST) or (not code and isinstance(error, driver.OperationalError | driver.InterfaceError)):
        return _lost()
    return _by_code(code, said)


def _by_code(code: str, said: str) -> CubitalError | None:
    if code in BUSY:
        return WorkspaceProblem(
            _("another run of Cubital is changing the records of this workspace."),
            where=WHERE,
            fix=_("Wait until it has finished, and try again. Nothing was changed."),
        )
    if code in FULL:
        return MachineProblem(
            _("the server of the records has no room left ({words}). Nothing was changed.").format(words=said),
            where=WHERE,
            fix=_("Tell whoever looks after the server, and try again."),
        )
    if code in NOT_ALLOWED:
        return WorkspaceProblem(
            _("the server does not let this user do it ({words}). Nothing was changed.").format(words=said),
            where=WHERE,
            fix=_("Ask for the right to create a schema in this database, or name a schema that is yours."),
        )
    if code == "22001":
        return RequestProblem(
            _("a name is too long for the records. Nothing was changed."), fix=_("Use at most 200 characters.")
        )
    return None


def _unreachable(said: str) -> WorkspaceProblem:
    return WorkspaceProblem(
        _("the server of the records cannot be reached ({words}). Nothing was changed.").format(words=said),
        where=WHERE,
        fix=_("Check the address, the network and the password, or wait until the server runs again."),
    )


def _lost() -> WorkspaceProblem:
    return WorkspaceProblem(
        _("the connection to the records was lost. A change is in whole or not at all."),
        where=WHERE,
        fix=_("Try again when the server answers; a file that was taken is then said to be taken."),
    )


def _too_old(said: str) -> WorkspaceProblem:
    return WorkspaceProblem(
        _("this server is too old ({words}).").format(words=said), where=WHERE, fix=_("Use PostgreSQL 14 or newer.")
    )
