"""Which shifts should a collector work? The hours that reach most, and what still finds nobody free."""

from __future__ import annotations

from cubital.answers.cover_reading import CoverReading, hours_of
from cubital.answers.hours_picture import day_names
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, share_words
from cubital.stats.proportions import wilson_interval

_LOST_WORTH_SAYING = 0.2


def build_cover_answer(reading: CoverReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; ``too_few`` with fewer contaminated sets than policy asks for."""
    return Answer(
        question=_("Which shifts should a collector work?"),
        verdict=Verdict.ESTIMATE if reading.enough else Verdict.TOO_FEW,
        sentence=_sentence(reading),
        figures=_figures(reading) if reading.enough else (),
        cautions=_cautions(reading),
        table=_table(reading) if reading.enough else None,
        receipt=receipt,
    )


def shift_words(reading: CoverReading) -> str:
    """``Monday 19:00, Tuesday 19:00``; shifts that begin at one hour on all days are said once."""
    starts = [divmod(start, 24) for start in reading.cover.starts]
    hours = {hour for _day, hour in starts}
    if len(starts) == 7 and len(hours) == 1:
        return _("every day from {hour}:00").format(hour=f"{hours.pop():02d}")
    return ", ".join(f"{day_names()[day]} {hour:02d}:00" for day, hour in starts)


def _sentence(reading: CoverReading) -> str:
    count, sets = reading.total
    if not reading.enough:
        return _(
            "{count} contaminated of {sets} sets with a known hour: too few to choose shifts by; {least} are wanted, "
            "{more} more."
        ).format(
            count=grouped_words(count), sets=grouped_words(sets), least=reading.ask.min_events,
            more=reading.ask.min_events - count,
        )  # fmt: skip
    said = _(
        "{shifts} shifts of {length} hours a week ({when}): {inside} of {count} contaminated sets fall there, {share}; "
        "about {expected} in as long a time again, because hours chosen for holding most hold less the next time."
    ).format(
        shifts=len(reading.cover.starts), length=reading.ask.length, when=shift_words(reading),
        inside=grouped_words(reading.inside[0]), count=grouped_words(count),
        share=share_words(reading.inside[0] / count, 0), expected=share_words(reading.expected, 0),
    )  # fmt: skip
    return " ".join(part for part in (said, _reach_words(reading), _averted_words(reading)) if part)


def _reach_words(reading: CoverReading) -> str:
    return _("Of the sets drawn then, {reached} would find a collector free; the others are drawn as today.").format(
        reached=share_words(reading.reached, 0)
    )


def _averted_words(reading: CoverReading) -> str:
    if reading.averted is None:
        return ""
    low, likely, high = (decimal_words(f"{value:.0f}") for value in reading.averted)
    return _(
        "At the relative risk given that is {likely} contaminated sets a year fewer ({low} to {high}) of {year}: a "
        "scenario, not a promise."
    ).format(likely=likely, low=low, high=high, year=decimal_words(f"{reading.per_year:.0f}"))


def _figures(reading: CoverReading) -> tuple[Figure, ...]:
    inside, total = reading.inside[0], reading.total[0]
    limits = wilson_interval(inside, total)
    found = [
        Figure(
            key="covered", label=_("Contaminated sets in these hours"), value=inside / total, unit="proportion",
            low=limits.low, high=limits.high, level=limits.level, method=limits.method, numerator=inside,
            denominator=total, definition=_("contaminated sets drawn in these hours, over all with a known hour"),
        ),
        Figure(
            key="expected", label=_("To be expected in as long a time again"), value=reading.expected,
            unit="proportion", method=_("bootstrap, less what choosing the best adds"),
        ),
        Figure(
            key="reached", label=_("Sets then that find a collector free"), value=reading.reached, unit="proportion",
            method=_("lost calls at random arrivals (Erlang)"),
            definition=_("sets in these hours that do not find every collector busy"),
        ),
        Figure(
            key="busy", label=_("Paid time that is drawing"), value=reading.busy, unit="proportion",
            note=_("the rest can be other collections or rounds; it is no saving"),
        ),
        Figure(key="hours", label=_("Paid hours a week"), value=reading.hours_a_week, unit="hours"),
    ]  # fmt: skip
    if reading.averted is not None:
        low, likely, high = reading.averted
        found.append(Figure(
            key="averted", label=_("Contaminated sets averted a year, scenario"), value=round(likely, 1), unit="sets",
            low=round(low, 1), high=round(high, 1),
            definition=_("contaminated a year × expected in these hours × reached × (1 − relative risk)"),
            note=_("low and high come from the range of the relative risk alone"),
        ))  # fmt: skip
    return tuple(found)


def _cautions(reading: CoverReading) -> tuple[str, ...]:
    found = [
        _("Scenario, not a forecast. An hour is not a cause: who draws and how crowded it is change with the hour."),
        _("Nobody may wait for a collector when a culture or an antibiotic is urgent: the nurse draws, as today."),
    ]
    if reading.enough and reading.busiest_lost >= _LOST_WORTH_SAYING:
        found.append(
            _(
                "In the busiest of these hours {share} of sets find every collector busy; one more would change that."
            ).format(share=share_words(reading.busiest_lost, 0))
        )
    if reading.material.untimed:
        found.append(
            _("{count} sets have no hour and are left out.").format(count=grouped_words(reading.material.untimed))
        )
    return tuple(found)


def _table(reading: CoverReading) -> AnswerTable:
    bad, sets = reading.material.contaminated.ravel(), reading.material.sets.ravel()
    rows: list[tuple[Cell, ...]] = []
    for start in reading.cover.starts:
        day, hour = divmod(start, 24)
        held = [(start + step) % len(bad) for step in range(reading.ask.length)]
        rows.append((
            day_names()[day], f"{hour:02d}:00", f"{(hour + reading.ask.length) % 24:02d}:00",
            int(bad[held].sum()), int(sets[held].sum()),
        ))  # fmt: skip
    left = sorted(set(range(len(bad))) - set(hours_of(reading.cover, reading.ask.length).tolist()))
    rows.append((_("all other hours"), "", "", int(bad[left].sum()), int(sets[left].sum())))
    return AnswerTable(
        title=_("Shifts"),
        columns=(_("Day"), _("From"), _("To"), _("Contaminated"), _("Sets")),
        rows=tuple(rows),
    )
