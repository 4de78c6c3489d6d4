"""Lays the view ``parsed`` over the staged text: every column a culture file can have, times as times."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from cubital.domain.cultures import BottleKind
from cubital.engine import Session
from cubital.engine.session import quote_text
from cubital.intake.columns import Recognition
from cubital.intake.dates import DatePlan
from cubital.intake.delimited import SheetText
from cubital.intake.headers import label_headers
from cubital.intake.roles import Role

# A collection time that reads 00:00 in more than one row of twenty is a date without a time; chance gives one in 1,440.
MIDNIGHT_SHARE = 0.05

# What a moment is made of: whole times, or a date with the hour in a column of its own.
MOMENTS: Mapping[str, tuple[Role, Role | None, Role | None]] = {
    "collected": (Role.COLLECTED, Role.COLLECTED_DATE, Role.COLLECTED_CLOCK),
    "received": (Role.RECEIVED, Role.RECEIVED_DATE, Role.RECEIVED_CLOCK),
    "loaded": (Role.LOADED, None, None),
    "positive": (Role.POSITIVE, None, None),
    "birth": (Role.BIRTH, None, None),
    "from": (Role.FROM, None, None),
    "to": (Role.TO, None, None),
}
_READ_ROLES = (
    Role.ACCESSION, Role.PATIENT, Role.BIRTH, Role.AGE, Role.UNIT, Role.COLLECTED, Role.COLLECTED_DATE,
    Role.COLLECTED_CLOCK, Role.RECEIVED, Role.RECEIVED_DATE, Role.RECEIVED_CLOCK, Role.LOADED, Role.POSITIVE,
    Role.BOTTLE, Role.AEROBIC, Role.ANAEROBIC, Role.FILL, Role.COLLECTOR, Role.BADGE, Role.SITE, Role.METHOD,
    Role.SPECIMEN, Role.TEST, Role.STATUS, Role.RESULT, Role.ISOLATE, Role.ANTIBIOTIC, Role.REJECT, Role.QUANTITY,
    Role.FROM, Role.TO, Role.COLLECTED_OFFSET, Role.RECEIVED_OFFSET, Role.OTHERWISE, Role.VERSION, Role.REFERENCE,
    Role.LOSS,
)  # fmt: skip
# Where the minutes east of UTC stand in a column of their own beside a moment.
_OFFSETS = {"collected": Role.COLLECTED_OFFSET, "received": Role.RECEIVED_OFFSET}

_TIME_ROLES = frozenset(
    role.value
    for role in (
        Role.BIRTH,
        Role.COLLECTED,
        Role.COLLECTED_DATE,
        Role.RECEIVED,
        Role.LOADED,
        Role.POSITIVE,
        Role.FROM,
        Role.TO,
    )
)
_ISO = re.compile(r"\d{4}-\d\d-\d\d([ T]\d\d:\d\d(:\d\d)?)?")


@dataclass(frozen=True, kw_only=True)
class FieldMap:
    """Which engine columns exist: names in ``staged`` by role, organism columns in order, those staged as times."""

    names: Mapping[str, str]
    organisms: tuple[str, ...] = ()
    typed: frozenset[str] = frozenset()

    def has(self, role: Role) -> bool:
        return role.value in self.names

    @property
    def result_columns(self) -> int:
        """How many columns hold a result; with more than one, a row makes several lines."""
        return len(_result_parts(self))

    def text(self, role: Role) -> str:
        """The SQL for a role's text; a typed null where the file has no such column."""
        return f'"{role.value}"' if role.value in self.names else "null::varchar"


def map_fields(recognition: Recognition) -> FieldMap:
    """The columns worth staging: name in the engine to label in the file."""
    names = {role.value: column.label for role in _READ_ROLES if (column := recognition.column(role)) is not None}
    organisms = {f"organism_{n}": c.label for n, c in enumerate(recognition.columns_of(Role.ORGANISM), start=1)}
    return FieldMap(names={**names, **organisms}, organisms=tuple(organisms))


def _joined_days(fields: FieldMap) -> set[str]:
    """Date columns that are read as one text with the hour beside them."""
    pairs = ((day, clock) for _whole, day, clock in MOMENTS.values() if day and clock)
    return {day.value for day, clock in pairs if fields.has(clock)}


def typed_columns(fields: FieldMap, sheet: SheetText) -> frozenset[str]:
    """The time columns whose whole sample is written as ISO, so that they can be staged as times."""
    labels = label_headers(list(sheet.headers))
    found = set()
    for role in _TIME_ROLES & fields.names.keys() - _joined_days(fields):
        place = labels.index(fields.names[role])
        cells = [row[place].strip() for row in sheet.sample if place < len(row) and row[place].strip()]
        if cells and all(_ISO.fullmatch(cell) for cell in cells):
            found.add(role)
    return frozenset(found)


@dataclass(frozen=True, kw_only=True)
class MomentSource:
    """One moment of a set: the SQL text to study, and a column with only the date to fall back on."""

    name: str
    label: str
    text: str
    fallback: str = ""
    fallback_label: str = ""


def moment_sources(fields: FieldMap) -> list[MomentSource]:
    """Where each moment is written; a date and its clock in two columns are read as one text."""
    sources = []
    for name, (whole, day, clock) in MOMENTS.items():
        if fields.has(whole):
            spare = fields.text(day) if day and fields.has(day) else ""
            label = fields.names[day.value] if day and spare else ""
            sources.append(
                MomentSource(
                    name=name,
                    label=fields.names[whole.value],
                    text=fields.text(whole),
                    fallback=spare,
                    fallback_label=label,
                )
            )
        elif day and fields.has(day):
            text = fields.text(day)
            if clock and fields.has(clock):
                text = f"(replace({text}, ' 00:00:00', '') || coalesce(' ' || {fields.text(clock)}, ''))"
            sources.append(MomentSource(name=name, label=fields.names[day.value], text=text))
    return sources


@dataclass(frozen=True, kw_only=True)
class MomentPlans:
    """The settled plan of each moment, by name; fallback days under ``NAME_day``.

    ``offsets`` has, by the same name, the SQL of the minutes east of UTC where a column of its own holds them.
    """

    plans: Mapping[str, DatePlan] = field(default_factory=dict)
    offsets: Mapping[str, str] = field(default_factory=dict)

    def time(self, name: str, zone: str) -> str:
        """The SQL of a moment as the facility's wall clock."""
        plan = self.plans.get(name)
        if plan is None:
            return "null::timestamp"
        if name in self.offsets:
            stated = f"timezone({quote_text(zone)}, timezone('UTC', {self.instant(name)}))"
            return f"coalesce({stated}, {plan.expression()})"
        if plan.zoned:
            minutes = f"coalesce(offset_minutes(trim({plan.source})), 0)"
            return f"timezone({quote_text(zone)}, timezone('UTC', {plan.expression()} - to_minutes({minutes})))"
        return plan.expression()

    def instant(self, name: str) -> str:
        """The SQL of a moment in UTC, null in rows that state no offset; only for the names in ``offsets``."""
        return f"({self.plans[name].expression()} - to_minutes(try_cast({self.offsets[name]} as integer)))"


def plan_moments(fields: FieldMap, plans: Mapping[str, DatePlan]) -> MomentPlans:
    """The plans with the columns of offsets that the file has beside them."""
    offsets = {name: fields.text(role) for name, role in _OFFSETS.items() if name in plans and fields.has(role)}
    return MomentPlans(plans=plans, offsets=offsets)


def create_parsed(
    session: Session, fields: FieldMap, moments: MomentPlans, *, zone: str, accession: str = "set"
) -> None:
    """Creates the views ``parsed`` (a line per row and result cell) and ``parsed_rows`` (a line per row).

    ``accession`` says what the number names: the ``set``, a ``bottle`` of it, or an ``order`` of several draws.
    """
    session.do(f"create or replace temp macro splits_by_time() as {str(accession == 'order').lower()}")
    parts = _result_parts(fields)
    number = fields.text(Role.ACCESSION)
    number = f"accession_stem({number})" if accession == "bottle" else number
    shared = f"{number} as accession, {_shared_columns(session, fields, moments, zone)}"
    selects = []
    for place, (result, bottle) in enumerate(parts):
        wanted = f" where {result} is not null" if place else ""
        selects.append(f"select {shared}, {place} as place, {result} as result, {bottle} as bottle from staged{wanted}")
    session.do(f"create or replace temp view parsed as {' union all '.join(selects)}")
    session.do(f"create or replace temp view parsed_rows as {selects[0]}")


def _result_parts(fields: FieldMap) -> list[tuple[str, str]]:
    """Each column that holds a result, with the bottle it speaks of."""
    bottle = fields.text(Role.BOTTLE)
    organisms = [f'"{name}"' for name in fields.organisms]
    parts = []
    if organisms:
        parts.append((f"coalesce({organisms[0]}, {fields.text(Role.RESULT)})", bottle))
        parts += [(name, bottle) for name in organisms[1:]]
    elif fields.has(Role.RESULT):
        parts.append((fields.text(Role.RESULT), bottle))
    for role, kind in ((Role.AEROBIC, BottleKind.AEROBIC), (Role.ANAEROBIC, BottleKind.ANAEROBIC)):
        if fields.has(role):
            parts.append((fields.text(role), quote_text(kind.value)))
    return parts or [("null::varchar", bottle)]


def _shared_columns(session: Session, fields: FieldMap, moments: MomentPlans, zone: str) -> str:
    text = fields.text
    collector = text(Role.COLLECTOR)
    if fields.has(Role.BADGE):
        collector = f"coalesce('badge' || chr(31) || {text(Role.BADGE)}, {collector})"
    verdict = text(Role.RESULT) if fields.organisms else "null::varchar"
    columns = {
        "line": "staged.rowid",
        "sheet_row": "sheet_row",
        "reference": text(Role.REFERENCE),
        "unkept": "unkept",
        "patient": text(Role.PATIENT),
        "birth": _birth(moments, zone),
        "age": text(Role.AGE),
        "unit": text(Role.UNIT),
        "collected": moments.time("collected", zone),
        "collected_timed": _is_timed(session, moments, "collected", zone),
        "collected_day": moments.time("collected_day", zone),
        "collected_text": f"{moments.plans['collected'].source}::varchar"
        if "collected" in moments.plans
        else "null::varchar",
        "received": moments.time("received", zone),
        "received_timed": _is_timed(session, moments, "received", zone),
        "loaded": moments.time("loaded", zone),
        "positive": moments.time("positive", zone),
        "status": text(Role.STATUS),
        "collector": collector,
        "site": text(Role.SITE),
        "method": text(Role.METHOD),
        "verdict": verdict,
        "reject_reason": text(Role.REJECT),
        "fill_ml": text(Role.FILL),
        "isolate_no": text(Role.ISOLATE),
        "antibiotic": text(Role.ANTIBIOTIC),
        "specimen": text(Role.SPECIMEN),
        "test": text(Role.TEST),
    }
    return ", ".join(f"{expression} as {name}" for name, expression in columns.items())


def _birth(moments: MomentPlans, zone: str) -> str:
    """A birth date with a two-digit year lies before the collection: 49 is 1949 and not 2049."""
    birth = moments.time("birth", zone)
    if "birth" not in moments.plans or not moments.plans["birth"].two_digit_year:
        return birth
    seen = f"coalesce({moments.time('collected', zone)}, {moments.time('received', zone)}, {birth})"
    return f"case when {birth} > {seen} then {birth} - interval 100 year else {birth} end"


def _is_timed(session: Session, moments: MomentPlans, name: str, zone: str) -> str:
    """The SQL that is true where a time of day was written; midnights of a date-only column do not count."""
    plan = moments.plans.get(name)
    if plan is None or not plan.has_time:
        return "false"
    time = moments.time(name, zone)
    written = f"(contains({plan.source}, ':') or length({plan.source}) >= 12)"
    if plan.typed:
        written = f'{plan.source[:-1]}_length" > 10'
    midnight = f"{time} = date_trunc('day', {time})"
    (many, midnights) = session.one(
        f"select count(*), count(*) filter (where {midnight} and {written}) from staged where {plan.source} is not null"
    )
    dates_only = midnights >= 3 and midnights > MIDNIGHT_SHARE * many
    return f"not ({midnight})" if dates_only else f"not ({midnight} and not {written})"


def study_moments(sources: Sequence[MomentSource]) -> list[tuple[str, str, str]]:
    """Name, SQL text and label of everything whose way of writing dates must be studied."""
    found = [(source.name, source.text, source.label) for source in sources]
    found += [(f"{source.name}_day", source.fallback, source.fallback_label) for source in sources if source.fallback]
    return found
