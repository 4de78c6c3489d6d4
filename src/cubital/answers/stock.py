"""When do bottles run out? The day with its doubt, whether the delivery comes in time, what each tier would change."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from cubital.answers.shortage_words import missed_words, run_days, tier_rows
from cubital.answers.stock_picture import build_stock_picture
from cubital.answers.stock_reading import RunOut, StockReading, StockState
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, day_words, decimal_words, grouped_words, ngettext, share_words

_SMALL = 0.01
_CHANGED = 0.2  # a mean of the last two weeks so much above or below the weeks before is worth a word


def build_stock_answer(
    readings: Sequence[StockReading], *, detected_per_year: int | None = None, receipt: Receipt | None = None
) -> Answer:
    """The whole answer over one item or several; the one that runs out first leads.

    ``detected_per_year`` are infections that the laboratory finds in a year, for the range of what a tier may cost.
    ``ValueError`` without a reading.
    """
    if not readings:
        raise ValueError("at least one item is needed")
    ordered = sorted(readings, key=_urgency)
    first = ordered[0]
    sentence = " ".join((stock_sentence(first), *([_others_words(ordered[1:])] if len(ordered) > 1 else [])))
    return Answer(
        question=_("When do bottles run out?"),
        verdict=_verdict(first),
        sentence=sentence,
        figures=_figures(ordered),
        cautions=_cautions(ordered, detected_per_year),
        picture=_picture(first, sentence),
        table=_table(ordered),
        receipt=receipt,
        checks=tuple(check for one in ordered for check in _checks(one)),
    )


def _urgency(reading: StockReading) -> tuple[int, date, str]:
    """Items that need somebody first, then by the day from which one acts."""
    if reading.state is not StockState.SAID or reading.as_now is None:
        return 0, date.min, reading.item.name
    return 1, reading.as_now.early or date.max, reading.item.name


def _verdict(reading: StockReading) -> Verdict:
    if reading.state in (StockState.NOT_COUNTED, StockState.COUNT_OLD, StockState.DISAGREES):
        return Verdict.REFUSED
    if reading.state is StockState.SHORT_USE:
        return Verdict.TOO_FEW
    late = reading.before_delivery is not None and reading.before_delivery >= reading.policy.act_from
    late = late or (reading.left == 0 and bool(reading.demand and reading.demand.mean))
    return Verdict.SIGNAL if late or any(one.begins for one in reading.tiers) else Verdict.ESTIMATE


def stock_sentence(reading: StockReading) -> str:
    """What is there, when it runs out, whether the delivery comes in time, and which tier the stock has reached."""
    if reading.state is not StockState.SAID:
        return _refusal(reading)
    return " ".join(part for part in (_there(reading), _lasts(reading), _delivery(reading), _reached(reading)) if part)


def _refusal(reading: StockReading) -> str:
    name, item = reading.item.name, reading.item
    if reading.state is StockState.NOT_COUNTED:
        return _("{name}: nobody has counted what is there, so no day can be given. Count it once.").format(name=name)
    if reading.state is StockState.COUNT_OLD:
        day = day_words(item.counted_on) if item.counted_on else ""
        return _("{name}: the last count is of {day}, more than {days} days ago. Count again.").format(
            name=name, day=day, days=reading.policy.oldest_count_days
        )
    if reading.state is StockState.DISAGREES:
        return _(
            "{name}: {count} more were used since the count than were there. Count or use is wrong: count again."
        ).format(name=name, count=grouped_words(-reading.left))
    return _("{name}: fewer than {days} days of use are known, too few to say when it runs out.").format(
        name=name, days=reading.policy.least_days
    )


def _there(reading: StockReading) -> str:
    mean = reading.demand.mean if reading.demand else 0.0
    if mean == 0:
        return _("{name}: {left} are there and none is used.").format(
            name=reading.item.name, left=grouped_words(reading.left)
        )
    return _("{name}: {left} are there and {mean} a day are used, {cover} days of cover.").format(
        name=reading.item.name, left=grouped_words(reading.left), mean=decimal_words(f"{mean:.1f}"),
        cover=_cover_words(reading.cover_days or 0.0),
    )  # fmt: skip


def _cover_words(days: float) -> str:
    """Days of cover rounded down, tenths below ten: never as many as a tier asks for where there are fewer."""
    down = math.floor(10 * days + 1e-9) / 10
    return decimal_words(f"{math.floor(down)}" if down >= 10 or down.is_integer() else f"{down:.1f}")


def _lasts(reading: StockReading) -> str:
    if reading.as_now is None or (reading.demand and reading.demand.mean == 0):
        return ""
    if reading.as_now.middle is None:
        end = reading.today + timedelta(days=reading.policy.ahead_days)
        return _("With what is ordered they are likely to last beyond {day}.").format(day=day_words(end))
    return _("They are likely to last until about {middle} ({early} to {late}).").format(
        middle=day_words(reading.as_now.middle), **_ends(reading.as_now, reading)
    )


def _ends(run: RunOut, reading: StockReading) -> dict[str, str]:
    beyond = _("beyond {days} days").format(days=reading.policy.ahead_days)
    return {
        "early": day_words(run.early) if run.early else beyond, "late": day_words(run.late) if run.late else beyond,
    }  # fmt: skip


def _delivery(reading: StockReading) -> str:
    if reading.next_delivery is None or reading.before_delivery is None:
        return _("No delivery is known.") if reading.demand and reading.demand.mean else ""
    day, amount = reading.next_delivery
    chance = reading.before_delivery
    held = {"amount": grouped_words(amount), "day": day_words(day)}
    if chance >= reading.policy.act_from:
        return _(
            "The delivery of {amount} on {day} may come too late: in {share} of such cases they run out before."
        ).format(**held, share=share_words(chance, 0))
    share = _("less than {share}").format(share=share_words(_SMALL, 0)) if chance < _SMALL else share_words(chance, 0)
    return _("The delivery of {amount} on {day} comes in time (chance of running out before: {share}).").format(
        **held, share=share
    )


def _reached(reading: StockReading) -> str:
    begun = [one.tier for one in reading.tiers if one.begins]
    if not begun:
        return ""
    return _("Cover is below {days} days: tier '{tier}' applies, if {owner} says so.").format(
        days=decimal_words(f"{begun[-1].below_days:g}"), tier=begun[-1].name, owner=begun[-1].owner
    )


def _others_words(others: Sequence[StockReading]) -> str:
    said = [one for one in others if one.state is StockState.SAID]
    words = [_("{name} until about {day}").format(name=one.item.name, day=_middle(one)) for one in said]
    if len(said) < len(others):
        missing = len(others) - len(said)
        words.append(
            ngettext("{count} item cannot be said", "{count} items cannot be said", missing).format(count=missing)
        )
    return _("Beside it: {items}.").format(items="; ".join(words))


def _middle(reading: StockReading) -> str:
    if reading.as_now is None or reading.as_now.middle is None:
        return _("beyond {days} days").format(days=reading.policy.ahead_days)
    return day_words(reading.as_now.middle)


def _figures(readings: Sequence[StockReading]) -> tuple[Figure, ...]:
    found: list[Figure] = []
    for number, one in enumerate(readings, start=1):
        if one.state is not StockState.SAID or one.demand is None or one.as_now is None:
            continue
        found += [
            Figure(key=f"left_{number}", label=_("{name}: there now").format(name=one.item.name), value=one.left,
                   unit="bottles", definition=_("last count, less what was used and plus what came since")),
            Figure(key=f"use_{number}", label=_("{name}: used a day").format(name=one.item.name),
                   value=round(one.demand.mean, 2), unit="bottles",
                   note=_("variance {variance}").format(variance=decimal_words(f"{one.demand.variance:.1f}"))),
            Figure(key=f"cover_{number}", label=_("{name}: days of cover").format(name=one.item.name),
                   value=None if one.cover_days is None else round(one.cover_days, 1), unit="days",
                   note="" if one.cover_days is not None else _("none is used")),
        ]  # fmt: skip
        if one.before_delivery is not None:
            found.append(Figure(
                key=f"before_delivery_{number}",
                label=_("{name}: chance of running out before the next delivery").format(name=one.item.name),
                value=one.before_delivery, unit="proportion", method=_("negative binomial demand, day by day, exact"),
            ))  # fmt: skip
    return tuple(found)


def _cautions(readings: Sequence[StockReading], detected: int | None) -> tuple[str, ...]:
    found = [
        _(
            "Scenario, not a forecast: days are taken to be alike and independent. A holiday, an outbreak or another "
            "ward's order changes it; count again every week."
        )
    ]
    for one in readings:
        if one.recent is not None and abs(one.recent - 1) >= _CHANGED:
            words = _("{name}: the last two weeks used {share} of what was used before; the day moves with it.")
            found.append(words.format(name=one.item.name, share=share_words(one.recent, 0)))
    if any(one.tiers for one in readings):
        found += [
            _("Fewer cultures are a clinical decision: no tier applies unless its clinical owner has said so."),
            missed_words(readings[0], detected),
        ]
        found += [
            _("Tier '{tier}' is not approved for today; it may not be used.").format(tier=one.tier.name)
            for one in readings[0].tiers
            if not one.in_date
        ]
    return tuple(found)


def _checks(reading: StockReading) -> tuple[Check, ...]:
    item = reading.item
    if item.counted_on is None:
        words = _("{name}: not counted.").format(name=item.name)
        return (Check(key="counted", passed=False, words=words),)
    words = _("{name}: {count} counted on {day}.").format(
        name=item.name, count=grouped_words(item.counted or 0), day=day_words(item.counted_on)
    )
    good = reading.state not in (StockState.COUNT_OLD, StockState.DISAGREES)
    return (Check(key="counted", passed=good, words=words),)


def _table(readings: Sequence[StockReading]) -> AnswerTable:
    rows: list[tuple[Cell, ...]] = []
    for one in readings:
        if one.state is not StockState.SAID or one.as_now is None:
            rows.append((one.item.name, _("as now"), None, None, "", "", ""))
            continue
        rows.append((one.item.name, _("as now"), one.left, round(one.demand.mean, 1) if one.demand else None,
                     *run_days(one.as_now)))  # fmt: skip
        rows += tier_rows(one)
    return AnswerTable(
        title=_("Until when"),
        columns=(_("Item"), _("Use"), _("There now"), _("Used a day"), _("Earliest"), _("Likely"), _("Latest")),
        rows=tuple(rows),
    )


def _picture(reading: StockReading, title: str) -> dict[str, Any]:
    return build_stock_picture(reading, title=title) if reading.as_now and reading.demand else {}
