"""What to watch next, in words: the shift that is missing most, the cells to go to, and how many draws say what."""

from __future__ import annotations

from cubital.answers.observation_plan import Gap, PlanReading, Shift, Statement, shift_name
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, ngettext, share_words

_MOST_NAMED = 3


def build_plan_answer(reading: PlanReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; ``too_few`` where the sheets do not say when a draw was watched."""
    return Answer(
        question=_("What should be watched next?"),
        verdict=Verdict.TOO_FEW if reading.untimed == reading.draws else Verdict.ESTIMATE,
        sentence=plan_sentence(reading),
        figures=plan_figures(reading),
        cautions=(_("Whoever is watched behaves differently; tell them that the step is watched and not the person."),),
        table=plan_table(reading),
        receipt=receipt,
        checks=_checks(reading),
    )


def plan_sentence(reading: PlanReading) -> str:
    """The plan shift by shift, night first, and where to go first."""
    if reading.untimed == reading.draws:
        return _("The sheets do not say when the draws were watched: write the hour down, and the plan follows.")
    parts = [_shift_words(shift, reading.of_shift(shift)) for shift in (Shift.NIGHT, Shift.DAY)]
    return " ".join([*(part for part in parts if part), *_first_words(reading)])


def _shift_words(shift: Shift, gaps: tuple[Gap, ...]) -> str:
    wanted, more = sum(gap.wanted for gap in gaps), sum(gap.more for gap in gaps)
    if not wanted:
        return ""
    if not more:
        return _enough_words(shift, sum(gap.watched for gap in gaps))
    words = {
        Shift.DAY: _("Plan for {wanted} day observations: {watched} watched, {more} more to go."),
        Shift.NIGHT: _("Plan for {wanted} night observations: {watched} watched, {more} more to go."),
    }
    # A draw beyond what its cell wants does not stand in for one that is missing elsewhere.
    return words[shift].format(wanted=wanted, watched=wanted - more, more=more)


def _enough_words(shift: Shift, watched: int) -> str:
    by_day = ngettext(
        "By day {watched} draw was watched: enough.", "By day {watched} draws were watched: enough.", watched
    )
    at_night = ngettext(
        "At night {watched} draw was watched: enough.", "At night {watched} draws were watched: enough.", watched
    )
    return (by_day if shift is Shift.DAY else at_night).format(watched=watched)


def _first_words(reading: PlanReading) -> list[str]:
    missing = sorted((gap for gap in reading.gaps if gap.more and (gap.unit or gap.role)), key=lambda gap: -gap.more)
    if not missing:
        return []
    return [_("First: {cells}.").format(cells="; ".join(_cell_words(gap) for gap in missing[:_MOST_NAMED]))]


def _cell_words(gap: Gap) -> str:
    names = ", ".join(name for name in (gap.unit, gap.role, shift_name(gap.shift)) if name)
    return _("{names} ({more} more)").format(names=names, more=gap.more)


def plan_figures(reading: PlanReading) -> tuple[Figure, ...]:
    """How many draws of one step say what, and how many more that is for the step most likely the lowest."""
    return tuple(_statement_figure(one, reading) for one in reading.statements)


def _statement_figure(one: Statement, reading: PlanReading) -> Figure:
    truth, target = share_words(one.truth, 0), share_words(reading.target, 0)
    if one.assurance is None:
        label = _("Draws to know a share near {truth} to within {points} points").format(
            truth=truth, points=round(100 * reading.rules.half_width)
        )
        key, method = f"within_{round(100 * one.truth)}", _("normal approximation")
    else:
        words = (
            _("Draws to say 'below {target}' with {assurance} assurance, if it is truly done in {truth}")
            if one.truth < reading.target
            else _("Draws to say 'above {target}' with {assurance} assurance, if it is truly done in {truth}")
        )
        label = words.format(target=target, assurance=share_words(one.assurance, 0), truth=truth)
        key = f"needed_{round(100 * one.truth)}_{round(100 * one.assurance)}"
        method = _("exact, from the Wilson interval")
    return Figure(
        key=key, label=label, value=None if one.needed is None else float(one.needed), unit="draws", method=method,
        note=_more_words(one, reading),
    )  # fmt: skip


def _more_words(one: Statement, reading: PlanReading) -> str:
    if one.needed is None:
        return _("out of reach: the share is too close to the target")
    if reading.step is None:
        return ""
    more = max(0, one.needed - reading.step.seen)
    return ngettext(
        "'{step}' was seen in {seen}: {more} more draw", "'{step}' was seen in {seen}: {more} more draws", more
    ).format(step=reading.step.step, seen=reading.step.seen, more=grouped_words(more))


def plan_table(reading: PlanReading) -> AnswerTable:
    """One row per cell of the plan."""
    return AnswerTable(
        title=_("The plan, cell by cell"),
        columns=(_("Shift"), _("Unit"), _("Role"), _("Wanted"), _("Watched"), _("More")),
        rows=tuple(
            (shift_name(gap.shift), gap.unit or _("any"), gap.role or _("any"), gap.wanted, gap.watched, gap.more)
            for gap in reading.gaps
        ),
    )


def _checks(reading: PlanReading) -> tuple[Check, ...]:
    every = _("Every sheet says when the draw was watched.")
    some = ngettext(
        "{count} draw has no time and stands in no cell.",
        "{count} draws have no time and stand in no cell.",
        reading.untimed,
    ).format(count=reading.untimed)
    words = some if reading.untimed else every
    return (Check(key="timed", passed=not reading.untimed, words=words),)
