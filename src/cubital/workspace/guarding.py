"""What others may see of a table of counts: the guard with the site's own limits and all that left before.

Two ways in. ``guard_page`` hides what is small in a table that stays on this screen or is made anew each time; nothing
is remembered. ``let_leave`` is for everything that others take away: it looks at what left before, and keeps what
leaves now.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from cubital.domain.errors import PolicyProblem, RequestProblem
from cubital.domain.policy import Policy
from cubital.domain.words import _, day_words
from cubital.indicators.disclosure.guard import Before, Guarded, guard
from cubital.indicators.disclosure.tables import Cell, CountTable, SmallCounts, Sum
from cubital.indicators.disclosure.unit_months import CountKey
from cubital.workspace.left_tables import add_left_table, list_left_tables, read_before
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.writing import hold_workspace

CHANGE = "change of "  # the measure of a difference between a count that left and its restatement


@dataclass(frozen=True, kw_only=True)
class Leaving:
    """A table that may leave: ``guarded.shown`` says what stands in it. ``number`` is that of the note kept of it."""

    guarded: Guarded
    limits: SmallCounts
    number: int

    def may_show(self, cell: Cell) -> bool:
        """Whether this count may stand on the page; one that nobody asked about may not."""
        return self.guarded.shown.get(cell) is not None


def small_counts(policy: Policy) -> SmallCounts:
    """The counts that this policy hides; ``PolicyProblem`` where it does not say, for then nothing may leave."""
    held = {value.key: value.value for value in policy.values}
    missing = [key for key in ("suppress_from", "suppress_to") if key not in held]
    if missing:
        raise PolicyProblem(
            _("the policy does not say which small counts are hidden ({keys}), so no counts may leave.").format(
                keys=", ".join(missing)
            ),
            where=_("policy '{name}'").format(name=policy.name),
            fix=_("Set them under Policy first."),
        )
    try:
        return SmallCounts(low=int(held["suppress_from"]), high=int(held["suppress_to"]))
    except ValueError:
        raise PolicyProblem(
            _("small counts from {low:g} to {high:g} are no range above 0, so no counts may leave.").format(
                low=held["suppress_from"], high=held["suppress_to"]
            ),
            where=_("policy '{name}'").format(name=policy.name),
            fix=_("Put the two values right under Policy first."),
        ) from None


def guard_page(workspace: Workspace, table: CountTable) -> Guarded:
    """Which cells of ``table`` may be shown by the policy in force, looked at by itself. Nothing is remembered.

    ``PolicyProblem`` where the policy does not name its small counts.
    """
    return guard(table, small_counts(current_policy(workspace)))


def may_leave(workspace: Workspace, *, table: CountTable, asked: Collection[Cell]) -> Guarded:
    """What ``let_leave`` would say, without anything being kept: to choose what to put on a page."""
    limits = small_counts(current_policy(workspace))
    guarded, _whole = _looked_at(table, frozenset(asked), limits, read_before(workspace))
    return guarded


def let_leave(
    workspace: Workspace, *, table: CountTable, asked: Collection[Cell], face: str, about: str,
    only_asked_changes: bool = False,
) -> Leaving:  # fmt: skip
    """Which of the ``asked`` cells may leave beside all that left before; keeps a note of them, hidden ones included.

    ``table`` holds the asked cells and everything that adds up to them, asked or not; its cells are ``CountKey``s. The
    note is kept before anything is written: a table that was noted and never left does no harm. With
    ``only_asked_changes`` readers are taken to know how far a hidden count was restated only where the new count is
    asked for: what was on no page, old or new, is announced by none. ``PolicyProblem`` where the policy does not name
    its small counts; ``RequestProblem`` where earlier tables give a small count away whatever is hidden now.
    """
    policy = current_policy(workspace)
    limits = small_counts(policy)
    wanted = frozenset(asked)
    if workspace.pinned is not None:
        return _left_then(workspace, table, wanted, limits, only_asked_changes=only_asked_changes)
    with hold_workspace(workspace):
        earlier = read_before(workspace)
        guarded, whole = _looked_at(table, wanted, limits, earlier, only_asked_changes=only_asked_changes)
        if not guarded.exposed.isdisjoint(wanted):
            raise _exposed_problem(workspace, guarded.exposed & wanted)
        shown = frozenset(cell for cell, count in guarded.shown.items() if count is not None)
        number = add_left_table(
            workspace, table=whole, shown=shown, face=face, about=about, policy=policy, limits=limits
        )
    return Leaving(guarded=guarded, limits=limits, number=number)


def _left_then(
    workspace: Workspace, table: CountTable, wanted: frozenset[Cell], limits: SmallCounts, *, only_asked_changes: bool
) -> Leaving:
    """What was let leave on the day of the pin. It left then, so nothing is noted again."""
    earlier = read_before(workspace)
    guarded, _whole = _looked_at(table, wanted, limits, earlier, only_asked_changes=only_asked_changes)
    if not guarded.exposed.isdisjoint(wanted):
        raise _exposed_problem(workspace, guarded.exposed & wanted)
    return Leaving(guarded=guarded, limits=limits, number=0)


def _looked_at(
    table: CountTable, wanted: frozenset[Cell], limits: SmallCounts, earlier: Sequence[Before], *,
    only_asked_changes: bool = False,
) -> tuple[Guarded, CountTable]:  # fmt: skip
    """What the guard says of the wanted cells, and the table with all that a reader can tie to it."""
    whole = _with_changes(table, earlier, among=wanted if only_asked_changes else frozenset(table.counts))
    universe = Before(table=whole, hidden=frozenset(whole.counts))
    return guard(_only(table, wanted), limits, before=(*earlier, universe)), whole


def _only(table: CountTable, cells: frozenset[Cell]) -> CountTable:
    """The asked cells alone; the sums come with the whole table."""
    return CountTable(
        counts={cell: count for cell, count in table.counts.items() if cell in cells},
        most={cell: most for cell, most in table.most.items() if cell in cells},
        weights={cell: weight for cell, weight in table.weights.items() if cell in cells},
    )


def _with_changes(table: CountTable, earlier: Collection[Before], *, among: frozenset[Cell]) -> CountTable:
    """The table, its cells ``among`` those given tied to the hidden counts that they restate.

    A restatement moves a count by little, and the month's page says that there was one. Whoever has a new total may
    guess the old one: so the guard takes it that readers know how large the change is at most, and its direction.
    """
    hidden = {cell.base: cell for one in earlier for cell in one.hidden if isinstance(cell, CountKey)}
    counts, sums, most = dict(table.counts), list(table.sums), dict(table.most)
    for cell, count in table.counts.items():
        old = hidden.get(cell.base) if isinstance(cell, CountKey) else None
        if not isinstance(cell, CountKey) or old is None or old.value == count or cell not in among:
            continue
        change = cell._replace(measure=f"{CHANGE}{cell.measure}", value=abs(count - old.value))
        larger, smaller = (cell, old) if count > old.value else (old, cell)
        counts |= {old: old.value, change: change.value}
        most[change] = change.value
        sums.append(Sum(total=larger, parts=(smaller, change)))
    return replace(table, counts=counts, sums=tuple(sums), most=most)


def _exposed_problem(workspace: Workspace, exposed: Collection[Cell]) -> RequestProblem:
    held = {cell.base for cell in exposed if isinstance(cell, CountKey)}
    places = sorted({f"{facility}, {unit}" if unit else facility for _m, _d, facility, unit, _s in held})
    left = list_left_tables(workspace)
    last = left[-1]
    return RequestProblem(
        _(
            "what left before ({tables} tables, the last one on {day}: {about}) already lets a reader work out small "
            "counts of: {places}. Whatever is hidden now would not change that."
        ).format(tables=len(left), day=day_words(last.left_on), about=last.about, places="; ".join(places[:6])),
        fix=_(
            "Leave these places out, or show longer spans; and ask whoever has the earlier tables to give them back."
        ),
    )
