"""Did the training work, or did only keen people attend? Everybody compared with themselves, and never a cause."""

from __future__ import annotations

from typing import Any

from cubital.answers.attendance_reading import (
    LEAST_EVENTS,
    LEAST_WEEKS,
    AttendanceReading,
    AttendanceState,
    events_of,
)
from cubital.answers.attendance_table import Attendance
from cubital.answers.did_material import Pair
from cubital.answers.did_wording import range_words, ratio_words, roomy
from cubital.answers.did_words import pair_words
from cubital.answers.interval_picture import IntervalRow, build_ratio_picture
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, ngettext, share_words
from cubital.stats.dose import DoseTrend
from cubital.stats.interval import Interval
from cubital.stats.mantel_haenszel import Stratum, compare_within


def build_attendance_answer(reading: AttendanceReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; at most an estimate, because nobody was drawn by lot to attend."""
    sentence = _sentence(reading)
    return Answer(
        question=_("Did the training work, or did only keen people attend?"),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=_figures(reading),
        cautions=_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=_table(reading.table),
        receipt=receipt,
        checks=_checks(reading),
    )


def _verdict(reading: AttendanceReading) -> Verdict:
    refused = {
        AttendanceState.UNDATED: Verdict.REFUSED,
        AttendanceState.SHORT: Verdict.TOO_FEW,
        AttendanceState.ONE_TIME: Verdict.NOT_IDENTIFIABLE,
        AttendanceState.ONE_GROUP: Verdict.NOT_IDENTIFIABLE,
        AttendanceState.THIN: Verdict.TOO_FEW,
    }
    return refused.get(reading.state) or (Verdict.ESTIMATE if reading.beyond else Verdict.WITHIN_VARIATION)


def _sentence(reading: AttendanceReading) -> str:
    if reading.state is not AttendanceState.SAID:
        return _refusal(reading)
    parts = [_trend_words(reading.trend)] if reading.trend else _group_words(reading)
    return " ".join((*parts, _("Who attended was not drawn by lot: keen people may have changed anyway.")))


def _refusal(reading: AttendanceReading) -> str:
    table = reading.table
    weeks = [table.weeks(after=after) for after in (False, True)]
    if reading.state is AttendanceState.UNDATED:
        return _("How many weeks were counted before and after is not said: add a column weeks.")
    if reading.state is AttendanceState.SHORT:
        return _(
            "{before} weeks before and {after} after are too short to tell a training from chance: at least {least} "
            "on each side are needed."
        ).format(before=weeks[0], after=weeks[1], least=LEAST_WEEKS)
    if reading.state is AttendanceState.ONE_TIME:
        return _(
            "Only one time was counted: whether those who attended collect better since, or did so all along, cannot "
            "be told apart. Counts from before are needed."
        )
    if reading.state is AttendanceState.ONE_GROUP:
        return _(
            "All of them attended alike, so the training and everything else that changed meanwhile cannot be told "
            "apart. Counts of people or units who did not attend are needed."
        )
    return _thin_words(table)


def _thin_words(table: Attendance) -> str:
    """What is too few: units for a trend, sets on either side, or a side without any."""
    if table.shares:
        return _("A trend over how many attended needs three units with contaminated sets; there are fewer.")
    held = events_of(table)
    if min(held) >= LEAST_EVENTS:
        return _("One of the groups has no contaminated set, or nothing else: how much it differs has no bound yet.")
    return _(
        "There are {attended} contaminated sets among those who attended and {others} among the others, of everybody "
        "counted both before and after: too few to tell, {least} on either side are the least."
    ).format(attended=grouped_words(held[0]), others=grouped_words(held[1]), least=LEAST_EVENTS)


def _group_words(reading: AttendanceReading) -> list[str]:
    table, attended, others, more = reading.table, reading.attended, reading.others, reading.more
    if attended is None or others is None or more is None:
        return []
    totals = {
        name: pair_words(table.total(attended=yes, after=after))
        for name, yes, after in (("a0", True, False), ("a1", True, True), ("n0", False, False), ("n1", False, True))
    }
    same = {"person": _("Each compared with themselves"), "unit": _("Each unit compared with itself")}.get(
        table.by, _("Each group compared with itself")
    )
    said = (
        _("{same}, those who attended changed to {ratio} times what the others changed to ({range}), beyond chance.")
        if reading.beyond
        else _("{same}, whether those who attended changed differently cannot be told: {ratio} ({range}).")
    )  # fmt: skip
    return [
        _("Those who attended went from {a0} to {a1}, the others from {n0} to {n1}.").format(**totals),
        said.format(same=same, ratio=ratio_words(more.estimate), range=range_words(more.interval)),
    ]


def _trend_words(trend: DoseTrend) -> str:
    values = {
        "ratio": ratio_words(trend.per_step), "range": range_words(trend.interval), "units": trend.units,
        "low": share_words(trend.doses[0], 0), "high": share_words(trend.doses[1], 0),
    }  # fmt: skip
    if trend.interval.high < 1:
        words = _(
            "Of {units} units in which {low} to {high} of the people attended, those with ten points more fell more: "
            "{ratio} times as often for each ten points ({range}), beyond chance."
        )
    elif trend.interval.low > 1:
        words = _(
            "Of {units} units in which {low} to {high} of the people attended, those with ten points more rose more: "
            "{ratio} times as often for each ten points ({range}), beyond chance."
        )
    else:
        words = _(
            "Of {units} units in which {low} to {high} of the people attended, whether those with more changed "
            "differently cannot be told: {ratio} for each ten points ({range})."
        )
    return words.format(**values)


def _checks(reading: AttendanceReading) -> tuple[Check, ...]:
    table = reading.table
    before, after = (table.weeks(after=late) for late in (False, True))
    long = None if before is None or after is None else min(before, after) >= LEAST_WEEKS
    words = (
        _("How long each period was is not said.")
        if before is None or after is None
        else _("{before} weeks before and {after} after were counted.").format(before=before, after=after)
    )
    alike = _alike_before(table)
    return (
        Check(
            key="groups", passed=reading.state not in (AttendanceState.ONE_GROUP, AttendanceState.ONE_TIME),
            words=_("People or units that attended and that did not, each before and after, are needed."),
        ),
        Check(key="long", passed=long, words=words),
        Check(key="alike", passed=alike, words=_alike_words(table, alike)),
        Check(
            key="chosen", passed=False,
            words=_("Attendance was chosen and not drawn by lot; keen people may improve anyway."),
        ),
    )  # fmt: skip


def _alike_before(table: Attendance) -> bool | None:
    """Whether the groups began alike; none where there are no two groups to compare."""
    yes, no = (table.total(attended=attended, after=False) for attended in (True, False))
    if table.shares or not yes[1] or not no[1]:
        return None
    found = compare_within([Stratum(yes[0], yes[1], no[0], no[1])])
    return found.chance > 0.05


def _alike_words(table: Attendance, alike: bool | None) -> str:
    if alike is None:
        return _("Whether those who attended were alike before cannot be seen.")
    yes, no = (pair_words(table.total(attended=attended, after=False)) for attended in (True, False))
    words = (
        _("Before, those who would attend had {yes} and the others {no}: no difference beyond chance.")
        if alike
        else _("Before it already, those who would attend had {yes} and the others {no}: they were different people.")
    )
    return words.format(yes=yes, no=no)


def _figures(reading: AttendanceReading) -> tuple[Figure, ...]:
    figures = []
    for key, label, found in (
        ("attended", _("Attended: after over before"), reading.attended),
        ("others", _("Did not attend: after over before"), reading.others),
        ("more", _("How much more those who attended changed"), reading.more),
    ):
        if found is not None:
            figures.append(_ratio_figure(key, label, found.estimate, found.interval))
    trend = reading.trend
    if trend is not None:
        figures += [
            _ratio_figure("per_step", _("For each ten points of attendance more"), trend.per_step, trend.interval),
            _ratio_figure(
                "at_least", _("After over before where {share} attended").format(share=share_words(trend.doses[0], 0)),
                trend.at_least, trend.at_least_interval,
            ),
            _ratio_figure(
                "at_most", _("After over before where {share} attended").format(share=share_words(trend.doses[1], 0)),
                trend.at_most, trend.at_most_interval,
            ),
        ]  # fmt: skip
    return tuple(figures)


def _ratio_figure(key: str, label: str, value: float, interval: Interval) -> Figure:
    return Figure(
        key=key, label=label, value=value, unit="ratio", low=interval.low, high=interval.high, level=interval.level,
        method=interval.method, definition=_("ratio of the odds of contamination; 1 means no change"),
    )  # fmt: skip


def _cautions(reading: AttendanceReading) -> tuple[str, ...]:
    found = [
        _("Attendance was chosen: a difference between those who came and those who did not is no measure of it."),
        _("People who are watched or trained draw differently for a while; ask again after half a year."),
    ]
    dropped = len({row.who for row in reading.table.rows}) - len(reading.table.pairs())
    if reading.table.by != "group" and dropped > 0:
        found.append(
            ngettext(
                "{count} of them has sets in one period only and is left out.",
                "{count} of them have sets in one period only and are left out.", dropped,
            ).format(count=dropped)
        )  # fmt: skip
    return tuple(found)


def _table(table: Attendance) -> AnswerTable:
    """Groups, or units by how many attended; people are added up and never listed."""
    rows: list[tuple[Cell, ...]] = []
    columns: tuple[str, ...] = (_("Attendance"), _("When"), _("Sets"), _("Contaminated"), _("Contaminated, %"))
    if table.shares:
        columns = (_("Unit"), *columns)
        for name, (share, before, after) in sorted(table.pairs().items(), key=lambda one: one[1][0]):
            rows += [
                (name, share_words(share, 0), label, *_cells(pair))
                for label, pair in ((_("before"), before), (_("after"), after))
            ]
    else:
        for attended, name in ((True, _("attended")), (False, _("did not attend"))):
            rows += [
                (name, label, *_cells(table.total(attended=attended, after=after)))
                for label, after in ((_("before"), False), (_("after"), True))
            ]
    return AnswerTable(title=_("Before and after, by attendance"), columns=columns, rows=tuple(rows))


def _cells(pair: Pair) -> tuple[Cell, ...]:
    return pair[1], pair[0], round(100 * pair[0] / pair[1], 1) if pair[1] else None


def _picture(reading: AttendanceReading, *, title: str) -> dict[str, Any]:
    if reading.more is None:
        return {}
    rows = [
        IntervalRow(
            name=name, value=found.estimate, low=found.interval.low, high=found.interval.high,
            words=f"{ratio_words(found.estimate)} ({range_words(found.interval)})",
        )
        for name, found in ((_("attended"), reading.attended), (_("did not attend"), reading.others))
        if found is not None
    ]  # fmt: skip
    return roomy(build_ratio_picture(rows, title=title, line_words=_("no change")), len(rows)) if rows else {}
