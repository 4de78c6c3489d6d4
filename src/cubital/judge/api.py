"""What the floors above ask of the judge: counts per month and place, single judged sets, two definitions compared."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any, Literal

from cubital.domain.charter import Charter, Reason, SetClass, UnitOfCount
from cubital.domain.cultures import Attribution, SetStatus, TimeQuality
from cubital.engine import QuerySession
from cubital.engine.session import quote_text
from cubital.judge.cells import Dimension, cell_words
from cubital.judge.counts import Companion, JudgedSet, MonthCounts, ProcessCounts, ProcessLimits, Scope, SetVerdict
from cubital.judge.flora import Flora
from cubital.judge.judging import judge_sets
from cubital.judge.preparing import judge_sql
from cubital.judge.swift import is_swift, prepare_swiftly

__all__ = [
    "Place", "Scope", "count_months", "count_process", "count_rates", "grown_verdicts", "judge_sets", "judged_sets",
]  # fmt: skip

Place = Literal["network", "facility", "unit"]
_PLACES: dict[Place, dict[str, str]] = {
    "network": {"facility": "''", "unit": "''", "unit_name": "''"},
    "facility": {"facility": "facility", "unit": "''", "unit_name": "''"},
    "unit": {"facility": "facility", "unit": "unit", "unit_name": "unit_name"},
}
_THINGS = {
    UnitOfCount.SET: "things_set",
    UnitOfCount.BOTTLE: "things_bottle",
    UnitOfCount.SERIES: "things_series",
    UnitOfCount.PATIENT: "things_patient",
}
_ALL = 2**31 - 1


def count_months(
    session: QuerySession,
    charter: Charter,
    *,
    scope: Scope | None = None,
    by: Place = "network",
    flora: Flora | None = None,
) -> tuple[MonthCounts, ...]:
    """Counts per month and place with everything that stands beside the rate, in order of month, facility, unit.

    Months without a valid set do not appear. Judges anew and leaves the view ``judged``, so that ``count_process`` and
    ``judged_sets`` can be asked about the same judgement with ``judge=False``.
    """
    judge_sets(session, charter, scope=scope, flora=flora)
    session.do(judge_sql(_THINGS[charter.unit_of_count]))
    return _month_counts(session, judge_sql("month_counts").format(**_PLACES[by]), by)


def count_rates(
    session: QuerySession,
    charter: Charter,
    *,
    scope: Scope | None = None,
    by: Place = "network",
    flora: Flora | None = None,
) -> tuple[MonthCounts, ...]:
    """The same rates and classes as ``count_months`` without what needs every series (those fields are none).

    Much faster over many years where ``is_swift(charter)``; otherwise it is ``count_months``.
    """
    if not is_swift(charter):
        return count_months(session, charter, scope=scope, by=by, flora=flora)
    parts = prepare_swiftly(session, charter, scope=scope or Scope(), flora=flora)
    return _month_counts(session, judge_sql("swift_counts").format(**vars(parts), **_PLACES[by]), by)


def count_process(
    session: QuerySession,
    charter: Charter,
    *,
    scope: Scope | None = None,
    by: Place = "network",
    limits: ProcessLimits | None = None,
    judge: bool = True,
    flora: Flora | None = None,
) -> tuple[ProcessCounts, ...]:
    """How the sets were drawn and sent, per month and place. ``judge=False`` uses the judgement of the call before."""
    if judge:
        judge_sets(session, charter, scope=scope, flora=flora)
    limits = limits or ProcessLimits()
    values = {
        "late": limits.late_minutes,
        "very_late": limits.very_late_minutes,
        "fill_low": limits.fill_low_ml,
        "fill_high": limits.fill_high_ml,
    }
    return tuple(
        ProcessCounts(**_told(row, by, limits))
        for row in session.named_rows(judge_sql("process_counts").format(**_PLACES[by]), values)
    )


def judged_sets(
    session: QuerySession,
    charter: Charter,
    *,
    scope: Scope | None = None,
    classes: Collection[SetClass] | None = None,
    cell: Mapping[Dimension, Any] | None = None,
    limit: int | None = None,
    judge: bool = True,
    flora: Flora | None = None,
) -> tuple[JudgedSet, ...]:
    """The valid sets in scope with class, reason and companions, by facility and time; at most ``limit`` of them.

    ``cell`` keeps to the counted sets of one cell of ``count_cells``.
    """
    if judge:
        judge_sets(session, charter, scope=scope, flora=flora)
    wanted = "true"
    if classes is not None:
        wanted = f"set_class in ({', '.join(quote_text(name) for name in sorted(classes))})" if classes else "false"
    if cell is not None:
        wanted = f"{wanted} and {cell_words(cell)}"
    rows = session.named_rows(
        judge_sql("judged_rows").format(wanted=wanted), {"most": _ALL if limit is None else limit}
    )
    return tuple(_judged_set(row) for row in rows)


def grown_verdicts(
    session: QuerySession,
    charter: Charter,
    *,
    scope: Scope | None = None,
    flora: Flora | None = None,
    judge: bool = True,
) -> tuple[SetVerdict, ...]:
    """Every valid set in scope that grew something, with its class: what comparing two definitions needs."""
    if judge:
        judge_sets(session, charter, scope=scope, flora=flora)
    return tuple(
        SetVerdict(**row | {"set_class": SetClass(row["set_class"]), "reason": Reason(row["reason"])})
        for row in session.named_rows(judge_sql("grown_verdicts"), {})
    )


def _month_counts(session: QuerySession, sql: str, by: Place) -> tuple[MonthCounts, ...]:
    return tuple(_month_count(row, by) for row in session.named_rows(sql, {}))


def _month_count(row: dict[str, Any], by: Place) -> MonthCounts:
    classes = {set_class: int(row.pop(set_class.value) or 0) for set_class in SetClass}
    whole = {name: int(row[name] or 0) for name in ("sets", "positives", "preliminary", "solitary_excluded")}
    rate = {
        "numerator": row.get("numerator", classes[SetClass.CONTAMINATED]),
        "denominator": row.get("denominator", whole["sets"] - whole["solitary_excluded"]),
    }
    series: dict[str, Any] = {name: row.get(name) for name in ("unpairable", "solitary", "episodes", "eligible")}
    return MonthCounts(**_place(row, by) | whole | rate | series, classes=classes)


def _place(row: dict[str, Any], by: Place) -> dict[str, Any]:
    return {
        "month": row["month"],
        "facility": None if by == "network" else row["facility"],
        "unit": row["unit"] if by == "unit" else None,
        "unit_name": row["unit_name"],
    }


def _told(row: dict[str, Any], by: Place, limits: ProcessLimits) -> dict[str, Any]:
    told = row | _place(row, by)
    if limits.fill_low_ml is None:
        told["fills_low"] = None
    if limits.fill_high_ml is None:
        told["fills_high"] = None
    return told


def _judged_set(row: dict[str, Any]) -> JudgedSet:
    return JudgedSet(
        **row
        | {
            "time_quality": TimeQuality(row["time_quality"]),
            "attribution": Attribution(row["attribution"]),
            "status": SetStatus(row["status"]),
            "set_class": SetClass(row["set_class"]),
            "reason": Reason(row["reason"]),
            "organisms": tuple(row["organisms"]),
            "companions": _companions(row["companions"]),
        }
    )


def _companions(found: Sequence[dict[str, Any]]) -> tuple[Companion, ...]:
    return tuple(
        Companion(
            set_id=other["set_id"],
            accession=other["accession"],
            set_class=SetClass(other["set_class"]),
            organisms=tuple(other["organisms"]),
        )
        for other in found
    )
