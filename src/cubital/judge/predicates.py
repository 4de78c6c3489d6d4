"""The parts of the judge's SQL that depend on the charter and the scope. Words are quoted, numbers are numbers.

They are put together as text, and not bound as values, so that the engine reads no column that the charter does not
ask about: over millions of rows that is half of the time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cubital.domain.charter import Charter, FollowUp, LineSets, Population, Reason, Window
from cubital.domain.cultures import ADULT_AGE_GROUPS, CHILD_AGE_GROUPS, Method, SetStatus, TimeQuality
from cubital.engine import QuerySession
from cubital.engine.session import quote_text
from cubital.judge.counts import Scope
from cubital.judge.preparing import judge_sql

VALID = frozenset({SetStatus.FINAL, SetStatus.PRELIMINARY})
MICROSECONDS_PER_HOUR = 3_600_000_000
_CALENDAR = frozenset({Window.SAME_DAY, Window.SAME_OR_NEXT_DAY})
_SET_ASIDE = {
    Population.EVERYONE: frozenset(),
    Population.ADULTS: CHILD_AGE_GROUPS,
    Population.CHILDREN: ADULT_AGE_GROUPS,
}


@dataclass(frozen=True)
class Predicates:
    """SQL expressions over a row ``s`` of ``sets`` (``outside`` also over ``f``, a follow-up set of that number).

    ``place`` is where the set stands on the line of time: microseconds for rolling hours, days for calendar windows,
    null without a time of collection. A set within ``reach`` of the first one of a series belongs to it.
    ``asked_columns`` are those that ``outside`` reads besides unit and hospital, to be put into a list of columns.
    """

    valid: str
    pairable: str
    place: str
    reach: int
    outside: str
    asked_columns: str
    inside: str
    follow_up_join: str

    def fill(self, sql: str) -> str:
        """``sql`` with its ``{names}`` put in."""
        return sql.format(**vars(self))


def build_predicates(session: QuerySession, charter: Charter, scope: Scope) -> Predicates:
    """Needs the table ``unit_now`` in the session."""
    place = _place(session, charter)
    return Predicates(
        valid=f"s.status in {_words(VALID)}",
        pairable=f"(s.patient_key is not null and {place} is not null)",
        place=place,
        reach=reach(charter),
        outside=_outside(session, charter),
        asked_columns=_asked_columns(charter),
        inside=_inside(session, scope),
        follow_up_join="left join follow_up f on f.set_id = s.set_id" if charter.follow_up is FollowUp.EXCLUDE else "",
    )


def reach(charter: Charter) -> int:
    """How far from the first set of a series another one may be, in the units of ``place``; inclusive."""
    if charter.window is Window.ROLLING_HOURS:
        return charter.window_hours * MICROSECONDS_PER_HOUR
    return 1 if charter.window is Window.SAME_OR_NEXT_DAY else 0


def number_facilities(session: QuerySession) -> str:
    """The facility of ``s`` as a small number: sorting by words takes twice as long."""
    facilities = session.rows("select distinct facility from sets order by 1")
    whens = " ".join(f"when {quote_text(name)} then {number}" for number, (name,) in enumerate(facilities))
    return f"cast(case s.facility {whens} end as integer)" if whens else "0"


def _place(session: QuerySession, charter: Charter) -> str:
    if charter.window in _CALENDAR:
        days = "date_diff('day', date '1970-01-01', s.day)"
        return f"case when s.time_quality <> {quote_text(TimeQuality.MISSING)} then {days} end"
    shifts = session.rows(judge_sql("day_starts"))
    if not shifts:  # no set lacks its hour, so that the column of days need not be read
        return "epoch_us(s.collected_at)"
    whens = " ".join(f"when {quote_text(facility)} then {shift}" for facility, shift in shifts)
    start = f"epoch_us(cast(s.day as timestamp)) + case s.facility {whens} end"
    hourless = f"s.time_quality = {quote_text(TimeQuality.DATE_ONLY)} and s.collected_at is null"
    return f"case when {hourless} then {start} else epoch_us(s.collected_at) end"


def _outside(session: QuerySession, charter: Charter) -> str:
    whens = []
    if _SET_ASIDE[charter.population]:
        whens.append((f"s.age_group in {_words(_SET_ASIDE[charter.population])}", Reason.NOT_IN_POPULATION))
    if charter.line_sets is LineSets.EXCLUDE:
        whens.append((f"s.method = {quote_text(Method.CENTRAL_LINE)}", Reason.LINE_SET))
    if charter.excluded_units:
        whens.append((_any_unit(session, charter.excluded_units), Reason.UNIT_EXCLUDED))
    if charter.follow_up is FollowUp.EXCLUDE:
        whens.append(("f.set_id is not null", Reason.FOLLOW_UP))
    if not whens:
        return "cast(null as varchar)"
    return "case " + " ".join(f"when {when} then {quote_text(reason)}" for when, reason in whens) + " end"


def _asked_columns(charter: Charter) -> str:
    ages = ", s.age_group" if _SET_ASIDE[charter.population] else ""
    return ages + (", s.method" if charter.line_sets is LineSets.EXCLUDE else "")


def _inside(session: QuerySession, scope: Scope) -> str:
    parts = []
    if scope.from_month or scope.to_month:
        parts.append("s.month <> 'undated'")
    if scope.from_month:
        parts.append(f"s.month >= {quote_text(scope.from_month)}")
    if scope.to_month:
        parts.append(f"s.month <= {quote_text(scope.to_month)}")
    if scope.facility is not None:
        parts.append(f"s.facility = {quote_text(scope.facility)}")
    if scope.unit is not None:
        parts.append(_current_unit(session, scope.unit))
    return "(" + (" and ".join(parts) or "true") + ")"


def _any_unit(session: QuerySession, units: Iterable[str]) -> str:
    """True for a set whose unit, as written or as it is called now, is among ``units``."""
    written = f"s.unit_key in {_words(units)}"
    return f"({written} or {' or '.join(_current_unit(session, unit) for unit in units)})"


def _current_unit(session: QuerySession, unit: str) -> str:
    """True for a set whose unit is now called ``unit``, whatever it was called then."""
    known = session.rows(
        "select facility, unit_key, current_key from unit_now where $1 in (unit_key, current_key)", [unit]
    )
    others = [(facility, key) for facility, key, current in known if current == unit and key != unit]
    gone = [(facility, key) for facility, key, current in known if key == unit and current != unit]
    own = f"s.unit_key = {quote_text(unit)}"
    if gone:
        own = f"({own} and not {_pairs(gone)})"
    return f"({own} or {_pairs(others)})" if others else own


def _words(words: Iterable[str]) -> str:
    return "(" + ", ".join(quote_text(word) for word in sorted(words)) + ")"


def _pairs(pairs: Iterable[tuple[str, str]]) -> str:
    """True for a set whose facility and unit are among ``pairs``."""
    each = (f"s.facility = {quote_text(a)} and s.unit_key = {quote_text(b)}" for a, b in sorted(pairs))
    return "(" + " or ".join(each) + ")"
