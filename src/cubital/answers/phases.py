"""Locked baselines: phases of a chart with a break between, and the proposal of a new one, which a person signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.answers.counts import MonthCount
from cubital.answers.palette import ACCENT, BAND, INK, MUTED
from cubital.answers.picture_parts import Row, end_labels, frame, share_axis
from cubital.answers.pictures import month_axis
from cubital.answers.signal import counts_checks, signal_question
from cubital.answers.signal_figures import signal_figures
from cubital.answers.signal_reading import SignalPolicy, SignalReading, assess_month
from cubital.answers.signal_words import Place, signal_sentence, signal_verdict
from cubital.answers.since_when import SURE
from cubital.domain.answer import Answer, AnswerTable, Receipt
from cubital.domain.words import _, day_words, month_words, share_words
from cubital.stats.change_point import ChangePoint, find_change
from cubital.stats.run_chart import run_lengths

NEW_MONTHS = 12  # a new level must have held so long before it is proposed as a baseline


@dataclass(frozen=True, kw_only=True)
class LockedBaseline:
    """Months ``first`` to ``last`` say what is usual from ``first`` on, until a later baseline begins.

    ``by`` locked it on the day ``on`` because of ``why``.
    """

    first: str
    last: str
    by: str
    on: date
    why: str

    @property
    def span(self) -> tuple[str, str]:
        return self.first, self.last


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """Months ``first`` to ``last`` have held a new level: ``run`` of them in a row lie on one side of the old one."""

    first: str
    last: str
    run: int
    old_rate: float
    evidence: ChangePoint


def propose_baseline(
    counts: Sequence[MonthCount], *, locked: LockedBaseline, policy: SignalPolicy | None = None
) -> Proposal | None:
    """A new baseline to be looked at and signed, or none.

    It takes all of: a change after the locked months of which the posterior is sure, at least ``NEW_MONTHS`` months of
    the new level, and a shift by the run rule among them. Nothing is changed by proposing.
    """
    rules = policy or SignalPolicy()
    held = [count for count in counts if count.sets and count.month >= locked.first]
    base = [count for count in held if count.month <= locked.last]
    sets = sum(count.sets for count in base)
    if not sets or len(held) < 2:
        return None
    rate = sum(count.contaminated for count in base) / sets
    change = find_change([c.contaminated for c in held], [c.sets for c in held])
    new = held[change.first :]
    if change.chance < SURE or len(new) < NEW_MONTHS or new[0].month <= locked.last:
        return None
    side = 1 if change.after > change.before else -1
    runs = run_lengths([c.contaminated / c.sets for c in new], center=rate)
    longest = max((abs(run) for run in runs if run * side > 0), default=0)
    if longest < rules.shift_points:
        return None
    return Proposal(first=new[0].month, last=new[-1].month, run=longest, old_rate=rate, evidence=change)


def proposal_words(proposal: Proposal) -> str:
    """The proposal with its evidence in one sentence."""
    return _(
        "A new baseline can be proposed: since {first} the rate has held at {after} instead of {before}, {run} months "
        "in a row on one side of the old baseline; the chance that it changed is {chance}. Nothing changes until "
        "somebody signs it."
    ).format(
        first=month_words(proposal.first, with_year=True), after=share_words(proposal.evidence.after),
        before=share_words(proposal.old_rate), run=proposal.run, chance=share_words(proposal.evidence.chance, 0),
    )  # fmt: skip


def phase_at(phases: Sequence[LockedBaseline], month: str) -> LockedBaseline | None:
    """The baseline in force in ``month``: of those that begin by then, the one that begins last."""
    begun = [phase for phase in phases if phase.first <= month]
    return max(begun, key=lambda phase: (phase.first, phase.on), default=None)


def phase_words(phase: LockedBaseline) -> str:
    """``January 2024 to December 2025, locked by A. Educator on 10 January 2026: two calm years``."""
    return _("{first} to {last}, locked by {by} on {day}: {why}").format(
        first=month_words(phase.first, with_year=True), last=month_words(phase.last, with_year=True), by=phase.by,
        day=day_words(phase.on), why=phase.why,
    )  # fmt: skip


def build_phases_answer(
    counts: Sequence[MonthCount],
    *,
    phases: Sequence[LockedBaseline],
    place: Place = "department",
    policy: SignalPolicy | None = None,
    receipt: Receipt | None = None,
) -> Answer:
    """The last of ``counts`` against the baseline in force, every phase drawn with its own line and a break between."""
    rules = policy or SignalPolicy()
    ordered = sorted(phases, key=lambda phase: (phase.first, phase.on))
    now = phase_at(ordered, counts[-1].month)
    reading = assess_month(counts, policy=rules, locked=now.span if now else None)
    said = signal_sentence(reading, place=place)
    measured = (
        _("Measured against the baseline {phase}.").format(phase=phase_words(now).rstrip("."))
        if now
        else _("There is no baseline locked here: all months before serve as one, and move with every month.")
    )
    sentence = f"{said} {measured}"
    proposal = propose_baseline(counts, locked=now, policy=rules) if now else None
    return Answer(
        question=signal_question(reading),
        verdict=signal_verdict(reading),
        sentence=sentence,
        figures=signal_figures(reading),
        cautions=_cautions(counts, ordered, proposal=proposal),
        picture=_picture(counts, ordered, policy=rules, title=sentence),
        table=_table(ordered),
        receipt=receipt,
        checks=counts_checks(counts),
    )


def _cautions(
    counts: Sequence[MonthCount], phases: Sequence[LockedBaseline], *, proposal: Proposal | None
) -> tuple[str, ...]:
    found = [proposal_words(proposal)] if proposal else []
    for phase in phases:
        words = inside_change_words(counts, phase)
        if words:
            found.append(words)
    return tuple(found)


def inside_change_words(counts: Sequence[MonthCount], phase: LockedBaseline) -> str:
    """A warning where the rate changed inside the baseline itself, so that its mean is neither level; or nothing."""
    held = [count for count in counts if count.sets and phase.first <= count.month <= phase.last]
    if len(held) < 2:
        return ""
    change = find_change([c.contaminated for c in held], [c.sets for c in held])
    if change.chance < SURE:
        return ""
    return _(
        "The rate changed inside the baseline {first} to {last}, most likely in {month}: its mean is neither the level "
        "before nor after. Choose months that lie on one side of the change."
    ).format(
        first=month_words(phase.first, with_year=True), last=month_words(phase.last, with_year=True),
        month=month_words(held[change.first].month, with_year=True),
    )  # fmt: skip


def _readings(
    counts: Sequence[MonthCount], phases: Sequence[LockedBaseline], policy: SignalPolicy
) -> list[tuple[int, MonthCount, SignalReading | None, int]]:
    """Per month its phase's number (0 before the first), and the reading its limits come from with its place there."""
    by_phase = {id(phase): assess_month(counts, policy=policy, locked=phase.span) for phase in phases}
    rows = []
    for place, count in enumerate(counts):
        phase = phase_at(phases, count.month)
        number = phases.index(phase) + 1 if phase else 0
        rows.append((number, count, by_phase[id(phase)] if phase else None, place))
    return rows


def _picture(
    counts: Sequence[MonthCount], phases: Sequence[LockedBaseline], *, policy: SignalPolicy, title: str
) -> dict[str, Any]:
    if not any(count.sets for count in counts):
        return {}
    rows = [_row(*found) for found in _readings(counts, phases, policy)]
    drawn = [row[key] for row in rows for key in ("rate", "upper") if row.get(key) is not None]
    top = min(1.0, 1.12 * max(*drawn, 0.01))
    y = {
        "type": "quantitative", "title": None, "axis": share_axis(top),
        "scale": {"domain": [0, top], "nice": False},
    }  # fmt: skip
    detail = {"detail": {"field": "phase", "type": "nominal"}}
    band = {"type": "bar", "width": {"band": 1.03}, "color": BAND, "opacity": 1}
    line = {"type": "line", "color": INK, "strokeWidth": 1.2, "invalid": "break-paths-show-path-domains"}
    center = {"type": "line", "color": MUTED, "strokeWidth": 1.4}
    dot = {"type": "point", "filled": True, "size": 34, "color": INK, "opacity": 1}
    signal = {"type": "point", "filled": True, "size": 140, "color": ACCENT, "opacity": 1, "shape": "triangle-up"}
    text = {"type": "text", "align": "left", "baseline": "top", "dx": 4, "color": ACCENT, "fontSize": 12}
    rule = {"type": "rule", "color": ACCENT, "strokeDash": [4, 3]}
    breaks = {"filter": "datum.begins !== ''"}
    return {
        **frame(title, height=260, rows=rows),
        "encoding": {"x": month_axis([count.month for count in counts])},
        "layer": [
            {"mark": band, "encoding": {"y": {"field": "lower", **y}, "y2": {"field": "upper"}}},
            {"mark": center, "encoding": {"y": {"field": "center", **y}, **detail}},
            {"mark": line, "encoding": {"y": {"field": "rate", **y}, **detail}},
            {"mark": dot, "encoding": {"y": {"field": "rate", **y}}},
            {"transform": [{"filter": "datum.marked"}], "mark": signal, "encoding": {"y": {"field": "rate", **y}}},
            {"transform": [breaks], "mark": rule, "encoding": {"y": {"value": 0}, "y2": {"value": "height"}}},
            {
                "transform": [breaks], "mark": text,
                "encoding": {"y": {"value": 0}, "text": {"field": "begins", "type": "nominal"}},
            },
            *_center_label(rows, top),
        ],
    }  # fmt: skip


def _row(number: int, count: MonthCount, reading: SignalReading | None, place: int) -> Row:
    rate = count.contaminated / count.sets if count.sets else None
    row: Row = {"month": count.month, "rate": rate, "phase": number, "begins": "", "marked": False}
    if reading is not None and reading.baseline_sets:
        row |= {
            "center": reading.rate, "lower": reading.lower[place], "upper": reading.upper[place],
            "marked": bool(reading.marked[place]),
        }  # fmt: skip
        if count.month == reading.baseline[0].month:
            row["begins"] = _("baseline {number} begins").format(number=number)
    return row


def _center_label(rows: Sequence[Row], top: float) -> list[Row]:
    last = next((row["center"] for row in reversed(rows) if row.get("center") is not None), None)
    if last is None:
        return []
    return end_labels([(last, _("baseline {share}").format(share=share_words(last)), INK)], span=top)


def _table(phases: Sequence[LockedBaseline]) -> AnswerTable:
    return AnswerTable(
        title=_("Baselines locked here"),
        columns=(_("From"), _("To"), _("Locked by"), _("On"), _("Why")),
        rows=tuple((phase.first, phase.last, phase.by, phase.on.isoformat(), phase.why) for phase in phases),
    )
