"""Looks whether everything a workspace or a backup has promised is still there, and says in sentences what is not."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cubital.domain.errors import CubitalError
from cubital.domain.words import _, month_words, ngettext
from cubital.store.checking import FileChecker, loose_ends, readable_files
from cubital.store.delta import NO_VERSION, DeltaFolder
from cubital.store.shapes import STORED
from cubital.workspace import records
from cubital.workspace.accepting import Progress
from cubital.workspace.archive import ArchiveReader
from cubital.workspace.fingerprints import damaged_lists, fingerprint_of, read_fingerprints
from cubital.workspace.freezing import changed_files
from cubital.workspace.keeping import (
    KeptFile,
    KeptState,
    frozen_files,
    kept_states,
    log_files,
    row_file_names,
    standing_still,
    table_files,
)
from cubital.workspace.migrating import kept_copies
from cubital.workspace.opening import CULTURES, SECRET, Workspace
from cubital.workspace.record_rows import read_records

_MONTH_FOLDER = re.compile(r"/month=(\d{4}-\d{2})/")


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that is not as it was accepted: the file or record, what is wrong, and the months that it touches."""

    where: str
    what: str
    months: tuple[str, ...] = ()

    def sentence(self) -> str:
        """The finding on one line."""
        if not self.months:
            return f"{self.where}: {self.what}"
        named = ", ".join(_month_named(month) for month in self.months)
        return f"{self.where}: {self.what} " + _("It touches: {months}.").format(months=named)


@dataclass(frozen=True, kw_only=True)
class VerifyReport:
    """What was looked at, and what is wrong: nothing, where ``findings`` is empty.

    ``files`` and ``bytes`` that were read; ``records`` the rows of each table of records, ``rows`` those of each table
    of cultures in its newest state; ``unsealed`` the files whose fingerprint nobody noted, which were read through.
    """

    files: int
    bytes: int
    records: dict[str, int]
    rows: dict[str, int]
    findings: tuple[Finding, ...]
    unsealed: int = 0
    copies: tuple[str, ...] = ()


@dataclass
class _Looked:
    """What one verification has seen so far."""

    fingerprints: Mapping[str, str]
    files: int = 0
    bytes: int = 0
    unsealed: int = 0
    findings: list[Finding] = field(default_factory=list)


def verify_workspace(workspace: Workspace, *, progress: Progress | None = None) -> VerifyReport:
    """Reads every file that the workspace rests on and compares it with what was noted when it was accepted.

    Files: there, of their size, their fingerprint and their rows. Every promised state opens. The account of every
    batch adds up from its row files. Records are sound, charters are those that were saved. Nothing is changed.
    """
    show = progress or _nothing
    with standing_still(workspace), FileChecker([workspace.cultures.folder, workspace.rows.folder]) as checker:
        looked = _Looked(read_fingerprints(workspace))
        looked.findings += [
            Finding(where=name, what=_("this list of fingerprints is damaged.")) for name in damaged_lists(workspace)
        ]
        show(_("Records"), 0.0)
        counts = _check_records(workspace, looked)
        states = kept_states(workspace)
        show(_("Accounts of the files taken in"), 0.1)
        _check_accounts(workspace, checker, looked)
        for place, table in enumerate(STORED):
            show(_("Table {name}").format(name=table), 0.2 + 0.2 * place)
            _check_table(workspace, checker, looked, table=table, states=states)
        _check_file(workspace, checker, looked, KeptFile(name=SECRET))
        _check_frozen(workspace, looked)
        rows = _newest_rows(workspace, states, looked)
    show(_("Done"), 1.0)
    return VerifyReport(
        files=looked.files,
        bytes=looked.bytes,
        records=counts,
        rows=rows,
        findings=tuple(looked.findings),
        unsealed=looked.unsealed,
        copies=tuple(path.name for path in kept_copies(workspace)),
    )


def verify_backup(path: Path | str) -> VerifyReport:
    """Checks every bit of a backup; ``FileProblem`` names what is damaged. Nothing is unpacked."""
    with ArchiveReader(Path(path).expanduser().absolute()) as archive:
        manifest = archive.manifest
    return VerifyReport(
        files=len(manifest.files),
        bytes=sum(file.bytes for file in manifest.files),
        records=manifest.records,
        rows=manifest.states[-1].rows if manifest.states else {},
        findings=(),
    )


def _check_records(workspace: Workspace, looked: _Looked) -> dict[str, int]:
    from django.db import DatabaseError, connections

    from cubital.workspace.charters import list_charters

    connection = connections[workspace.alias]
    try:
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                told = [str(row[0]) for row in cursor.execute("pragma integrity_check(5)").fetchall()]
            looked.findings += [_record_finding(line) for line in told if line != "ok"]
        connection.check_constraints()
        counts = {name: len(rows) for name, rows in read_records(workspace).items()}
        list_charters(workspace)
    except (DatabaseError, CubitalError, ValueError, TypeError, LookupError) as error:
        looked.findings.append(_record_finding(str(error)))
        return {}
    return counts


def _record_finding(told: str) -> Finding:
    return Finding(where=_("records"), what=_("they are damaged ({told}).").format(told=told))


def _check_accounts(workspace: Workspace, checker: FileChecker, looked: _Looked) -> None:
    """Every batch: numbered without a gap, its row files whole, its account the one that they give."""
    entries = list(records.Batch.objects.using(workspace.alias).order_by("number"))
    if [entry.number for entry in entries] != list(range(1, len(entries) + 1)):
        looked.findings.append(Finding(where=_("records"), what=_("the numbers of the batches have a gap.")))
    for entry in entries:
        fates, doubts = row_file_names(workspace, entry.number)
        whole = _check_file(workspace, checker, looked, KeptFile(name=fates, rows=entry.reconciliation["rows"]))
        _check_file(workspace, checker, looked, KeptFile(name=doubts))
        if whole and not _adds_up(workspace.folder / fates, checker, entry.reconciliation):
            what = _("the rows of batch {number} do not add up to its account.").format(number=entry.number)
            looked.findings.append(Finding(where=fates, what=what))


def _adds_up(fates: Path, checker: FileChecker, account: Mapping[str, Any]) -> bool:
    found = checker.fates(fates)
    if found is None:
        return False
    losses = Counter({one.reason: one.rows for one in found if one.fate == "loss"})
    sets = sum(one.rows for one in found if one.fate != "loss")  # a set, or a stay of a file of movements
    told = Counter({tally["reason"]: tally["count"] for tally in account["losses"]})
    return sets == account["sets"] and losses == told and account["rows"] == sets + sum(losses.values())


def _check_table(
    workspace: Workspace, checker: FileChecker, looked: _Looked, *, table: str, states: tuple[KeptState, ...]
) -> None:
    stored = workspace.cultures.table(table)
    versions = {getattr(state.versions, table) for state in states} - {NO_VERSION}
    if versions and not _check_log(workspace, looked, stored, newest=max(versions)):
        _check_listed(workspace, checker, looked, table=table)
        return
    readable = set()
    for version in sorted(versions):
        if readable_files(stored, version) is None:
            what = _("version {version} cannot be opened.").format(version=version)
            looked.findings.append(Finding(where=f"{CULTURES}/{table}", what=what))
        else:
            readable.add(version)
    for file in table_files(stored, readable):
        if file.bytes is not None:
            _check_file(workspace, checker, looked, file)


def _check_log(workspace: Workspace, looked: _Looked, table: DeltaFolder, *, newest: int) -> bool:
    """Whether the log of a table is as it was accepted; a damaged one is not handed to the library that reads it."""
    before = len(looked.findings)
    place = f"{CULTURES}/{table.table}"
    try:
        present = {path.name for path in log_files(table, newest)}
    except OSError:
        looked.findings.append(
            Finding(where=place, what=_("this table is missing."), months=_listed_months(looked, place))
        )
        return False
    listed = {name.rpartition("/")[2] for name in looked.fingerprints if name.startswith(f"{place}/_delta_log/")}
    for name in sorted(present | listed):
        if name[:20].isdigit() and int(name[:20]) <= newest:
            file = KeptFile(name=f"{place}/_delta_log/{name}")
            _check_file(workspace, None, looked, file, months=_listed_months(looked, place))
    return len(looked.findings) == before


def _listed_months(looked: _Looked, place: str) -> tuple[str, ...]:
    named = (_MONTH_FOLDER.search(name) for name in looked.fingerprints if name.startswith(place))
    return tuple(sorted({found[1] for found in named if found}))


def _check_listed(workspace: Workspace, checker: FileChecker, looked: _Looked, *, table: str) -> None:
    """Without a log nobody knows which files are needed; those that are there can still be compared."""
    for name in looked.fingerprints:
        if name.startswith(f"{CULTURES}/{table}/month=") and (workspace.folder / name).exists():
            _check_file(workspace, checker, looked, KeptFile(name=name, month=_month_of(name)))


def _month_of(name: str) -> str:
    found = _MONTH_FOLDER.search(name)
    return found[1] if found else ""


def _check_file(
    workspace: Workspace, checker: FileChecker | None, looked: _Looked, file: KeptFile, *, months: tuple[str, ...] = ()
) -> bool:
    """Whether a file is what was accepted; otherwise one finding says what it is instead."""
    what = "".join(_trouble_of(workspace, checker, looked, file))
    if what:
        looked.findings.append(Finding(where=file.name, what=what, months=months or tuple({file.month} - {""})))
    return not what


def _trouble_of(workspace: Workspace, checker: FileChecker | None, looked: _Looked, file: KeptFile) -> Iterator[str]:
    path = workspace.folder / file.name
    try:
        size = path.stat().st_size
        found = fingerprint_of(path)
    except FileNotFoundError:
        yield _("it is missing.")
        return
    except OSError as error:
        yield _("it cannot be read ({reason}).").format(reason=error.strerror)
        return
    looked.files, looked.bytes = looked.files + 1, looked.bytes + size
    noted = looked.fingerprints.get(file.name)
    looked.unsealed += noted is None
    if (file.bytes is not None and size != file.bytes) or (noted is not None and noted != found):
        yield _("it is damaged: not what was accepted.")
    elif checker and file.name.endswith(".parquet"):
        yield from _row_trouble(checker, path, file, every_value=noted is None)


def _row_trouble(checker: FileChecker, path: Path, file: KeptFile, *, every_value: bool) -> Iterator[str]:
    rows = checker.rows(path, every_value=every_value)
    if rows is None:
        yield _("it is damaged: its rows cannot be read.")
    elif file.rows is not None and rows != file.rows:
        yield _("it holds {found} rows where {noted} were accepted.").format(found=rows, noted=file.rows)


def _check_frozen(workspace: Workspace, looked: _Looked) -> None:
    """Frozen months in the workspace folder bring their own fingerprints."""
    for folder in sorted({(workspace.folder / file.name).parent for file in frozen_files(workspace)}):
        for name in changed_files(folder):
            what = _("it is not as it was frozen.")
            looked.findings.append(Finding(where=f"{folder.name}/{name}", what=what))


def _newest_rows(workspace: Workspace, states: tuple[KeptState, ...], looked: _Looked) -> dict[str, int]:
    """The rows of the newest state, where nothing stands in the way of opening it; loose rows are findings."""
    if looked.findings or not states:
        return {}
    versions = states[-1].versions
    for table, count in loose_ends(workspace.cultures, versions).items():
        looked.findings.append(Finding(where=f"{CULTURES}/{table}", what=_loose_words(table, count)))
    tables = {name: workspace.cultures.table(name).files(getattr(versions, name)) for name in STORED}
    return {name: sum(file.rows for file in files) for name, files in tables.items()}


def _loose_words(table: str, count: int) -> str:
    if table == "sets":
        words = ngettext("{count} set has the number of another.", "{count} sets have the number of another.", count)
    else:
        words = ngettext("{count} row belongs to no set.", "{count} rows belong to no set.", count)
    return words.format(count=count)


def _month_named(month: str) -> str:
    return month_words(month, with_year=True) if re.fullmatch(r"\d{4}-\d{2}", month) else month


def _nothing(_step: str, _fraction: float) -> None:
    """Progress that nobody watches."""
