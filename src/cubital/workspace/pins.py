"""What a workspace held on a day, so that the same question can be asked of it as it was then.

A pin names everything small that an answer can rest on and that can change later: which batch was the last, which
charters were signed by how many, which policies were approved, how units were called, which months were locked, what
stood in the diary. The large tables are not copied: the batch names their versions, and a promise keeps those.

A workspace that carries a pin reads as it was; it cannot be written. Each of the few places that read a changing thing
honours the pin by itself: ``snapshots``, ``batches``, ``charters``, ``policies``, ``facilities``, ``unit_names``,
``baseline_records``, ``diary``, ``decided``, ``left_tables``.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from cubital.domain.words import current_language

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace


@dataclass(frozen=True, kw_only=True)
class Pin:
    """What was in force. Every field is plain data, so that the pin can be kept as JSON.

    ``charters`` are (version, signatures), ``policies`` (version, approved by, approved on, review by), ``renames``
    (facility, old key, new key, new name, day), ``names`` (facility, key, name); days are ISO texts. ``baselines``
    and ``diary`` are the numbers of the rows that counted, ``costs`` the newest version of the costs, ``decisions``
    what medical microbiology had decided: (number, whether withdrawn), ``collecting`` the approved policies on
    collecting: (version, day). ``people`` and ``lots`` are fingerprints of lists that are not kept as they were.
    ``left_before`` is the last table that had left, where that matters; it stands with the question and not here when
    a pin is kept.
    """

    batch: int
    day: str
    language: str
    charters: tuple[tuple[int, int], ...]
    policies: tuple[tuple[int, str, str, str], ...]
    facilities: tuple[str, ...]
    renames: tuple[tuple[str, str, str, str, str], ...]
    names: tuple[tuple[str, str, str], ...]
    baselines: tuple[int, ...]
    diary: tuple[int, ...]
    costs: int
    people: str
    lots: str
    decisions: tuple[tuple[int, bool], ...] = ()
    collecting: tuple[tuple[int, str], ...] = ()
    left_before: int | None = None

    @property
    def today(self) -> date:
        """The day on which it was asked."""
        return date.fromisoformat(self.day)


def pin_now(workspace: Workspace) -> Pin:
    """What the workspace holds now; a workspace that is pinned gives its own pin."""
    if workspace.pinned is not None:
        return workspace.pinned
    from cubital.workspace import records
    from cubital.workspace.noted_elsewhere import collecting_approvals
    from cubital.workspace.snapshots import last_batch_number

    database = workspace.alias
    charters = records.CharterRecord.objects.using(database).order_by("version")
    costs = records.CostTable.objects.using(database).order_by("-number").first()
    return Pin(
        batch=last_batch_number(workspace),
        day=date.today().isoformat(),  # noqa: DTZ011 - an approval runs by the calendar of the desk
        language=current_language(),
        charters=tuple((entry.version, len(entry.signatures)) for entry in charters),
        policies=_policies(workspace),
        facilities=tuple(records.Facility.objects.using(database).order_by("name").values_list("name", flat=True)),
        renames=_renames(workspace),
        names=_names(workspace),
        baselines=tuple(records.Baseline.objects.using(database).order_by("id").values_list("id", flat=True)),
        diary=tuple(
            records.DiaryEntry.objects.using(database)
            .filter(withdrawn_at__isnull=True)
            .order_by("number")
            .values_list("number", flat=True)
        ),
        costs=costs.number if costs else 0,
        people=_people(workspace),
        lots=_lots(workspace),
        decisions=tuple(
            (number, withdrawn is not None)
            for number, withdrawn in records.SetDecision.objects.using(database)
            .order_by("number")
            .values_list("number", "withdrawn_at")
        ),
        collecting=tuple((version, on.isoformat()) for version, on in collecting_approvals(workspace)),
    )


def at_pin(workspace: Workspace, pin: Pin) -> Workspace:
    """The same workspace, read as it was when the pin was made."""
    return replace(workspace, pinned=pin)


def plain_pin(pin: Pin) -> dict[str, Any]:
    """The pin as it is kept, without what stands with the question."""
    plain = asdict(pin)
    del plain["left_before"]
    return plain


def pin_of(plain: dict[str, Any]) -> Pin:
    """The pin of plain data as ``plain_pin`` gives them; lists become tuples again."""
    return Pin(**{name: _tupled(value) for name, value in plain.items()})


def today_of(workspace: Workspace) -> date:
    """The day by which approvals are judged: today, or the day of the pin."""
    if workspace.pinned is not None:
        return workspace.pinned.today
    return date.today()  # noqa: DTZ011 - an approval runs by the calendar of the desk


def made_day(workspace: Workspace) -> date:
    """The day that a paper carries: today by universal time, or the day of the pin."""
    return workspace.pinned.today if workspace.pinned is not None else datetime.now(UTC).date()


def _tupled(value: Any) -> Any:
    return tuple(_tupled(one) for one in value) if isinstance(value, list | tuple) else value


def _policies(workspace: Workspace) -> tuple[tuple[int, str, str, str], ...]:
    from cubital.workspace import records

    entries = records.PolicyRecord.objects.using(workspace.alias).order_by("version")
    return tuple(
        (
            entry.version,
            entry.policy["approved_by"],
            entry.policy["approved_on"] or "",
            entry.policy["review_by"] or "",
        )
        for entry in entries
    )


def _renames(workspace: Workspace) -> tuple[tuple[str, str, str, str, str], ...]:
    from cubital.workspace.unit_names import read_renames

    return tuple(
        (one.facility, one.old_key, one.new_key, one.new_name, one.on.isoformat()) for one in read_renames(workspace)
    )


def _names(workspace: Workspace) -> tuple[tuple[str, str, str], ...]:
    from cubital.workspace.unit_names import read_unit_names

    return tuple((facility, key, name) for (facility, key), name in sorted(read_unit_names(workspace).items()))


def _people(workspace: Workspace) -> str:
    """A fingerprint of who had which role when; nobody can be found by it."""
    from cubital.workspace import records

    rows = records.StaffStay.objects.using(workspace.alias).order_by("member__key", "from_day", "to_day", "id")
    return _digits(rows.values_list("member__key", "role", "unit_key", "from_day", "to_day", "badge", "writings"))


def _lots(workspace: Workspace) -> str:
    from cubital.workspace import records

    rows = records.LotStay.objects.using(workspace.alias).order_by("item", "lot", "from_day", "id")
    return _digits(rows.values_list("item", "lot", "facility__name", "unit_key", "from_day", "to_day"))


def _digits(rows: Iterable[tuple[Any, ...]]) -> str:
    """Empty where there is nothing on the list."""
    found = [list(row) for row in rows]
    if not found:
        return ""
    return hashlib.sha256(json.dumps(found, default=str).encode()).hexdigest()[:16]
