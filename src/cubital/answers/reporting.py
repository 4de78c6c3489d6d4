"""Are label errors down, or did people stop reporting? Reports of every kind are counted beside the errors.

Label errors reach us only through reports. When both fall together while as many sets are drawn, the fall says nothing
about labels; when reports hold and label errors fall, it may.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.answers.month_text import parse_month
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words
from cubital.stats.rate_ratios import RateRatio, rate_ratio

PER = 1000
CALLED = 0.05
MIN_MONTHS = 6
MIN_EVENTS = 5  # fewer errors in both halves together cannot tell a fall from chance (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class ReportMonth:
    """Sets drawn in a month, incident reports of every kind about drawing, and label errors among them."""

    month: str
    sets: int
    reports: int
    errors: int


class Story(StrEnum):
    """What the two rates together say."""

    NOTHING = "nothing"
    ERRORS_FELL = "errors_fell"
    REPORTING_FELL = "reporting_fell"
    ERRORS_ROSE = "errors_rose"
    REPORTING_ROSE = "reporting_rose"


@dataclass(frozen=True, kw_only=True)
class ReportingReading:
    """The earlier half of the months against the later. ``other`` compares reports without label errors."""

    before: ReportMonth
    now: ReportMonth
    errors: RateRatio
    other: RateRatio | None
    story: Story


def report_columns() -> Columns:
    """What a table of incident counts looks like."""
    return Columns(
        names={
            "month": ("period", "mes"),
            "sets": ("draws", "cultures", "extracciones"),
            "reports": ("incidents", "all reports", "informes"),
            "errors": ("label errors", "mislabelled", "errores"),
        },
        needed=("month", "sets", "reports", "errors"),
        advice=_(
            "Give one row per month under the headers month, sets, reports, errors; for example 2026-03,498,12,4. "
            "Reports are all reports about drawing, label errors among them."
        ),
    )


def parse_report_months(rows: Iterable[Sequence[object]], *, where: str) -> tuple[ReportMonth, ...]:
    """The months in time order; ``FileProblem`` with every row that is wrong."""
    columns = report_columns()
    read = hand_rows(rows, columns, where=where)
    found: dict[str, ReportMonth] = {}
    for row in read:
        month = parse_month(row.text("month", needed=True))
        sets, reports, errors = (row.count(role) for role in ("sets", "reports", "errors"))
        if month is None:
            row.complain(_("'{text}' is no month such as 2026-03").format(text=row.text("month")[:20]))
        if month in found:
            row.complain(_("{month} stands twice").format(month=month))
        if errors is not None and reports is not None and errors > reports:
            row.complain(_("{errors} label errors of {reports} reports is more than all").format(
                errors=errors, reports=reports
            ))  # fmt: skip
        if month is not None and sets is not None and reports is not None and errors is not None:
            found[month] = ReportMonth(month=month, sets=sets, reports=reports, errors=errors)
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(found[month] for month in sorted(found))


def read_reporting(months: Sequence[ReportMonth]) -> ReportingReading | None:
    """The earlier half against the later, rates over sets; none where there is too little to compare."""
    half = len(months) // 2
    before, now = _sum(months[:half]), _sum(months[half:])
    if len(months) < MIN_MONTHS or not before.sets or not now.sets or before.errors + now.errors < MIN_EVENTS:
        return None
    errors = rate_ratio(now.errors, now.sets, x2=before.errors, t2=before.sets)
    others = now.reports - now.errors, before.reports - before.errors
    other = rate_ratio(others[0], now.sets, x2=others[1], t2=before.sets) if sum(others) else None
    return ReportingReading(before=before, now=now, errors=errors, other=other, story=_story(errors, other))


def _sum(months: Sequence[ReportMonth]) -> ReportMonth:
    return ReportMonth(
        month=months[0].month if months else "", sets=sum(one.sets for one in months),
        reports=sum(one.reports for one in months), errors=sum(one.errors for one in months),
    )  # fmt: skip


def _story(errors: RateRatio, other: RateRatio | None) -> Story:
    """Reporting is judged by the other reports, because label errors are themselves reports."""
    reporting = _moved(other) if other else 0
    if reporting:
        return Story.REPORTING_FELL if reporting < 0 else Story.REPORTING_ROSE
    moved = _moved(errors)
    return Story.NOTHING if not moved else Story.ERRORS_FELL if moved < 0 else Story.ERRORS_ROSE


def _moved(ratio: RateRatio) -> int:
    if ratio.exact_p > CALLED:
        return 0
    return -1 if ratio.estimate < 1 else 1


def build_reporting_answer(months: Sequence[ReportMonth], *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; without ``MIN_MONTHS`` months or ``MIN_EVENTS`` errors it is too few."""
    reading = read_reporting(months)
    question = _("Are label errors down, or did people stop reporting?")
    table = _table(months)
    if reading is None:
        words = _(
            "Too few to say: {months} months with {errors} label errors are here; {least} months and {events} errors "
            "are needed, with sets in both halves."
        ).format(months=len(months), errors=sum(one.errors for one in months), least=MIN_MONTHS, events=MIN_EVENTS)
        return Answer(question=question, verdict=Verdict.TOO_FEW, sentence=words, table=table, receipt=receipt)
    return Answer(
        question=question, verdict=_verdict(reading), sentence=_sentence(reading), figures=_figures(reading),
        cautions=(
            _("A label error that nobody reports is not counted here; errors found without a report would prove more."),
        ),
        table=table, receipt=receipt, checks=(_volume(reading),),
    )  # fmt: skip


def _verdict(reading: ReportingReading) -> Verdict:
    if reading.story in (Story.REPORTING_FELL, Story.REPORTING_ROSE):
        return Verdict.NOT_IDENTIFIABLE
    return Verdict.WITHIN_VARIATION if reading.story is Story.NOTHING else Verdict.SIGNAL


def _sentence(reading: ReportingReading) -> str:
    before, now = reading.before, reading.now
    counts = _(
        "Label errors: {now} in {sets} sets ({rate} per 1,000), before {before} in {sets_before} ({rate_before})."
    )
    said = counts.format(
        now=now.errors, sets=grouped_words(now.sets), rate=_per(now.errors, now.sets), before=before.errors,
        sets_before=grouped_words(before.sets), rate_before=_per(before.errors, before.sets),
    )  # fmt: skip
    others = _("Other reports: {now} ({rate} per 1,000), before {before} ({rate_before}).").format(
        now=now.reports - now.errors, rate=_per(now.reports - now.errors, now.sets),
        before=before.reports - before.errors, rate_before=_per(before.reports - before.errors, before.sets),
    )  # fmt: skip
    return " ".join((said, others, _story_words(reading.story)))


def _story_words(story: Story) -> str:
    return {
        Story.NOTHING: _("Neither moved by more than chance makes it."),
        Story.ERRORS_FELL: _("Reporting held while label errors fell: the fall may be real."),
        Story.REPORTING_FELL: _(
            "People report less of everything, so fewer label errors prove nothing. Ask why before anybody is praised."
        ),
        Story.ERRORS_ROSE: _("Reporting held while label errors rose: look at labelling."),
        Story.REPORTING_ROSE: _(
            "People report more of everything, so more label errors prove nothing. Thank them and count on."
        ),
    }[story]


def _per(count: int, sets: int) -> str:
    return decimal_words(f"{PER * count / sets:.1f}")


def _figures(reading: ReportingReading) -> tuple[Figure, ...]:
    named = [("errors_ratio", _("Label errors per set, later half over earlier"), reading.errors)]
    if reading.other is not None:
        named.append(("other_ratio", _("Other reports per set, later half over earlier"), reading.other))
    return tuple(
        Figure(
            key=key, label=label, value=_finite(ratio.estimate), unit="", low=ratio.exact.low,
            high=_finite(ratio.exact.high), level=ratio.exact.level, method=_("rate ratio, conditional exact"),
            note="" if _finite(ratio.estimate) is not None else _("none in the earlier half"),
        )
        for key, label, ratio in named
    )  # fmt: skip


def _finite(value: float) -> float | None:
    return value if value < float("inf") else None


def _volume(reading: ReportingReading) -> Check:
    words = _("Rates are per set drawn: {now} sets in the later half, {before} in the earlier.").format(
        now=grouped_words(reading.now.sets), before=grouped_words(reading.before.sets)
    )
    return Check(key="volume", passed=True, words=words)


def _table(months: Sequence[ReportMonth]) -> AnswerTable | None:
    if not months:
        return None
    return AnswerTable(
        title=_("Sets, reports and label errors by month"),
        columns=(_("Month"), _("Sets"), _("All reports"), _("Label errors"), _("Label errors per 1,000 sets")),
        rows=tuple(
            (one.month, one.sets, one.reports, one.errors, round(PER * one.errors / one.sets, 1) if one.sets else None)
            for one in months
        ),
    )
