"""Records about change: what happened when, trials agreed beforehand, actions with owners, packs, receipts, costs.

Imported by ``models`` so that they are tables like the others. Nothing here is ever rewritten: a correction is a new
row that names the one it replaces.
"""

from __future__ import annotations

from django.db import models


class DiaryEntry(models.Model):
    """One dated change at a place. No facility means everywhere, no unit the whole facility; open without an end.

    ``replaces`` is the number of the entry that this one corrects; ``withdrawn_at`` says that it no longer counts, and
    ``withdrawn_why`` why not.
    """

    number = models.PositiveIntegerField(unique=True)
    kind = models.CharField(max_length=32)
    facility = models.ForeignKey("records.Facility", on_delete=models.PROTECT, null=True, blank=True)
    unit_key = models.CharField(max_length=200, blank=True)
    on = models.DateField()
    until = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=200)
    source = models.CharField(max_length=200, blank=True)
    noted_by = models.CharField(max_length=120, blank=True)
    noted_at = models.DateTimeField()
    replaces = models.PositiveIntegerField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_why = models.CharField(max_length=400, blank=True)

    def __str__(self) -> str:
        return f"diary entry {self.number}"


class TrialProtocol(models.Model):
    """An analysis that was written down before its data: the plan as plain data, its fingerprint, who sealed it when.

    ``batch`` and ``data_to`` say which data there were on the day it was sealed.
    """

    number = models.PositiveIntegerField(unique=True)
    name = models.CharField(max_length=120)
    plan = models.JSONField()
    fingerprint = models.CharField(max_length=64)
    sealed_by = models.CharField(max_length=120)
    role = models.CharField(max_length=120)
    sealed_at = models.DateTimeField()
    batch = models.PositiveIntegerField()
    data_to = models.CharField(max_length=10, blank=True)
    replaces = models.PositiveIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return f"trial {self.number}"


class TrialLook(models.Model):
    """One look at a running trial: how much of the planned information it held and what was said."""

    protocol = models.ForeignKey(TrialProtocol, on_delete=models.PROTECT, related_name="looks")
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    batch = models.PositiveIntegerField()
    share = models.FloatField()
    outcome = models.JSONField(default=dict)

    class Meta:
        constraints = [  # noqa: RUF012 - Django reads a plain list
            models.UniqueConstraint(fields=["protocol", "number"], name="one_look_per_number")
        ]

    def __str__(self) -> str:
        return f"look {self.number} at trial {self.protocol_id}"


class PlannedAction(models.Model):
    """One thing that was decided, who owns it by role, and when it is due. Its story is in its steps."""

    number = models.PositiveIntegerField(unique=True)
    facility = models.ForeignKey("records.Facility", on_delete=models.PROTECT, null=True, blank=True)
    unit_key = models.CharField(max_length=200, blank=True)
    words = models.CharField(max_length=400)
    owner = models.CharField(max_length=120)
    because = models.CharField(max_length=400, blank=True)
    opened_on = models.DateField()
    due_on = models.DateField()
    noted_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"action {self.number}"


class ActionStep(models.Model):
    """What happened to an action: ``moved`` to another day or owner, ``noted``, ``done``, ``dropped``, ``reopened``."""

    action = models.ForeignKey(PlannedAction, on_delete=models.PROTECT, related_name="steps")
    on = models.DateField()
    what = models.CharField(max_length=16)
    words = models.CharField(max_length=400, blank=True)
    owner = models.CharField(max_length=120, blank=True)
    due_on = models.DateField(null=True, blank=True)
    noted_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.what} of action {self.action_id}"


class CommitteePack(models.Model):
    """One pack that was made for a committee: its span, its decisions asked for, and the receipts of what it says."""

    number = models.PositiveIntegerField(unique=True)
    made_at = models.DateTimeField()
    from_month = models.CharField(max_length=7)
    to_month = models.CharField(max_length=7)
    facility = models.ForeignKey("records.Facility", on_delete=models.PROTECT, null=True, blank=True)
    batch = models.PositiveIntegerField()
    said = models.JSONField(default=dict)
    receipts = models.JSONField(default=list)
    left_table = models.PositiveIntegerField(null=True, blank=True)
    fingerprint = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"pack {self.number}"


class KeptReceipt(models.Model):
    """What a figure that left was computed from, and what it was, so that it can be computed again.

    ``asked`` is the question and its arguments as plain data; ``state`` the versions of the tables; ``said`` the answer
    as plain data, and ``digest`` its SHA-256.
    """

    code = models.CharField(max_length=40, unique=True)
    made_at = models.DateTimeField()
    question = models.CharField(max_length=64)
    asked = models.JSONField()
    batch = models.PositiveIntegerField()
    state = models.JSONField()
    charter = models.PositiveIntegerField()
    policy = models.PositiveIntegerField()
    code_version = models.CharField(max_length=32)
    said = models.JSONField()
    digest = models.CharField(max_length=64)

    def __str__(self) -> str:
        return self.code


class CostTable(models.Model):
    """One version of the local inputs to "is it worth it?", as plain data: each with source, range, kind and year."""

    number = models.PositiveIntegerField(unique=True)
    inputs = models.JSONField()
    noted_by = models.CharField(max_length=120)
    role = models.CharField(max_length=120)
    noted_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"costs {self.number}"
