"""The sentence of "is it worth it?": a model, its break-even, its doubt, and the losing case in plain words."""

from __future__ import annotations

from cubital.answers.worth_reading import OptionReading, WorthReading
from cubital.answers.worth_refusal import option_words
from cubital.domain.words import _, decimal_words, grouped_words, share_words


def money_words(value: float, currency: str) -> str:
    """An amount: ``166,790 USD``, ``−86,650 USD``; below 100 with its hundredths unless it is whole."""
    return f"{amount_words(value)} {currency}".rstrip()


def amount_words(value: float) -> str:
    """A number as money is written, without its currency."""
    size = abs(value)
    whole = size >= 100 or abs(size - round(size)) < 0.005
    text = grouped_words(round(size)) if whole else decimal_words(f"{size:.2f}")
    return f"\u2212{text}" if value < 0 and text.strip("0.,") else text


def count_words(value: float) -> str:
    """A count that need not be whole: ``114``, ``57.5``, ``0.4``; one decimal below 100 unless it is whole."""
    size = abs(value)
    shown = round(float(size), 1)
    text = grouped_words(round(size)) if size >= 100 or shown.is_integer() else decimal_words(f"{shown:.1f}")
    return f"\u2212{text}" if value < 0 and shown else text


def runs_words(share: float) -> str:
    """A share of the model's runs out of 100; never all of them, never none of them unless it was so in every run."""
    if 0 < share < 0.01:
        return _("fewer than 1")
    if 0.99 < share < 1:
        return _("more than 99")
    return str(round(100 * share))


def worth_sentence(reading: WorthReading) -> str:
    """What is said aloud: of the option with the highest mean, and one clause on each of the others."""
    first, currency = reading.first, reading.table.currency
    parts = [
        _opening(reading), _averts(first, currency), _breaks_even(first, currency), _chance(first, currency),
        _low_cost(first, currency), _others(reading),
    ]  # fmt: skip
    return " ".join(part for part in parts if part)


def _opening(reading: WorthReading) -> str:
    first = reading.first
    if first.spread.mean < 0 and len(reading.options) > 1:
        return _("A model, not a measurement: on average none of the choices pays.")
    if first.spread.mean < 0 <= first.net:
        return _(
            "A model, not a measurement: on average of its runs {option} loses {loss} a year, though not at the likely "
            "values."
        ).format(option=option_words(first.option), loss=money_words(-first.spread.mean, reading.table.currency))
    if first.net < 0:
        return _("A model, not a measurement: at the likely values {option} loses {loss} a year.").format(
            option=option_words(first.option), loss=money_words(-first.net, reading.table.currency)
        )
    return _("A model, not a measurement.")


def _averts(one: OptionReading, currency: str) -> str:
    words = _(
        "Of {now} contaminated sets a year {option} would avert about {averted} ({low} to {high}), for {cost} a year."
    )
    return words.format(
        now=count_words(one.now), option=option_words(one.option), averted=grouped_words(round(one.averted)),
        low=count_words(round(one.averted_spread.percentile(5))),
        high=count_words(round(one.averted_spread.percentile(95))), cost=money_words(one.cost, currency),
    )  # fmt: skip


def _breaks_even(one: OptionReading, currency: str) -> str:
    if one.even_each is None or one.even_averted is None:
        return ""
    words = _(
        "It breaks even where one contaminated set costs {each}; at the likely {likely} it has to avert {averted},"
    )
    said = words.format(
        each=money_words(one.even_each, currency), likely=money_words(one.each, currency),
        averted=count_words(one.even_averted),
    )  # fmt: skip
    if one.even_risk is None:
        return f"{said} {_('which is more than it covers.')}"
    which = _("which is a relative risk of {risk}.").format(risk=decimal_words(f"{one.even_risk:.2f}"))
    return f"{said} {which}"


def _chance(one: OptionReading, currency: str) -> str:
    words = _("It pays in {runs} of 100 runs of the model; 90 of 100 lie between {low} and {high} a year.")
    return words.format(
        runs=runs_words(one.spread.above_zero), low=amount_words(one.spread.percentile(5)),
        high=money_words(one.spread.percentile(95), currency),
    )  # fmt: skip


def _low_cost(one: OptionReading, currency: str) -> str:
    low, likely = one.cost_ends[0], one.each
    if low == likely:
        return ""
    cost, result = money_words(low, currency), money_words(abs(one.net_low_cost), currency)
    if one.net_low_cost < 0:
        return _("If one costs only {cost}, {option} loses {loss} a year.").format(
            cost=cost, option=option_words(one.option), loss=result
        )
    return _("Even if one costs only {cost}, it is {gain} a year to the good.").format(cost=cost, gain=result)


def _others(reading: WorthReading) -> str:
    others = [one for one in reading.options if one is not reading.first]
    if not others:
        return ""
    clauses = [
        _("{option} {mean} on average, paying in {runs} of 100").format(
            option=option_words(one.option), mean=money_words(one.spread.mean, reading.table.currency),
            runs=runs_words(one.spread.above_zero),
        )
        for one in others
    ]  # fmt: skip
    words = _("Side by side in the same runs: {first} {mean} on average; {others}; doing nothing 0.")
    return words.format(
        first=option_words(reading.first.option), others="; ".join(clauses),
        mean=money_words(reading.first.spread.mean, reading.table.currency),
    )  # fmt: skip


def pilot_words(one: OptionReading) -> str:
    """The stop rule of a half-year pilot; empty where no count could tell."""
    if one.pilot is None:
        return ""
    return _(
        "A funded pilot of six months can decide: stop where {stop} or more of its {sets} covered sets are "
        "contaminated. If it works as is likely, {expected} are expected and the rule stops it by mistake in {good} of "
        "cases; if it does nothing, the rule lets it go on in {idle}."
    ).format(
        stop=grouped_words(one.pilot.stop_at), sets=grouped_words(one.pilot.sets),
        expected=count_words(round(one.pilot.expected)), good=_small_share(one.pilot.stops_good),
        idle=_small_share(one.pilot.goes_on_idle),
    )  # fmt: skip


def _small_share(share: float) -> str:
    return _("fewer than 0.1 %") if share < 0.001 else share_words(share)
