"""Which hospital a file is from, and in which time zone its clocks run."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from zoneinfo import available_timezones

from cubital.domain.errors import Question, QuestionsOpen, RequestProblem
from cubital.domain.places import Facility
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.opening import Workspace

TIMEZONE_QUESTION = "timezone"


def facility_key(name: str) -> str:
    """A facility's name as it is compared: no difference of case or spacing."""
    return " ".join(name.split()).casefold()


def list_facilities(workspace: Workspace) -> tuple[Facility, ...]:
    """Every facility of the workspace, by name."""
    found = records.Facility.objects.using(workspace.alias).order_by("name")
    if workspace.pinned is not None:
        found = found.filter(name__in=workspace.pinned.facilities)
    return tuple(Facility(name=entry.name, timezone=entry.timezone) for entry in found)


def find_facility(workspace: Workspace, name: str) -> Facility | None:
    """The facility of that name, or none."""
    entry = records.Facility.objects.using(workspace.alias).filter(key=facility_key(name)).first()
    if entry and workspace.pinned is not None and entry.name not in workspace.pinned.facilities:
        return None
    return Facility(name=entry.name, timezone=entry.timezone) if entry else None


def get_facility(workspace: Workspace, name: str) -> Facility:
    """The facility of that name; ``RequestProblem`` with the names there are where it is unknown."""
    found = find_facility(workspace, name)
    if found is None:
        known = ", ".join(facility.name for facility in list_facilities(workspace))
        raise RequestProblem(
            _("there is no facility '{name}' in this workspace.").format(name=name),
            fix=_("Known are: {names}.").format(names=known) if known else _("Take a file of it in first."),
        )
    return found


def settle_facility(
    workspace: Workspace, *, name: str, timezone: str | None, answers: Mapping[str, str], accept: bool
) -> Facility:
    """The facility a file is taken for, known or new, with its time zone; nothing is stored yet.

    A new facility needs a time zone: given, answered, or, with ``accept``, the only one that the workspace's other
    facilities share. Raises ``QuestionsOpen`` where none of these settles it and ``RequestProblem`` where the zone is
    unknown or differs from the one that the facility's earlier files were read in.
    """
    tidy = " ".join(name.split())
    if not tidy:
        raise RequestProblem(_("the facility has no name."), fix=_("Give it with --facility."))
    known = find_facility(workspace, tidy)
    asked = timezone or answers.get(TIMEZONE_QUESTION)
    if known is not None:
        if asked and _checked_timezone(asked) != known.timezone:
            raise RequestProblem(
                _("{name} is kept in {known}, not in {asked}: its earlier times would move.").format(
                    name=known.name, known=known.timezone, asked=asked
                ),
                fix=_("Leave the time zone out, or name another facility."),
            )
        return known
    return Facility(name=tidy, timezone=_checked_timezone(asked) if asked else _usual_timezone(workspace, tidy, accept))


def record_facility(workspace: Workspace, *, facility: Facility) -> records.Facility:
    """Stores the facility if it is new; to be called inside the transaction of the change that needs it."""
    entry, _created = records.Facility.objects.using(workspace.alias).get_or_create(
        key=facility_key(facility.name), defaults={"name": facility.name, "timezone": facility.timezone}
    )
    return entry


def _usual_timezone(workspace: Workspace, name: str, accept: bool) -> str:
    zones = sorted({facility.timezone for facility in list_facilities(workspace)})
    if accept and len(zones) == 1:
        return zones[0]
    text = _("In which time zone are the clocks of {name}? Write it as a place, such as America/Chicago.")
    raise QuestionsOpen([Question(TIMEZONE_QUESTION, text.format(name=name), tuple(zones) if len(zones) == 1 else ())])


def _checked_timezone(name: str) -> str:
    known = available_timezones()
    if name in known:
        return name
    near = get_close_matches(name.replace(" ", "_"), sorted(known), n=3, cutoff=0.6)
    raise RequestProblem(
        _("'{name}' is no time zone.").format(name=name),
        where=_("time zone"),
        fix=_("Write it as a place, such as {examples}.").format(examples=", ".join(near) or "America/Chicago"),
    )
