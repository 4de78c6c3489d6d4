"""How one column writes its dates, decided over the whole column and never guessed.

``03/11/2025`` alone says nothing. One ``14/02/1949`` in the column settles it; a ``02/14/1949`` beside it means that
two orders are mixed, which is refused; if nothing in the column settles it, a column beside it may; else it is asked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from cubital.domain.errors import FileProblem, Question
from cubital.domain.words import _
from cubital.engine import Session, load_sql
from cubital.engine.session import quote_text
from cubital.intake.date_shapes import NUMBER_KINDS, OPEN_KINDS, DateKind, DateShape, read_shape
from cubital.intake.headers import tidy_header

ISO_LENGTH = 19  # 2025-11-03 10:50:00


class DateOrder(StrEnum):
    """Which part stands first. FIXED: the way of writing leaves no choice. OPEN: nothing has settled it yet."""

    FIXED = "fixed"
    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"
    OPEN = "open"


@dataclass(frozen=True, kw_only=True)
class DatePlan:
    """How the engine reads one column. ``why`` says what settled the order; ``proposed`` that a neighbour did."""

    label: str
    source: str
    shapes: tuple[DateShape, ...] = ()
    order: DateOrder = DateOrder.FIXED
    iso: bool = False
    typed: bool = False
    swap: bool = False
    why: str = ""
    proposed: bool = False
    half_turned: bool = False

    @property
    def has_time(self) -> bool:
        return self.iso or any(shape.has_time for shape in self.shapes)

    @property
    def two_digit_year(self) -> bool:
        return any(shape.two_digit_year for shape in self.shapes)

    @property
    def zoned(self) -> bool:
        return any(shape.zoned for shape in self.shapes)

    def expression(self) -> str:
        """The SQL that turns this column's text into a timestamp (wall clock; UTC wall clock where an offset stood)."""
        if self.typed:
            return self.source
        if self.iso:
            return f"try_cast({self.source} as timestamp)"
        text = f"trim({self.source})"
        if self.zoned:
            text = f"without_offset({text})"
        if any(shape.named for shape in self.shapes):
            text = f"without_month_names({text})"
        if any("%p" in shape.day_first for shape in self.shapes):
            text = f"without_halves({text})"
        readings = [f"try_strptime({text}, [{', '.join(map(quote_text, self._formats()))}])"] if self._formats() else []
        readings += [self._number_reading(kind, text) for kind in self._number_kinds()]
        return f"coalesce({', '.join(readings)})" if readings else "null::timestamp"

    def _formats(self) -> list[str]:
        chosen = "month_first" if self.order is DateOrder.MONTH_FIRST else "day_first"
        # Two-digit years first: %Y would take "25" for the year 25.
        shapes = sorted(self.shapes, key=lambda shape: not shape.two_digit_year)
        formats = dict.fromkeys(getattr(shape, chosen) for shape in shapes if shape.kind not in NUMBER_KINDS)
        if not self.swap:
            return list(formats)
        return [text.replace("%m-%d", "%d-%m") if text.startswith("%Y-%m-%d") else text for text in formats]

    def _number_kinds(self) -> list[DateKind]:
        return list(dict.fromkeys(shape.kind for shape in self.shapes if shape.kind in NUMBER_KINDS))

    @staticmethod
    def _number_reading(kind: DateKind, text: str) -> str:
        if kind is DateKind.SERIAL:
            return f"serial_time({text})"
        return f"epoch_time({text}, {1 if kind is DateKind.EPOCH_SECONDS else 1000})"


@dataclass(frozen=True)
class _Evidence:
    day_first_line: int | None
    month_first_line: int | None


def study_dates(session: Session, *, source: str, label: str, file_name: str, offset: int) -> DatePlan:
    """How the column ``source`` (an SQL expression over ``staged``) is written.

    ``offset`` is what has to be added to a line to get the row that a spreadsheet shows.
    Raises ``FileProblem`` when some rows can only be day first and others only month first.
    """
    # The engine's own cast takes "25/11/25" for the year 25 and applies offsets; both are left to the shapes.
    filled, iso, with_time = session.one(
        f"select count({source}), count(*) filter (where try_cast({source} as timestamp) >= timestamp '1700-01-01'"
        f" and length({source}) <= {ISO_LENGTH} and not contains({source}, 'Z')),"
        f" count(*) filter (where length({source}) > 10) from staged"
    )
    if filled == iso:
        return DatePlan(label=label, source=source, iso=bool(with_time or not filled), shapes=_iso_dates(with_time))
    session.do(
        f"create or replace temp table distinct_times as select {source} as text, min(rowid) as line, count(*) as many"
        f" from staged where filled({source}) is not null group by 1"
    )
    found = session.rows(load_sql("cubital.intake", "study_dates"))
    shapes = tuple(shape for shape in dict.fromkeys(read_shape(row[0]) for row in found) if shape is not None)
    open_rows = [row for row in found if (shape := read_shape(row[0])) is not None and shape.kind in OPEN_KINDS]
    evidence = _Evidence(
        min((row[3] for row in open_rows if row[3] is not None), default=None),
        min((row[4] for row in open_rows if row[4] is not None), default=None),
    )
    plan = DatePlan(label=label, source=source, shapes=shapes)
    if not open_rows:
        return plan
    if evidence.day_first_line is not None and evidence.month_first_line is not None:
        raise _mixed_orders(file_name, label, evidence, offset)
    if evidence == _Evidence(None, None) and not any(row[5] for row in open_rows):
        return plan  # 05/05/2025 reads the same either way, and 31/31/2025 neither way
    return _with_turned_check(_settle_by_itself(plan, evidence, offset), found)


def _iso_dates(with_time: int) -> tuple[DateShape, ...]:
    only_dates = DateShape(kind=DateKind.YEAR_FIRST, day_first="%Y-%m-%d", month_first="%Y-%m-%d")
    return () if with_time else (only_dates,)


def _settle_by_itself(plan: DatePlan, evidence: _Evidence, offset: int) -> DatePlan:
    line = evidence.day_first_line if evidence.day_first_line is not None else evidence.month_first_line
    if line is None:
        return replace(plan, order=DateOrder.OPEN)
    if evidence.day_first_line is not None:
        why = _("row {row} can only be day first").format(row=line + offset)
        return replace(plan, order=DateOrder.DAY_FIRST, why=why)
    why = _("row {row} can only be month first").format(row=line + offset)
    return replace(plan, order=DateOrder.MONTH_FIRST, why=why)


def _with_turned_check(plan: DatePlan, found: Sequence[tuple[object, ...]]) -> DatePlan:
    """True dates beside text dates that can only be day first: the spreadsheet took the rest for month first."""
    last_days = [int(str(row[6])) for row in found if row[6] is not None]
    suspicious = bool(last_days) and max(last_days) <= 12 and plan.order is DateOrder.DAY_FIRST
    return replace(plan, half_turned=suspicious)


def _mixed_orders(file_name: str, label: str, evidence: _Evidence, offset: int) -> FileProblem:
    return FileProblem(
        _("row {day} can only be day first and row {month} only month first.").format(
            day=(evidence.day_first_line or 0) + offset, month=(evidence.month_first_line or 0) + offset
        ),
        where=_("{file}, column '{column}'").format(file=file_name, column=label),
        fix=_("Two exports were probably joined. Give each as a file of its own, or write all dates as 2025-11-03."),
    )


def settle_order(
    plans: Sequence[DatePlan], *, answers: Mapping[str, str], accept: bool
) -> tuple[list[DatePlan], list[Question]]:
    """Settles open columns by what was answered before, else by their neighbours; what is left comes back as questions.

    A neighbour decides only when every settled numeric column of the file agrees. Without ``accept`` such a decision
    is put as a question too.
    """
    turned = [_settle_turned(plan, answers) for plan in plans]
    plans = [plan for plan, _asked in turned]
    settled = {plan.order for plan in plans if plan.order in (DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST)}
    witness = next((plan for plan in plans if plan.order in settled), None)
    ready: list[DatePlan] = []
    questions = [question for _plan, asked in turned for question in asked]
    for plan in plans:
        key = f"date_order.{tidy_header(plan.label).replace(' ', '_')}"
        answered = answers.get(key) or answers.get("date_order")
        if plan.order is not DateOrder.OPEN:
            ready.append(plan)
        elif answered in (DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST):
            ready.append(replace(plan, order=DateOrder(answered), why=_("you said so")))
        elif len(settled) == 1 and witness is not None and accept:
            why = _("'{column}' in the same file is written so").format(column=witness.label)
            ready.append(replace(plan, order=witness.order, why=why, proposed=True))
        else:
            ready.append(plan)
            questions.append(_ask_order(plan, key))
    return ready, questions


def _ask_order(plan: DatePlan, key: str) -> Question:
    text = _("In column '{column}', does the day or the month stand first? No row settles it.").format(
        column=plan.label
    )
    return Question(key, text, (DateOrder.DAY_FIRST.value, DateOrder.MONTH_FIRST.value))


def _settle_turned(plan: DatePlan, answers: Mapping[str, str]) -> tuple[DatePlan, list[Question]]:
    if not plan.half_turned:
        return plan, []
    key = f"turned_dates.{tidy_header(plan.label).replace(' ', '_')}"
    if answers.get(key) in ("turn-back", "as-they-are"):
        return replace(plan, swap=answers[key] == "turn-back"), []
    text = _(
        "Column '{column}' has dates as text (day first) and true dates whose day is never above 12. A spreadsheet has "
        "probably swapped day and month in those. Turn them back?"
    ).format(column=plan.label)
    return plan, [Question(key, text, ("turn-back", "as-they-are"))]
