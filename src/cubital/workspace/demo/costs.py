"""The costs of the invented network, as its finance office would have given them for a collection shift."""

from __future__ import annotations

from cubital.domain.costs import CostInput, CostTable, InputKind, Origin, RangeShape
from cubital.workspace.costs import current_costs, save_costs
from cubital.workspace.opening import Workspace

NOTED_BY, ROLE = "finance office", "finance"
SHIFT = "the collection shift"


def _known(key: str, value: float, *, kind: InputKind, source: str, option: str = "") -> CostInput:
    return CostInput(
        key=key, option=option, low=value, likely=value, high=value, kind=kind, origin=Origin.LOCAL, source=source,
        shape=RangeShape.FIXED,
    )  # fmt: skip


def _ranged(
    key: str, ends: tuple[float, float, float], *, kind: InputKind, origin: Origin, source: str, option: str = ""
) -> CostInput:
    low, likely, high = ends
    return CostInput(
        key=key, option=option, low=low, likely=likely, high=high, kind=kind, origin=origin, source=source
    )  # fmt: skip


# Invented, and no default of anything: this workspace alone begins with them.
COSTS = CostTable(
    inputs=(
        _known("sets", 8400, kind=InputKind.COUNT, source="laboratory count of a year (invented)"),
        _known("rate", 0.042, kind=InputKind.SHARE, source="laboratory count by the charter (invented)"),
        CostInput(
            key="cost_each", low=700, likely=2900, high=6400, kind=InputKind.COST, origin=Origin.LOCAL, currency="USD",
            year=2025, source="marginal costs of last year (invented)", given_by="finance office",
        ),
        _ranged(
            "covered", (0.40, 0.55, 0.65), kind=InputKind.SHARE, origin=Origin.LOCAL, option=SHIFT,
            source="draws by hour of the week (invented)",
        ),
        _ranged(
            "relative_risk", (0.33, 0.41, 0.70), kind=InputKind.RATIO, origin=Origin.ASSUMED, option=SHIFT,
            source="what other places report (invented)",
        ),
        _known("hours", 12, kind=InputKind.COUNT, option=SHIFT, source="planned rota (invented)"),
        _known("days", 365, kind=InputKind.COUNT, option=SHIFT, source="planned rota (invented)"),
        CostInput(
            key="wage", option=SHIFT, low=34, likely=34, high=34, kind=InputKind.WAGE, origin=Origin.LOCAL,
            currency="USD", year=2025, source="pay scale (invented)", given_by="finance office",
            shape=RangeShape.FIXED,
        ),
        _known("relief", 1.12, kind=InputKind.RATIO, option=SHIFT, source="pay scale (invented)"),
    )
)  # fmt: skip


def keep_demo_costs(workspace: Workspace) -> None:
    """Keeps them where no costs are kept yet."""
    if current_costs(workspace) is None:
        save_costs(workspace, table=COSTS, noted_by=NOTED_BY, role=ROLE)
