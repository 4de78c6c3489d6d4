"""The workspace's charters: saved as versions that never change, signed, and one of them in force."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime

from cubital.domain.charter import Charter, Signature, build_charter
from cubital.domain.errors import CharterProblem
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.writing import note_change, one_transaction

DEFAULT_CHARTER = "cdc_3658_all_sets"


@dataclass(frozen=True, kw_only=True)
class CharterVersion:
    """A charter as this workspace keeps it. ``frozen`` once signed; ``in_force`` is true for exactly one version."""

    charter: Charter
    signatures: tuple[Signature, ...]
    frozen: bool
    created_at: datetime
    in_force: bool

    @property
    def version(self) -> int:
        """The version's number, counting from 1."""
        return self.charter.version

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the charter's rules."""
        return self.charter.fingerprint()


def list_charters(workspace: Workspace) -> tuple[CharterVersion, ...]:
    """Every version, oldest first. A workspace begins with a published adult definition as version 1, unsigned."""
    entries = _entries(workspace)
    force = _version_in_force(entries)
    return tuple(_charter_version(entry, in_force=entry.version == force) for entry in entries)


def current_charter(workspace: Workspace) -> CharterVersion:
    """The version in force: the newest signed one, or the newest of all while none is signed."""
    return next(version for version in list_charters(workspace) if version.in_force)


def get_charter(workspace: Workspace, version: int) -> CharterVersion:
    """One version; ``CharterProblem`` where there is none of that number."""
    for found in list_charters(workspace):
        if found.version == version:
            return found
    raise CharterProblem(_("there is no charter version {version}.").format(version=version))


def save_charter(workspace: Workspace, *, charter: Charter) -> CharterVersion:
    """Keeps the charter as the next version, unsigned. The same rules and name as the newest version are no new one."""
    with one_transaction(workspace) as database:
        newest = records.CharterRecord.objects.using(database).order_by("-version").first()
        number = newest.version + 1 if newest else 1
        numbered = replace(charter, version=number)
        if newest and _charter_of(newest) == replace(charter, version=newest.version):
            return get_charter(workspace, newest.version)
        _record_charter(workspace, numbered)
    return get_charter(workspace, number)


def sign_charter(workspace: Workspace, *, version: int, name: str, role: str, on: date) -> CharterVersion:
    """Adds a signature, freezes the version and, as the newest signed one, puts it in force."""
    tidy_name, tidy_role = " ".join(name.split()), " ".join(role.split())
    if not tidy_name or not tidy_role:
        raise CharterProblem(_("a signature needs a name and a role."), fix=_("Give both."))
    get_charter(workspace, version)
    with one_transaction(workspace) as database:
        entry = records.CharterRecord.objects.using(database).get(version=version)
        signature = {"name": tidy_name, "role": tidy_role, "signed_on": on.isoformat()}
        if any((s["name"], s["role"]) == (tidy_name, tidy_role) for s in entry.signatures):
            raise CharterProblem(
                _("{name} has signed charter {version} as {role} already.").format(
                    name=tidy_name, version=version, role=tidy_role
                )
            )
        entry.signatures = [*entry.signatures, signature]
        entry.frozen = True
        entry.save(using=database)
        note_change(workspace, action="sign_charter", subject=f"charter {version}", role=tidy_role, on=on.isoformat())
    return get_charter(workspace, version)


def seed_charter(workspace: Workspace) -> None:
    """Gives a new workspace its version 1: the published one-of-several rule for adults, 24 hours, over all sets."""
    from cubital.reference.charters import published_charters

    if not records.CharterRecord.objects.using(workspace.alias).exists():
        _record_charter(workspace, replace(published_charters()[DEFAULT_CHARTER], version=1))


def _entries(workspace: Workspace) -> list[records.CharterRecord]:
    """Every version, oldest first; of a pinned workspace those of then, signed as they were then."""
    entries = list(records.CharterRecord.objects.using(workspace.alias).order_by("version"))
    if workspace.pinned is None:
        return entries
    signed = dict(workspace.pinned.charters)
    kept = [entry for entry in entries if entry.version in signed]
    for entry in kept:
        entry.signatures = entry.signatures[: signed[entry.version]]
        entry.frozen = bool(entry.signatures)
    return kept


def _record_charter(workspace: Workspace, charter: Charter) -> None:
    records.CharterRecord.objects.using(workspace.alias).create(
        version=charter.version,
        rules=asdict(charter),
        fingerprint=charter.fingerprint(),
        created_at=datetime.now(UTC),
    )
    note_change(
        workspace, action="save_charter", subject=f"charter {charter.version}", fingerprint=charter.fingerprint()
    )


def _version_in_force(entries: list[records.CharterRecord]) -> int:
    signed = [entry.version for entry in entries if entry.frozen]
    return max(signed or [entry.version for entry in entries], default=0)


def _charter_of(entry: records.CharterRecord) -> Charter:
    return build_charter({**entry.rules, "version": entry.version})


def _charter_version(entry: records.CharterRecord, *, in_force: bool) -> CharterVersion:
    charter = _charter_of(entry)
    if charter.fingerprint() != entry.fingerprint:
        raise CharterProblem(
            _("the rules of charter {version} are not the ones that were saved.").format(version=entry.version),
            fix=_("Put the workspace back from a backup, or save the charter anew."),
        )
    return CharterVersion(
        charter=charter,
        signatures=tuple(
            Signature(name=s["name"], role=s["role"], signed_on=date.fromisoformat(s["signed_on"]))
            for s in entry.signatures
        ),
        frozen=entry.frozen,
        created_at=entry.created_at,
        in_force=in_force,
    )
