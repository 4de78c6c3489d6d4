"""Who drew at which hours before and since a change, and the same roles compared in the same hours only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cubital.answers.did_wording import range_words, ratio_words
from cubital.domain.answer import AnswerTable, Cell
from cubital.domain.words import _, share_words
from cubital.stats.mantel_haenszel import Stratified, Stratum, compare_within

MOSTLY = 0.95  # the hours of a role hold this much of its sets
NARROW = 20  # a role whose sets lie within fewer hours than this works by part of the day
LEAST_SETS = 20  # a role with fewer sets has no hours of its own
HOURS = 24
Pair = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class HourRow:
    """``contaminated`` of ``sets`` that a ``role`` drew in one ``hour`` (0 to 23), before or since."""

    role: str
    hour: int
    after: bool
    sets: int
    contaminated: int


@dataclass(frozen=True, kw_only=True)
class RoleHours:
    """The shortest run of hours that holds almost all sets of a ``role``: from ``first`` on, ``length`` of them."""

    role: str
    first: int
    length: int
    share: float

    def holds(self, hour: int) -> bool:
        return (hour - self.first) % HOURS < self.length

    @property
    def words(self) -> str:
        """``07:00–19:00``."""
        return f"{self.first:02d}:00\u2013{(self.first + self.length) % HOURS:02d}:00"


@dataclass(frozen=True, kw_only=True)
class MatchedHours:
    """``words`` on the hours, and the ``table`` of the same hours; none where there is nothing to match, and why."""

    words: str
    table: AnswerTable | None = None
    ratio: Stratified | None = None


def match_hours(rows: Sequence[HourRow], *, unknown: int) -> MatchedHours:
    """Compares the role with the narrowest hours with all others in its own hours, hour by hour, since the change.

    ``unknown`` sets have no role or no hour and take no part.
    """
    sets = _totals(rows)
    roles = [role for role, (_x, n) in sets.items() if n >= LEAST_SETS]
    if len(roles) < 2:
        return MatchedHours(words=_(
            "No table matched by hour is attached: fewer than two roles are known to have drawn here."
        ))  # fmt: skip
    narrow = min((role_hours(rows, role) for role in roles), key=lambda one: one.length)
    if narrow.length >= NARROW:
        return MatchedHours(words=_("All roles drew at all hours of the day, so no hours need to be matched."))
    inside = [row for row in rows if narrow.holds(row.hour)]
    found = _compare(inside, narrow.role)
    said = [
        _("Sets of {role} were drawn {hours} ({share} of them); the table compares these hours only.").format(
            role=narrow.role, hours=narrow.words, share=share_words(narrow.share, 0)
        )
    ]  # fmt: skip
    if found is not None and found.odds_ratio is not None:
        ratio = found.odds_ratio
        said.append(_("Since then, hour by hour, {role} against all others: {ratio} times as often ({range}).").format(
            role=narrow.role, ratio=ratio_words(ratio.estimate), range=range_words(ratio.interval)
        ))  # fmt: skip
    if unknown:
        said.append(_("{count} sets have no role or no hour and take no part.").format(count=unknown))
    return MatchedHours(words=" ".join(said), table=_table(inside, narrow, roles), ratio=found)


def role_hours(rows: Iterable[HourRow], role: str) -> RoleHours:
    """The shortest run of hours around the clock that holds ``MOSTLY`` of the role's sets."""
    by_hour = [0] * HOURS
    for row in rows:
        if row.role == role:
            by_hour[row.hour] += row.sets
    total = sum(by_hour)
    for length in range(1, HOURS + 1):
        first = max(range(HOURS), key=lambda start: sum(by_hour[(start + at) % HOURS] for at in range(length)))
        inside = sum(by_hour[(first + at) % HOURS] for at in range(length))
        if inside >= MOSTLY * total:
            return RoleHours(role=role, first=first, length=length, share=inside / total if total else 0.0)
    raise AssertionError("all hours hold all sets")


def _totals(rows: Iterable[HourRow]) -> Mapping[str, Pair]:
    found: dict[str, Pair] = defaultdict(lambda: (0, 0))
    for row in rows:
        x, n = found[row.role]
        found[row.role] = (x + row.contaminated, n + row.sets)
    return found


def _compare(rows: Sequence[HourRow], role: str) -> Stratified | None:
    """The role against all others since the change, within each hour."""
    cells: dict[int, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for row in rows:
        if row.after:
            at = 0 if row.role == role else 2
            cells[row.hour][at] += row.contaminated
            cells[row.hour][at + 1] += row.sets
    try:
        return compare_within([Stratum(*cell) for cell in cells.values()])
    except ValueError:
        return None


def _table(rows: Sequence[HourRow], narrow: RoleHours, roles: Sequence[str]) -> AnswerTable:
    cells: list[tuple[Cell, ...]] = []
    for role in sorted(roles):
        for after in (False, True):
            held = [row for row in rows if row.role == role and row.after is after]
            x, n = sum(row.contaminated for row in held), sum(row.sets for row in held)
            if n:
                cells.append((role, _("since") if after else _("before"), n, x, round(100 * x / n, 1)))
    return AnswerTable(
        title=_("The same hours: {hours}").format(hours=narrow.words),
        columns=(_("Role"), _("When"), _("Sets"), _("Contaminated"), _("Contaminated, %")), rows=tuple(cells),
    )  # fmt: skip
