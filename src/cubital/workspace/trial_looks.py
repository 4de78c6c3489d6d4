"""Looks at a running trial: each one is counted, kept with what it said, and spends its part of the chance of error."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from typing import Any

from cubital.answers.trial_boundary import CLOSEST, Limit, limit_of_look
from cubital.answers.trial_deviations import Done, find_deviations
from cubital.answers.trial_result import LookMade, build_result_answer
from cubital.answers.trial_result_reading import ResultReading, ResultState, TrialCounts, TurnCount, read_result
from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem, WorkspaceProblem
from cubital.domain.trial import fingerprint_of
from cubital.domain.words import _, day_words, share_words
from cubital.workspace import records
from cubital.workspace.charters import current_charter
from cubital.workspace.diary import list_entries
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import last_batch_number, snapshot_words
from cubital.workspace.trial_counts import count_trial
from cubital.workspace.trials import SealedTrial, charter_of, get_protocol
from cubital.workspace.unit_names import join_labels, read_renames
from cubital.workspace.units import list_units
from cubital.workspace.writing import hold_workspace, note_change, one_transaction


@dataclass(frozen=True, kw_only=True)
class KeptLook:
    """One look as it was kept: when, on which batch, how much of the planned sets there was, and what it came to."""

    number: int
    at: datetime
    batch: int
    share: float
    counts: TrialCounts
    last: bool
    limit: float | None
    spent: float
    crossed: bool

    @property
    def closes(self) -> bool:
        """Whether the trial ended with it."""
        return self.last or self.crossed


def list_looks(workspace: Workspace, number: int) -> tuple[KeptLook, ...]:
    """Every look at a trial, first to last; ``WorkspaceProblem`` where one is no longer what was kept."""
    trial = get_protocol(workspace, number)
    return tuple(_kept(entry, trial) for entry in _entries(workspace, number))


def look_at_trial(workspace: Workspace, *, number: int, end: bool = False) -> Answer:
    """Counts the trial as far as data are in, holds it against the limit of this look, and keeps both.

    The look ends the trial where ``end`` says so, all planned sets are there, or data reach the last day; also where
    the limit is crossed. ``RequestProblem`` where the trial has ended, an arm has no set yet, or nothing new came in
    since the look before: the same data are not looked at twice.
    """
    with hold_workspace(workspace):
        trial = get_protocol(workspace, number)
        before = list_looks(workspace, number)
        _check_open(trial, before)
        reading = read_result(trial.plan, count_trial(workspace, trial.plan, charter_of(workspace, trial.plan).charter))
        _check_new(workspace, reading, before)
        last = end or reading.share >= 1 or _reached_end(reading)
        limit = limit_of_look(trial.plan, (*(one.share for one in before), reading.share), last=last)
        with one_transaction(workspace) as database:
            outcome = _outcome(reading, limit, last=last)
            records.TrialLook.objects.using(database).create(
                protocol=records.TrialProtocol.objects.using(database).get(number=number), number=len(before) + 1,
                at=datetime.now(UTC), batch=last_batch_number(workspace), share=reading.share,
                outcome={**outcome, "seal": _seal(trial, outcome, number=len(before) + 1, share=reading.share)},
            )  # fmt: skip
            note_change(
                workspace, action="look_at_trial", subject=f"trial {number}", look=len(before) + 1,
                share=round(reading.share, 6), crossed=limit.crossed(reading.z), last=last,
            )  # fmt: skip
    return trial_result(workspace, number=number)


def trial_result(workspace: Workspace, *, number: int, look: int | None = None) -> Answer:
    """What a look said, by default the last one, with every deviation from the plan as it is known now.

    Nothing is counted anew: to read a result is to have looked. ``RequestProblem`` where nobody has looked yet.
    """
    trial, found, reading = _at_look(workspace, number=number, look=look)
    limit = Limit(z=found.limit if found.limit is not None else float("inf"), nominal_p=0.0, spent=found.spent)
    made = LookMade(number=found.number, last=found.last, limit=limit, crossed=found.crossed)
    receipt = receipt_of(
        snapshot_words(workspace, found.batch), charter_of(workspace, trial.plan), current_policy(workspace)
    )
    deviations = find_deviations(trial.plan, reading, _done(workspace, trial, until=found))
    return build_result_answer(reading, made, deviations=deviations, receipt=receipt)


def compare_with_protocol(workspace: Workspace, *, number: int) -> tuple[str, ...]:
    """Every difference between what was written and what was done up to the last look; empty where there is none."""
    trial, found, reading = _at_look(workspace, number=number, look=None)
    return find_deviations(trial.plan, reading, _done(workspace, trial, until=found))


def _at_look(workspace: Workspace, *, number: int, look: int | None) -> tuple[SealedTrial, KeptLook, ResultReading]:
    trial = get_protocol(workspace, number)
    looks = list_looks(workspace, number)
    found = next((one for one in reversed(looks) if look in (None, one.number)), None)
    if found is None:
        raise RequestProblem(
            _("nobody has looked at trial {number} yet.").format(number=number)
            if not looks
            else _("trial {number} has no look {look}.").format(number=number, look=look),
            fix=_("Look when the plan says so: every look is kept, and costs a part of the certainty."),
        )
    return trial, found, read_result(trial.plan, found.counts)


def _check_open(trial: SealedTrial, before: tuple[KeptLook, ...]) -> None:
    if before and before[-1].closes:
        raise RequestProblem(
            _("trial {number} ended with look {look} on {day}.").format(
                number=trial.number, look=before[-1].number, day=day_words(before[-1].at.date())
            ),
            fix=_("Read its result. A new question is a new trial."),
        )


def _check_new(workspace: Workspace, reading: ResultReading, before: tuple[KeptLook, ...]) -> None:
    if reading.state is ResultState.EMPTY:
        raise RequestProblem(
            _("there are not sets of both arms yet, so that there is nothing to look at. No look was counted."),
            fix=_("Look when the plan says so."),
        )
    if not before:
        return
    same = before[-1].batch == last_batch_number(workspace)
    if same or reading.share <= before[-1].share + CLOSEST:
        raise RequestProblem(
            _(
                "look {number} on {day} saw these data already ({share} of the planned sets): nothing new came in."
            ).format(
                number=before[-1].number, day=day_words(before[-1].at.date()), share=share_words(before[-1].share, 0)
            ),
            fix=_("Take the next file in first. The result of that look can be read at any time."),
        )


def _reached_end(reading: ResultReading) -> bool:
    data_to = reading.counts.data_to
    return data_to is not None and data_to >= reading.plan.end


def _outcome(reading: ResultReading, limit: Limit, *, last: bool) -> dict[str, Any]:
    counts = reading.counts
    return {
        "turns": [asdict(one) for one in counts.turns], "settling": counts.settling, "undated": counts.undated,
        "data_to": counts.data_to.isoformat() if counts.data_to else "", "last": last,
        "limit": limit.z if limit.z < float("inf") else None, "spent": limit.spent,
        "z": reading.z, "crossed": limit.crossed(reading.z),
    }  # fmt: skip


def _seal(trial: SealedTrial, outcome: dict[str, Any], *, number: int, share: float) -> str:
    return fingerprint_of({**outcome, "trial": trial.fingerprint, "look": number, "share": share})


def _kept(entry: records.TrialLook, trial: SealedTrial) -> KeptLook:
    outcome = dict(entry.outcome)
    seal = outcome.pop("seal", "")
    if seal != _seal(trial, outcome, number=entry.number, share=entry.share):
        raise WorkspaceProblem(
            _("look {look} of trial {number} was changed after it was kept.").format(
                look=entry.number, number=trial.number
            ),
            fix=_("Compare it with the printed page, and restore the workspace from a backup made before."),
        )
    counts = TrialCounts(
        turns=tuple(TurnCount(**one) for one in outcome["turns"]), settling=outcome["settling"],
        undated=outcome["undated"], data_to=date.fromisoformat(outcome["data_to"]) if outcome["data_to"] else None,
    )  # fmt: skip
    return KeptLook(
        number=entry.number, at=entry.at.astimezone(UTC), batch=entry.batch, share=entry.share, counts=counts,
        last=outcome["last"], limit=outcome["limit"], spent=outcome["spent"], crossed=outcome["crossed"],
    )  # fmt: skip


def _entries(workspace: Workspace, number: int) -> Any:
    found = records.TrialLook.objects.using(workspace.alias).filter(protocol__number=number).order_by("number")
    return found if workspace.pinned is None else found.filter(batch__lte=workspace.pinned.batch)


def _done(workspace: Workspace, trial: SealedTrial, *, until: KeptLook) -> Done:
    plan = trial.plan
    units = {(unit.facility, unit.current_key): unit.unit_name for unit in list_units(workspace)}
    current = join_labels(read_renames(workspace))
    places = {(one.facility, one.unit): one.place for one in plan.stretches}
    today = {place: (place[0], current.get(place, place[1])) for place in places}
    return Done(
        looks=tuple(one.share for one in list_looks(workspace, trial.number) if one.number <= until.number),
        ended=until.closes,
        charter_now=current_charter(workspace).version, replaced_by=trial.replaced_by,
        entries=list_entries(workspace),
        renamed=tuple(
            (places[place], units[now]) for place, now in sorted(today.items()) if now != place and now in units
        ),
        gone=tuple(places[place] for place, now in sorted(today.items()) if now not in units),
    )  # fmt: skip
