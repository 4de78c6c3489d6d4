"""What happened to a workspace since a pin: the reasons why the same question has another answer today."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from cubital.domain.words import _, day_words, month_words, ngettext
from cubital.workspace.batches import BatchReport, list_batches
from cubital.workspace.charters import CharterVersion, current_charter
from cubital.workspace.known_then import day_of
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import Pin, at_pin, pin_now
from cubital.workspace.policies import current_policy
from cubital.workspace.unit_names import label_words

MOST_BATCHES = 12
MOST_MONTHS = 6


def changed_since(workspace: Workspace, pin: Pin, *, rests_on: Collection[str] = ()) -> tuple[str, ...]:
    """Every change since, in words: files first, then rules, then names and lists.

    ``rests_on`` are the lists (``people``, ``lots``) whose change matters to what is asked.
    """
    now = pin_now(workspace)
    then = at_pin(workspace, pin)
    return (
        *_files(workspace, pin),
        *_charter(current_charter(then), current_charter(workspace)),
        *_policy(workspace, then, now),
        *_names(pin, now),
        *_places(pin, now),
        *(list_words(one) for one in rests_on if getattr(pin, one) != getattr(now, one)),
    )


def list_words(name: str) -> str:
    """That a list which is not kept as it was is another one now."""
    if name == "people":
        return _("The list of people was changed since; Cubital does not keep it as it was.")
    return _("The register of lots was changed since; Cubital does not keep it as it was.")


def _files(workspace: Workspace, pin: Pin) -> Iterator[str]:
    later = [one for one in list_batches(workspace) if one.number > pin.batch]
    for batch in later[:MOST_BATCHES]:
        yield _file_words(batch, day_of(workspace, batch))
    rest = len(later) - MOST_BATCHES
    if rest > 0:
        yield ngettext("And {count} more file since.", "And {count} more files since.", rest).format(count=rest)


def _file_words(batch: BatchReport, day: date) -> str:
    held = {"number": batch.number, "day": day_words(day)}
    if batch.changed_months:
        months = [month_words(month, with_year=True) for month in batch.changed_months[:MOST_MONTHS]]
        named = ", ".join(months) + (" …" if len(batch.changed_months) > MOST_MONTHS else "")
        return _("Restated by batch {number} on {day}: {months}.").format(**held, months=named)
    if batch.kind == "movements":
        return _("Batch {number} of {day} brought movements of patients.").format(**held)
    return _("Batch {number} of {day} brought new sets and restated none.").format(**held)


def _charter(then: CharterVersion, now: CharterVersion) -> Iterator[str]:
    if then.version != now.version:
        day = min((one.signed_on for one in now.signatures), default=None)
        since = _("signed on {day}").format(day=day_words(day)) if day else _("not signed")
        yield _("Counted then under charter {old} '{old_name}', now under charter {new} '{new_name}', {since}.").format(
            old=then.version, old_name=then.charter.name, new=now.version, new_name=now.charter.name, since=since
        )
    elif len(then.signatures) != len(now.signatures):
        yield _("Charter {number} was signed since.").format(number=now.version)


def _policy(workspace: Workspace, then: Workspace, now: Pin) -> Iterator[str]:
    old, new = current_policy(then), current_policy(workspace)
    if old.version != new.version:
        yield _("Judged then by policy {old}, now by policy {new}.").format(old=old.version, new=new.version)
    elif then.pinned is not None and old.state(then.pinned.today) is not new.state(now.today):
        yield _("Policy {number} was approved, or its approval ran out, since.").format(number=new.version)


def _names(pin: Pin, now: Pin) -> Iterator[str]:
    for facility, old, _new_key, name, _day in now.renames:
        if not any((place, key) == (facility, old) for place, key, *_rest in pin.renames):
            yield _("{old} at {facility} is called {new} since; both are one unit.").format(
                old=label_words(old), facility=facility, new=name
            )
    if pin.names != now.names:
        yield _("How units are written was changed since.")
    for name in now.facilities:
        if name not in pin.facilities:
            yield _("{facility} was added since.").format(facility=name)


def _places(pin: Pin, now: Pin) -> Iterator[str]:
    if set(now.baselines) - set(pin.baselines):
        yield _("Another baseline was locked since.")
    if pin.diary != now.diary:
        yield _("The diary has other entries since.")
    if pin.decisions != now.decisions:
        yield _("Medical microbiology decided about doubtful sets since.")
    if pin.costs != now.costs:
        yield _("The costs were changed since.")
