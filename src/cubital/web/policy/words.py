"""The state of a policy as a sentence, and the differences between two versions as rows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cubital.domain.policy import Policy, PolicyState, changed_values
from cubital.domain.words import _, day_words

MARKS = {PolicyState.APPROVED: "●", PolicyState.DRAFT: "○", PolicyState.EXPIRED: "▲"}


@dataclass(frozen=True, kw_only=True)
class StateWords:
    """How a policy stands today: a mark, a word, a sentence."""

    mark: str
    sentence: str
    approved: bool


@dataclass(frozen=True, kw_only=True)
class ChangedValue:
    """One value that differs between two versions; a dash where a side does not have it."""

    label: str
    unit: str
    old: str
    new: str


@dataclass(frozen=True, kw_only=True)
class ValueWords:
    """One value as it stands in the table."""

    label: str
    number: str
    unit: str
    source: str
    owner: str


def value_words(policy: Policy) -> tuple[ValueWords, ...]:
    """Every value of a policy, shares as per cent."""
    return tuple(
        ValueWords(
            label=value.label, number=shown_value(value.value, value.unit), unit=shown_unit(value.unit),
            source=value.source, owner=value.owner,
        )
        for value in policy.values
    )  # fmt: skip


def shown_unit(unit: str) -> str:
    """A unit as people say it."""
    return "%" if unit == "proportion" else unit


def shown_value(value: float | None, unit: str) -> str:
    """A value as people write it: shares as per cent, a dash where there is none."""
    if value is None:
        return "–"
    return f"{round(100 * value, 8):g}" if unit == "proportion" else f"{value:g}"


def stored_value(value: float, unit: str) -> float:
    """What was written, as the policy keeps it."""
    return round(value / 100, 10) if unit == "proportion" else value


def state_words(policy: Policy, today: date) -> StateWords:
    """What may be done with this policy today."""
    state = policy.state(today)
    sentence = {
        PolicyState.DRAFT: _("Version {version} is a draft: nobody has approved it."),
        PolicyState.APPROVED: _(
            "Version {version} is approved by {who} on {on}, to be looked at again by {review_by}."
        ),
        PolicyState.EXPIRED: _("Version {version} is out of date: it was to be looked at again by {review_by}."),
    }[state].format(
        version=policy.version,
        who=policy.approved_by,
        on=day_words(policy.approved_on) if policy.approved_on else "",
        review_by=day_words(policy.review_by) if policy.review_by else "",
    )
    return StateWords(mark=MARKS[state], sentence=sentence, approved=state is PolicyState.APPROVED)


def differences(old: Policy, new: Policy) -> tuple[ChangedValue, ...]:
    """Every value that is not the same in both."""
    entries = {value.key: value for policy in (old, new) for value in policy.values}
    return tuple(
        ChangedValue(
            label=entries[key].label, unit=shown_unit(entries[key].unit),
            old=shown_value(before, entries[key].unit), new=shown_value(after, entries[key].unit),
        )
        for key, before, after in changed_values(old, new)
    )  # fmt: skip
