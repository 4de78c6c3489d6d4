"""Which hours would cover most of the contamination? One answer with its strip of the week."""

from __future__ import annotations

from cubital.answers.hours_picture import build_week_picture, day_names
from cubital.answers.hours_reading import HoursReading
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval

_LEVEL = 0.05  # of saying that the hours differ, with the choice of the stretch allowed for
_SURE = 0.8  # chance from which one stretch is called the best


def build_hours_answer(reading: HoursReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; ``too_few`` with fewer contaminated sets than policy asks for."""
    sentence = hours_sentence(reading)
    enough = reading.enough
    return Answer(
        question=_("Which {length} hours?").format(length=reading.length),
        verdict=Verdict.ESTIMATE if enough else Verdict.TOO_FEW,
        sentence=sentence,
        figures=hours_figures(reading) if enough else (),
        cautions=hours_cautions(reading),
        picture=build_week_picture(reading, title=sentence) if reading.total[1] else {},
        table=hours_table(reading),
        receipt=receipt,
        checks=_checks(reading),
    )


def hours_sentence(reading: HoursReading) -> str:
    """The stretch with what it covers, how sure the choice is, and whether it is the hour or the number drawn."""
    count, sets = reading.total
    if not reading.enough:
        return _(
            "{count} contaminated of {sets} sets with a known hour: too few to choose hours by; {least} are wanted, "
            "{more} more."
        ).format(
            count=grouped_words(count), sets=grouped_words(sets), least=reading.policy.min_events,
            more=reading.policy.min_events - count,
        )  # fmt: skip
    covered, inside = reading.inside
    said = _(
        "{stretch}: {covered} of {count} contaminated sets fall there ({share}), in {inside} of {sets} sets ({drawn})."
    ).format(
        stretch=stretch_words(reading), covered=grouped_words(covered), count=grouped_words(count),
        share=share_words(covered / count, 0), inside=grouped_words(inside), sets=grouped_words(sets),
        drawn=share_words(inside / sets, 0),
    )  # fmt: skip
    return " ".join((said, _choice_words(reading), _cause_words(reading)))


def stretch_words(reading: HoursReading) -> str:
    """``19:00 to 07:00 every day``."""
    end = (reading.start + reading.length) % 24
    return _("{start}:00 to {end}:00 {days}").format(
        start=f"{reading.start:02d}", end=f"{end:02d}", days=days_words(reading.days)
    )


def days_words(days: tuple[int, ...]) -> str:
    """``every day``, ``Monday to Friday``, or the days one by one."""
    if days == (0, 1, 2, 3, 4, 5, 6):
        return _("every day")
    if days == (0, 1, 2, 3, 4):
        return _("Monday to Friday")
    return ", ".join(day_names()[day] for day in days)


def _choice_words(reading: HoursReading) -> str:
    chance = float(reading.stretches.best[reading.start])
    if chance >= _SURE:
        return _("No other stretch of {length} hours is likely to hold more.").format(length=reading.length)
    if not reading.others:
        return _("Many stretches are about as good: choose by what can be staffed.")
    starts = ", ".join(f"{hour:02d}:00" for hour in reading.others[:3])
    return _("Beginning at {starts} is about as good: choose among them by what can be staffed.").format(starts=starts)


def _cause_words(reading: HoursReading) -> str:
    found = reading.difference
    if found is None or not reading.inside[1]:
        return ""
    inside, outside = reading.inside, reading.outside
    rates = _("{inside} of sets are contaminated there, {outside} elsewhere").format(
        inside=share_words(inside[0] / inside[1]), outside=share_words(outside[0] / outside[1])
    )
    if found.estimate > 0 and reading.stretches.chance <= _LEVEL:
        return _("{rates}: it is more than the number drawn.").format(rates=rates)
    return _("{rates}: it holds most because most is drawn then.").format(rates=rates)


def hours_figures(reading: HoursReading) -> tuple[Figure, ...]:
    """What the stretch covers as counted and as to be expected, how sure the choice is, shares in and out, workload."""
    count, _sets = reading.total
    figures = [
        Figure(
            key="covered", label=_("Contaminated sets in the stretch"), value=reading.inside[0] / count,
            unit="proportion", numerator=reading.inside[0], denominator=count,
            definition=_("contaminated sets drawn in these hours, over all with a known hour"),
        ),
        Figure(
            key="expected", label=_("To be expected in as long a time again"), unit="sets",
            value=round(reading.stretches.expected, 1), method=_("bootstrap, less what choosing the best adds"),
            note=_("a stretch chosen for holding most holds somewhat less the next time"),
        ),
        Figure(
            key="best", label=_("Chance that no other stretch holds more"),
            value=float(reading.stretches.best[reading.start]), unit="proportion", method=_("bootstrap"),
        ),
    ]  # fmt: skip
    for key, label, (events, sets) in (
        ("inside", _("Contaminated inside the stretch"), reading.inside),
        ("outside", _("Contaminated outside of it"), reading.outside),
    ):
        if sets:
            limits = wilson_interval(events, sets)
            figures.append(Figure(
                key=key, label=label, value=events / sets, unit="proportion", low=limits.low, high=limits.high,
                level=limits.level, method=limits.method, numerator=events, denominator=sets,
            ))  # fmt: skip
    return (*figures, *_workload_figures(reading))


def _workload_figures(reading: HoursReading) -> list[Figure]:
    work = reading.workload
    if work is None:
        return []
    return [
        Figure(
            key="per_hour", label=_("Sets an hour in the stretch"), value=round(work.average, 2), unit="sets",
            definition=_("sets drawn in these hours, over these hours of all weeks"),
        ),
        Figure(
            key="busiest", label=_("Sets in its busiest hour, from {hour}:00").format(hour=f"{work.busiest_hour:02d}"),
            value=round(work.busiest, 2), unit="sets",
        ),
    ]  # fmt: skip


def hours_cautions(reading: HoursReading) -> tuple[str, ...]:
    """Hours are not causes; who waits; sets without an hour."""
    found = [
        _(
            "An hour is not a cause: who draws, how crowded it is and how ill the patients are change with the hour. "
            "Try it as a pilot with a date to stop."
        )
    ]
    work = reading.workload
    if work is None:
        found.append(_("How many collectors it takes is not known: say over how many weeks the sets were drawn."))
    elif work.busiest > work.one_collector:
        found.append(
            _(
                "In the busiest hour {busiest} sets come and one collector draws about {one} (at {minutes} minutes a "
                "set): sets will wait or be drawn by others."
            ).format(
                busiest=decimal_words(f"{work.busiest:.1f}"), one=decimal_words(f"{work.one_collector:.1f}"),
                minutes=reading.policy.minutes_per_set,
            )
        )  # fmt: skip
    else:
        found.append(
            _(
                "On average {average} sets an hour come, {busiest} in the busiest; one collector draws about {one}. "
                "Two calls at once still wait: check the queue before promising."
            ).format(
                average=decimal_words(f"{work.average:.1f}"), busiest=decimal_words(f"{work.busiest:.1f}"),
                one=decimal_words(f"{work.one_collector:.1f}"),
            )
        )  # fmt: skip
    return tuple(found)


def hours_table(reading: HoursReading) -> AnswerTable:
    """One row per hour of the day, and what a stretch that begins there holds."""
    sets, bad = reading.material.sets.sum(axis=0), reading.material.contaminated.sum(axis=0)
    rows = []
    for hour in range(24):
        n, x = int(sets[hour]), int(bad[hour])
        limits = wilson_interval(x, n) if n else None
        rows.append((
            f"{hour:02d}:00", n, x, round(100 * x / n, 1) if n else None,
            round(100 * limits.low, 1) if limits else None, round(100 * limits.high, 1) if limits else None,
            int(reading.stretches.events[hour]), int(reading.stretches.sets[hour]),
            round(100 * float(reading.stretches.best[hour])),
        ))  # fmt: skip
    return AnswerTable(
        title=_("Hours of the day, and the stretch of {length} hours from each").format(length=reading.length),
        columns=(
            _("From"), _("Sets"), _("Contaminated"), _("Contaminated, %"), _("From, %"), _("To, %"),
            _("Contaminated in the stretch"), _("Sets in the stretch"), _("Best in 100 redraws"),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def _checks(reading: HoursReading) -> tuple[Check, ...]:
    untimed, timed = reading.material.untimed, reading.total[1]
    every = _("Every set has a known hour.")
    some = ngettext(
        "{count} set has no known hour and stands nowhere here.",
        "{count} sets have no known hour and stand nowhere here.",
        untimed,
    ).format(count=grouped_words(untimed))
    return (Check(key="timed", passed=20 * untimed <= untimed + timed, words=some if untimed else every),)
