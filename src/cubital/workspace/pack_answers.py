"""The answers of a committee's pack as others may see them: computed from counts that the guard lets leave, alone.

Every word, limit and point is made from shown counts. Where a month of the chart is hidden, the quarter stands
without a comparison, because the chart's centre line would narrow the hidden month down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from cubital.answers.counts import MonthCount
from cubital.answers.drivers import HourLine, UnitLine, build_hours_answer, build_units_answer
from cubital.answers.owner_words import name_trouble
from cubital.answers.quarter import QuarterSetting, build_quarter_answer
from cubital.answers.quarter_reading import read_quarter
from cubital.answers.restated import Said
from cubital.answers.span_words import span_words
from cubital.domain.answer import Answer, Figure, Verdict
from cubital.domain.cultures import TimeQuality
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, grouped_words, share_words
from cubital.indicators.contamination import definition_words
from cubital.indicators.disclosure.tables import SmallCounts
from cubital.indicators.disclosure.unit_months import NETWORK
from cubital.indicators.span import span_figures
from cubital.stats.proportions import wilson_interval
from cubital.workspace.diary_marking import marked
from cubital.workspace.guarding import Leaving, let_leave
from cubital.workspace.opening import Workspace
from cubital.workspace.pack_cells import ALONE, BESIDE, ONE_BOTTLE, RATE, PackCells, build_pack_cells, hour_measure
from cubital.workspace.pack_gathering import DAY_PARTS, PackAsk, PackMaterial, UnitSpan, gather_pack
from cubital.workspace.places_gathering import key_text, policy_places
from cubital.workspace.policy_rules import policy_limits, policy_signal
from cubital.workspace.spikes import part_words

FACE = "pack"
NEVER_BESIDE = frozenset({"solitary_commensals", "unresolved"})  # parts of other growth: shown, they would split it
BY_CELL = {
    "solitary_by_set": (ALONE,), "solitary_by_episode": (ALONE,), "bottles_complete": (ONE_BOTTLE,),
    "positivity": BESIDE, "to_adjudicate": BESIDE,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class PackAnswers:
    """What a pack says, and what was said: ``months`` the place's months as shown, ``left_before`` the last table that
    had left before this one, which is number ``left_table`` of those kept.
    """

    ask: PackAsk
    place_name: str
    quarter: Answer
    units: Answer
    hours: Answer
    months: tuple[Said, ...]
    times: dict[str, int]
    charter: str
    left_before: int
    left_table: int


def pack_answers(workspace: Workspace, ask: PackAsk) -> PackAnswers:
    """Counts, lets the guard decide, and answers. What leaves is kept in mind at once.

    Errors as for ``gather_pack`` and ``let_leave``; ``RequestProblem`` where the quarter's own count is hidden, for
    then there is nothing to bring before a committee.
    """
    material = gather_pack(workspace, ask)
    cells = build_pack_cells(material)
    about = _("{place}, {span}").format(
        place=material.place.name, span=span_words(ask.from_month, ask.to_month)
    )  # fmt: skip
    leaving = let_leave(
        workspace, table=cells.table, asked=cells.asked, face=FACE, about=about, only_asked_changes=True
    )  # fmt: skip
    seen = _Seen(material=material, cells=cells, leaving=leaving)
    if seen.place_count(RATE) is None:
        raise _hidden_problem(material, leaving.limits)
    quarter = marked(workspace, _quarter(seen), facility=material.place.facility, unit=None)
    return PackAnswers(
        ask=ask, place_name=material.place.name, quarter=_nameless(quarter), units=_units(seen), hours=_hours(seen),
        months=seen.said_months(), times=_times(material, leaving.limits), charter=material.charter.fingerprint,
        left_before=max(0, leaving.number - 1), left_table=leaving.number,
    )  # fmt: skip


def _nameless(answer: Answer) -> Answer:
    """The answer with the diary's words only where they look like nobody's name."""
    marks = tuple(
        replace(mark, words=_("a change that the diary names")) if name_trouble(mark.words) else mark
        for mark in answer.marks
    )
    return replace(answer, marks=marks)


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """The material with what the guard let through."""

    material: PackMaterial
    cells: PackCells
    leaving: Leaving

    @property
    def facility(self) -> str:
        return self.material.place.facility or NETWORK

    def count(self, measure: str, facility: str, unit: str | None) -> int | None:
        """The count over the span as it may be shown; none where it is hidden."""
        cell = self.cells.find(measure, facility, unit, self.cells.span)
        return self.leaving.guarded.shown.get(cell) if cell is not None else None

    def place_count(self, measure: str) -> int | None:
        return self.count(measure, self.facility, None)

    def said_months(self) -> tuple[Said, ...]:
        """The place's months; a hidden count is none."""
        sizes = {one.month: one.denominator for one in self.material.history}
        shown = {cell.span: self.leaving.guarded.shown.get(cell) for cell in self.cells.months}
        return tuple(
            Said(first=month, last=month, contaminated=shown.get(month), sets=sets) for month, sets in sizes.items()
        )


def _quarter(seen: _Seen) -> Answer:
    material, months = seen.material, seen.said_months()
    setting = QuarterSetting(
        place=material.place.noun, place_name=material.place.name, company=_company(seen),
        cautions=_cautions(seen), receipt=material.receipt,
    )  # fmt: skip
    if any(one.contaminated is None for one in months):
        return _without_comparison(seen, setting)
    counts = [MonthCount(month=one.first, sets=one.sets, contaminated=one.contaminated or 0) for one in months]
    reading = read_quarter(
        counts, from_month=material.ask.from_month, policy=policy_signal(material.policy), locked=material.locked
    )
    return build_quarter_answer(reading, setting=setting)


def _without_comparison(seen: _Seen, setting: QuarterSetting) -> Answer:
    count, ask = seen.place_count(RATE) or 0, seen.material.ask
    sets = sum(one.denominator for one in seen.material.span)
    interval = wilson_interval(count, sets)
    return Answer(
        question=_("How was {span} at {place}?").format(
            span=span_words(ask.from_month, ask.to_month), place=setting.place_name
        ),
        verdict=Verdict.ESTIMATE,
        sentence=_(
            "{span}: {count} of {sets} sets count as contaminated ({share}; likely {low} to {high}). Months hold "
            "counts too small to show, so this pack does not compare."
        ).format(
            span=span_words(ask.from_month, ask.to_month), count=grouped_words(count), sets=grouped_words(sets),
            share=share_words(count / sets), low=share_words(interval.low), high=share_words(interval.high),
        ),
        figures=setting.company,
        cautions=setting.cautions,
        receipt=setting.receipt,
    )  # fmt: skip


def _company(seen: _Seen) -> tuple[Figure, ...]:
    """Contamination with what never leaves its side; what is small, or would give something small away, is hidden."""
    material = seen.material
    figures = span_figures(
        material.span, material.process, charter=material.charter.charter, limits=policy_limits(material.policy)
    )
    return tuple(_as_shown(figure, seen) for figure in figures)


def _as_shown(figure: Figure, seen: _Seen) -> Figure:
    if figure.key == "use_rate":
        return _with_year_before(figure, seen)
    if figure.key in NEVER_BESIDE:
        return _hidden(figure)
    if figure.key in BY_CELL:
        whole = all(seen.place_count(measure) is not None for measure in BY_CELL[figure.key])
        return figure if whole else _hidden(figure)
    if figure.numerator is None or figure.key == "contamination":
        return replace(figure, note="") if figure.key == "contamination" else figure
    limits = seen.leaving.limits
    rest = (figure.denominator or figure.numerator) - figure.numerator
    small = any(limits.low <= count <= limits.high for count in (figure.numerator, rest))
    return _hidden(figure) if small else figure


def _hidden(figure: Figure) -> Figure:
    return replace(
        figure, value=None, low=None, high=None, numerator=None, denominator=None, note=_("not shown to others")
    )  # fmt: skip


def _with_year_before(figure: Figure, seen: _Seen) -> Figure:
    """Without patient-days, how many sets were drawn a year before: cultures that are dropped would show here."""
    sizes = {one.month: one.denominator for one in seen.material.history}
    wanted = [f"{int(month[:4]) - 1}{month[4:]}" for month in seen.material.ask.months]
    if figure.value is not None or not all(month in sizes for month in wanted):
        return figure
    now = sum(sizes[month] for month in seen.material.ask.months)
    return replace(
        figure,
        note=_("no patient-days were given; {now} sets drawn, {before} in the same months a year before").format(
            now=grouped_words(now), before=grouped_words(sum(sizes[month] for month in wanted))
        ),
    )


def _cautions(seen: _Seen) -> tuple[str, ...]:
    limits, charter = seen.leaving.limits, seen.material.charter
    preliminary = sum(one.preliminary for one in seen.material.span)
    return tuple(
        words
        for words in (
            _("Some results are preliminary and may still change class.") if preliminary else "",
            _("The charter is not signed yet; the definition is not agreed.") if not charter.frozen else "",
            _(
                "Counted: {definition}, by charter {version} '{name}'. Figures from elsewhere use other definitions."
            ).format(
                definition=definition_words(charter.charter), version=charter.charter.version, name=charter.charter.name
            ),
            _(
                "Made for others: counts from {low} to {high}, and what would give them away beside every earlier "
                "table, are hidden. Units only; no person stands in this pack, and none can be asked of it."
            ).format(low=limits.low, high=limits.high),
        )
        if words
    )  # fmt: skip


def _units(seen: _Seen) -> Answer:
    lines = [_unit_line(unit, seen) for unit in seen.material.units if unit.counts.denominator]
    several = len({line.facility for line in lines}) > 1
    return build_units_answer(
        lines, policy=policy_places(seen.material.policy), several=several, receipt=seen.material.receipt
    )  # fmt: skip


def _unit_line(unit: UnitSpan, seen: _Seen) -> UnitLine:
    facility, key = unit.counts.facility or "", unit.counts.unit or ""
    return UnitLine(
        key=key_text((facility, key)), name=unit.counts.unit_name or _("unit not named"), facility=facility,
        sets=unit.counts.denominator, contaminated=seen.count(RATE, facility, key),
        alone=seen.count(ALONE, facility, key), paired=unit.counts.sets - (unit.counts.unpairable or 0),
        one_bottle=seen.count(ONE_BOTTLE, facility, key), bottled=unit.process.bottle_measurable,
        one_person=unit.people == 1,
    )  # fmt: skip


def _hours(seen: _Seen) -> Answer:
    lines = []
    for part in (*DAY_PARTS, None):
        sets = sum(n for (_facility, one), (_x, n) in seen.material.hours.items() if one == part)
        if sets:
            lines.append(HourLine(
                name=part_words(part) or _("hour not known"), sets=sets,
                contaminated=seen.place_count(hour_measure(part)),
            ))  # fmt: skip
    policy = policy_places(seen.material.policy, "none")
    return build_hours_answer(lines, policy=policy, receipt=seen.material.receipt)


def _times(material: PackMaterial, limits: SmallCounts) -> dict[str, int]:
    """Sets by quality of their time, small counts as -1; the exact ones, which are the rest, are left out."""
    return {
        quality.value: -1 if limits.low <= count <= limits.high else count
        for quality, count in material.times.items()
        if quality is not TimeQuality.EXACT
    }


def _hidden_problem(material: PackMaterial, limits: SmallCounts) -> RequestProblem:
    return RequestProblem(
        _("the count of contaminated sets of {place} in these months may not be shown to others.").format(
            place=material.place.name
        ),
        fix=_(
            "It is from {low} to {high}, or would give such a count away: ask for more months, or for all hospitals."
        ).format(low=limits.low, high=limits.high),
    )  # fmt: skip
