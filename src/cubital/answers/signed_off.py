"""Who is signed off, by whom, until when? And was that assessor current on that day? Dates alone decide.

A record signed by somebody whose own sign-off had run out is flagged for review. It is not void: that is a person's
call.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, day_words, grouped_words, ngettext

SOON_DAYS = 60  # common practice, no source


@dataclass(frozen=True, kw_only=True)
class SignOff:
    """One record: ``person`` was signed off by ``assessor`` (codes) on a day, until another; none means for good."""

    person: str
    assessor: str
    signed: date
    until: date | None

    def runs_on(self, day: date) -> bool:
        """Whether it is in force on ``day``, both ends included."""
        return self.signed <= day and (self.until is None or day <= self.until)


class State(StrEnum):
    """Where a record stands on the day asked about."""

    CURRENT = "current"
    SOON = "soon"
    LAPSED = "lapsed"
    FUTURE = "future"


@dataclass(frozen=True, kw_only=True)
class RecordReading:
    """``assessor_current`` is none where the table holds no sign-off of the assessor at all."""

    record: SignOff
    state: State
    assessor_current: bool | None

    @property
    def to_review(self) -> bool:
        """Signed by somebody who was not current on that day, or of whom nothing is known."""
        return self.assessor_current is not True


def sign_off_columns() -> Columns:
    """What a register looks like."""
    return Columns(
        names={
            "person": ("learner", "who", "code", "persona"), "assessor": ("signed by", "by", "evaluador"),
            "signed": ("signed on", "date", "fecha"), "until": ("expires", "valid until", "hasta"),
        },
        needed=("person", "assessor", "signed"),
        advice=_(
            "Give one row per sign-off: person, assessor, signed, until; codes, and days such as 2026-03-05. "
            "The assessors' own sign-offs stand in the same table."
        ),
    )  # fmt: skip


def parse_sign_offs(rows: Iterable[Sequence[object]], *, where: str) -> tuple[SignOff, ...]:
    """The register; ``FileProblem`` with every row that cannot be right."""
    columns = sign_off_columns()
    read = hand_rows(rows, columns, where=where)
    found = []
    for row in read:
        person, assessor = row.text("person", needed=True), row.text("assessor", needed=True)
        signed, until = row.day("signed", needed=True), row.day("until")
        if signed and until and until < signed:
            row.complain(_("it runs out before it begins"))
        if person and person == assessor:
            row.complain(_("nobody signs for oneself"))
        if person and assessor and signed:
            found.append(SignOff(person=person, assessor=assessor, signed=signed, until=until))
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(found)


def read_sign_offs(register: Sequence[SignOff], *, on: date) -> tuple[RecordReading, ...]:
    """The latest record of every person, by code, as it stands on the day ``on``."""
    latest: dict[str, SignOff] = {}
    for record in register:
        held = latest.get(record.person)
        if (record.signed <= on and (held is None or held.signed > on or record.signed > held.signed)) or held is None:
            latest[record.person] = record
    return tuple(
        RecordReading(
            record=record, state=_state(record, on),
            assessor_current=_was_current(register, record.assessor, record.signed),
        )
        for _person, record in sorted(latest.items())
    )  # fmt: skip


def _state(record: SignOff, on: date) -> State:
    if record.signed > on:
        return State.FUTURE
    if not record.runs_on(on):
        return State.LAPSED
    return State.SOON if record.until and (record.until - on).days <= SOON_DAYS else State.CURRENT


def _was_current(register: Sequence[SignOff], assessor: str, day: date) -> bool | None:
    own = [record for record in register if record.person == assessor]
    return any(record.runs_on(day) for record in own) if own else None


def build_sign_off_answer(register: Sequence[SignOff], *, on: date, receipt: Receipt | None = None) -> Answer:
    """Who is current, who soon is not, who has lapsed, and which records want a second look."""
    readings = read_sign_offs(register, on=on)
    counts = {state: sum(one.state is state for one in readings) for state in State}
    review = sum(one.to_review for one in readings)
    current = counts[State.CURRENT] + counts[State.SOON]
    words = ngettext(
        "On {day} {current} of {count} person is signed off; {lapsed} lapsed, {soon} run out within {days} days.",
        "On {day} {current} of {count} people are signed off; {lapsed} lapsed, {soon} run out within {days} days.",
        len(readings),
    ).format(
        day=day_words(on), current=grouped_words(current), count=grouped_words(len(readings)),
        lapsed=counts[State.LAPSED], soon=counts[State.SOON], days=SOON_DAYS,
    )  # fmt: skip
    if review:
        words += " " + ngettext(
            "{count} record is to be reviewed, not void: nothing shows that its assessor was current that day.",
            "{count} records are to be reviewed, not void: nothing shows that their assessors were current that day.",
            review,
        ).format(count=review)
    return Answer(
        question=_("Who is signed off, by whom, until when?"),
        verdict=Verdict.ESTIMATE if readings else Verdict.TOO_FEW,
        sentence=words if readings else _("The register holds nobody."),
        figures=tuple(
            Figure(key=state.value, label=label, value=float(counts[state]), unit="people", denominator=len(readings),
                   numerator=counts[state])
            for state, label in (
                (State.CURRENT, _("Signed off")), (State.SOON, _("Running out soon")), (State.LAPSED, _("Lapsed")),
            )
        ),
        cautions=(_("Dates alone: whether somebody can do it is for the assessor and local policy to say."),),
        table=_table(readings),
        receipt=receipt,
    )  # fmt: skip


def _table(readings: Sequence[RecordReading]) -> AnswerTable:
    names = {
        State.CURRENT: _("signed off"), State.SOON: _("running out soon"), State.LAPSED: _("lapsed"),
        State.FUTURE: _("not yet"),
    }  # fmt: skip
    current = {True: _("current"), False: _("not current that day: review"), None: _("not in the register: review")}
    return AnswerTable(
        title=_("Sign-offs"),
        columns=(_("Person"), _("Signed by"), _("Signed on"), _("Until"), _("Stands"), _("Assessor on that day")),
        rows=tuple(
            (
                one.record.person, one.record.assessor, one.record.signed.isoformat(),
                one.record.until.isoformat() if one.record.until else "", names[one.state],
                current[one.assessor_current],
            )
            for one in readings
        ),
    )  # fmt: skip
