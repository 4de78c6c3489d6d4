"""The records of a workspace: small, transactional, one SQLite file in the folder.

No patient and no member of staff is named here. Always say which workspace: ``Batch.objects.using(ws.alias)``.
"""

from __future__ import annotations

from django.db import models


class Facility(models.Model):
    """One hospital. ``key`` is the name tidied, so that "marrowby general" finds "Marrowby General"."""

    key = models.CharField(max_length=200, unique=True)
    name = models.CharField(max_length=200)
    timezone = models.CharField(max_length=64)

    def __str__(self) -> str:
        return self.name


class Batch(models.Model):
    """One accepted file: the commit point. The versions name the state of each table that readers open from now on."""

    class Kind(models.TextChoices):
        CULTURES = "cultures"
        MOVEMENTS = "movements"

    number = models.PositiveIntegerField(unique=True)
    kind = models.CharField(max_length=16, choices=Kind.choices, default=Kind.CULTURES)
    taken_at = models.DateTimeField()
    file_name = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64, db_index=True)
    file_bytes = models.PositiveBigIntegerField(default=0)
    facility = models.ForeignKey(Facility, on_delete=models.PROTECT)
    source = models.CharField(max_length=200)
    reconciliation = models.JSONField(default=dict)
    mapping = models.JSONField(default=dict)
    notes = models.JSONField(default=list)
    changed_months = models.JSONField(default=list)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    unchanged = models.PositiveIntegerField(default=0)
    outdated = models.PositiveIntegerField(default=0)
    sets_version = models.IntegerField()
    bottles_version = models.IntegerField()
    isolates_version = models.IntegerField()
    movements_version = models.IntegerField()
    code_version = models.CharField(max_length=32)
    released_at = models.DateTimeField(null=True, blank=True)  # from then on the state it left is no longer promised

    def __str__(self) -> str:
        return f"batch {self.number}"


class Compaction(models.Model):
    """The same rows in fewer files: from here on readers of this batch's state open these versions instead."""

    number = models.PositiveIntegerField(unique=True)
    batch = models.PositiveIntegerField()
    compacted_at = models.DateTimeField()
    files_before = models.PositiveIntegerField()
    files_after = models.PositiveIntegerField()
    sets_version = models.IntegerField()
    bottles_version = models.IntegerField()
    isolates_version = models.IntegerField()
    movements_version = models.IntegerField()

    def __str__(self) -> str:
        return f"compaction {self.number}"


class Promise(models.Model):
    """The state that this batch left is kept whatever the keep time: a frozen month rests on it."""

    batch = models.PositiveIntegerField()
    reason = models.CharField(max_length=200)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"batch {self.batch} kept for {self.reason}"


class CareSetting(models.Model):
    """How many days an old state can be opened again; none means always. One row."""

    keep_days = models.PositiveIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return "care setting"


class SourceMemory(models.Model):
    """What one source of files taught us; see the words of the same name in ``domain``."""

    source = models.CharField(max_length=200, unique=True)
    columns = models.JSONField(default=dict)
    answers = models.JSONField(default=dict)
    organisms = models.JSONField(default=dict)

    def __str__(self) -> str:
        return self.source


class UnitRename(models.Model):
    """On this day the unit's label changed. Both labels are one unit in every count; charts carry a mark."""

    facility = models.ForeignKey(Facility, on_delete=models.PROTECT)
    old_key = models.CharField(max_length=200)
    new_key = models.CharField(max_length=200)
    new_name = models.CharField(max_length=200)
    on = models.DateField()

    class Meta:
        constraints = [  # noqa: RUF012 - Django reads a plain list
            models.UniqueConstraint(fields=["facility", "old_key", "new_key", "on"], name="one_rename_once")
        ]

    def __str__(self) -> str:
        return f"{self.old_key} became {self.new_key} on {self.on}"


class UnitName(models.Model):
    """How a unit's label is written for people; without one, the label itself in its best-looking case."""

    facility = models.ForeignKey(Facility, on_delete=models.PROTECT)
    unit_key = models.CharField(max_length=200)
    name = models.CharField(max_length=200)

    class Meta:
        constraints = [  # noqa: RUF012 - Django reads a plain list
            models.UniqueConstraint(fields=["facility", "unit_key"], name="one_name_per_unit")
        ]

    def __str__(self) -> str:
        return self.name


class CharterRecord(models.Model):
    """One version of the charter. Its rules never change; signing freezes it and puts it in force."""

    version = models.PositiveIntegerField(unique=True)
    rules = models.JSONField()
    fingerprint = models.CharField(max_length=16)
    signatures = models.JSONField(default=list)
    frozen = models.BooleanField(default=False)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"charter {self.version}"


class PolicyRecord(models.Model):
    """One version of the local policy with its approval, if it has one."""

    version = models.PositiveIntegerField(unique=True)
    policy = models.JSONField()
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"policy {self.version}"


class CollectionPolicyRecord(models.Model):
    """One version of the policy on collecting, as its file, with its approval sealed by this workspace."""

    version = models.PositiveIntegerField(unique=True)
    text = models.TextField()
    seal = models.CharField(max_length=64, blank=True)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"policy on collecting {self.version}"


class StaffMember(models.Model):
    """Somebody who collects, without a name: names stay in the staff list outside. ``identity`` is a keyed digest by
    which a later list finds the same person again."""

    key = models.CharField(max_length=16, unique=True)
    facility = models.ForeignKey(Facility, on_delete=models.PROTECT)
    identity = models.CharField(max_length=64, unique=True)
    listed_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.key


class StaffStay(models.Model):
    """One person in one role from a day to a day, none where open. ``badge`` and ``writings`` are keyed digests of how
    laboratory files write the person."""

    member = models.ForeignKey(StaffMember, on_delete=models.CASCADE, related_name="stays")
    role = models.CharField(max_length=120, blank=True)
    unit_key = models.CharField(max_length=200, blank=True)
    from_day = models.DateField(null=True, blank=True)
    to_day = models.DateField(null=True, blank=True)
    badge = models.CharField(max_length=64, blank=True)
    writings = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"stay of {self.member_id}"


class SetDispute(models.Model):
    """Somebody says that this set was not theirs; while it is not taken back, it counts for nobody."""

    member = models.ForeignKey(StaffMember, on_delete=models.CASCADE, related_name="disputes")
    facility = models.CharField(max_length=200)
    accession = models.CharField(max_length=200)
    noted_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"dispute of {self.member_id}"


class SetDecision(models.Model):
    """What medical microbiology decided about one doubtful set, by role and initials; it holds until it is withdrawn.

    ``seen`` is the class and the reason that the set had when it was put before them, without its unit or collector.
    """

    number = models.PositiveIntegerField(unique=True)
    facility = models.ForeignKey(Facility, on_delete=models.PROTECT)
    accession = models.CharField(max_length=200)
    decision = models.CharField(max_length=16)
    initials = models.CharField(max_length=12)
    role = models.CharField(max_length=120)
    why = models.CharField(max_length=400)
    decided_on = models.DateField()
    seen = models.JSONField(default=dict)
    batch = models.PositiveIntegerField()
    noted_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_why = models.CharField(max_length=400, blank=True)

    def __str__(self) -> str:
        return f"decision {self.number}"


class FeedbackLetter(models.Model):
    """One letter that was made for a person, with every set it rests on, until the day on which that is deleted."""

    class Kind(models.TextChoices):
        FEEDBACK = "feedback"
        CORRECTION = "correction"

    member = models.ForeignKey(StaffMember, on_delete=models.CASCADE, related_name="letters")
    kind = models.CharField(max_length=16, choices=Kind.choices)
    made_at = models.DateTimeField()
    from_month = models.CharField(max_length=7)
    to_month = models.CharField(max_length=7)
    data = models.CharField(max_length=200)
    draws = models.PositiveIntegerField()
    contaminated = models.PositiveIntegerField()
    sets = models.JSONField(default=list)
    changes = models.JSONField(default=list)
    expires_on = models.DateField()

    def __str__(self) -> str:
        return f"{self.kind} letter {self.pk}"


class LeftTable(models.Model):
    """One table of counts that left for others: every cell, shown or hidden, so that the next table gives none away.

    ``cells`` are lists of measure, definition, facility, unit, span, count, what it cannot exceed, and 1 where it was
    shown. ``sums`` are lists of a total's place among them and the places of its parts. ``batch`` names the data.
    """

    number = models.PositiveIntegerField(unique=True)
    left_at = models.DateTimeField()
    face = models.CharField(max_length=64)
    about = models.CharField(max_length=200)
    batch = models.PositiveIntegerField()
    policy = models.CharField(max_length=16)
    low = models.PositiveIntegerField()
    high = models.PositiveIntegerField()
    cells = models.JSONField(default=list)
    sums = models.JSONField(default=list)
    fingerprint = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"table {self.number}"


class LotStay(models.Model):
    """One lot of one item in use at a unit, or the whole facility where ``unit_key`` is empty; open without an end."""

    item = models.CharField(max_length=120)
    lot = models.CharField(max_length=120)
    facility = models.ForeignKey(Facility, on_delete=models.PROTECT)
    unit_key = models.CharField(max_length=200, blank=True)
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)
    noted_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.item} {self.lot}"


class Baseline(models.Model):
    """Months that somebody locked as what is usual for one place, from the first of them on.

    No facility means all of them together, no unit the whole facility. ``charter`` and ``batch`` say what it was looked
    at with. A baseline is never changed; a later one begins a new phase.
    """

    facility = models.ForeignKey(Facility, on_delete=models.PROTECT, null=True, blank=True)
    unit_key = models.CharField(max_length=200, blank=True)
    first = models.CharField(max_length=7)
    last = models.CharField(max_length=7)
    locked_by = models.CharField(max_length=120)
    role = models.CharField(max_length=120)
    locked_on = models.DateField()
    why = models.CharField(max_length=400)
    charter = models.PositiveIntegerField()
    batch = models.PositiveIntegerField()
    noted_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"baseline {self.first} to {self.last}"


class LastPlace(models.Model):
    """Where the person left off; one row."""

    place = models.JSONField(default=dict)

    def __str__(self) -> str:
        return "last place"


class AuditLine(models.Model):
    """One line for every change of state: what was done to what, and when. Counts only, never a person's values."""

    at = models.DateTimeField()
    action = models.CharField(max_length=64)
    subject = models.CharField(max_length=200)
    detail = models.JSONField(default=dict)

    def __str__(self) -> str:
        return f"{self.action} {self.subject}"


from cubital.workspace.models_of_change import (  # noqa: E402 - they refer to the tables above
    ActionStep,
    CommitteePack,
    CostTable,
    DiaryEntry,
    KeptReceipt,
    PlannedAction,
    TrialLook,
    TrialProtocol,
)

__all__ = [
    "ActionStep", "AuditLine", "Baseline", "Batch", "CareSetting", "CharterRecord", "CollectionPolicyRecord",
    "CommitteePack", "Compaction", "CostTable", "DiaryEntry", "Facility", "FeedbackLetter", "KeptReceipt", "LastPlace",
    "LeftTable", "LotStay", "PlannedAction", "PolicyRecord", "Promise", "SetDecision", "SetDispute", "SourceMemory",
    "StaffMember", "StaffStay", "TrialLook", "TrialProtocol", "UnitName", "UnitRename",
]  # fmt: skip
