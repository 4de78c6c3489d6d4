"""Is it worth it? The decision model's answer: break-evens before means, a range and never one number, losses named."""

from __future__ import annotations

from cubital.answers.worth_inputs import EACH, RISK, SETS, input_label
from cubital.answers.worth_picture import build_swing_picture, swing_labels
from cubital.answers.worth_reading import OptionReading, WorthReading
from cubital.answers.worth_refusal import beside_inputs, option_words
from cubital.answers.worth_tables import swings_table
from cubital.answers.worth_words import pilot_words, worth_sentence
from cubital.domain.answer import Answer, Figure, Receipt, Verdict
from cubital.domain.costs import Origin
from cubital.domain.words import _, grouped_words

LEVEL = 0.9
MOST_KNOWN = 3


def worth_question() -> str:
    """The question as it is asked."""
    return _("Is it worth it?")


def build_worth_answer(reading: WorthReading, *, receipt: Receipt | None = None) -> Answer:
    """The answer for all options; figures and picture are of the one with the highest mean net benefit."""
    sentence = worth_sentence(reading)
    return Answer(
        question=worth_question(),
        verdict=Verdict.ESTIMATE,
        sentence=sentence,
        figures=_figures(reading),
        cautions=_cautions(reading),
        picture=build_swing_picture(reading, reading.first, title=sentence),
        table=swings_table(reading, reading.first),
        receipt=receipt,
    )


def _figures(reading: WorthReading) -> tuple[Figure, ...]:
    one, money = reading.first, reading.table.currency
    return (*_now_figures(one), *_money_figures(reading, one, money), *_even_figures(one, money), *_pilot_figures(one),
            *_knowing_figures(reading, money))  # fmt: skip


def _now_figures(one: OptionReading) -> tuple[Figure, ...]:
    model = _("Model")
    return (
        Figure(key="contaminated_now", label=_("Contaminated now"), value=one.now, unit=_("sets a year"),
               definition=_("sets a year times the contaminated share")),
        Figure(key="averted", label=_("Averted (model)"), value=one.averted, unit=_("sets a year"),
               low=one.averted_spread.percentile(5), high=one.averted_spread.percentile(95), level=LEVEL, method=model,
               definition=_("contaminated now, times the share of draws covered, times 1 minus the relative risk")),
        Figure(key="rate_now", label=_("Contaminated share now"), value=one.rate, unit="proportion"),
        Figure(key="rate_after", label=_("Contaminated share with it (model)"), value=one.rate_after, unit="proportion",
               definition=_("over all sets, covered or not")),
    )  # fmt: skip


def _money_figures(reading: WorthReading, one: OptionReading, money: str) -> tuple[Figure, ...]:
    low, high = (one.cost_spread.percentile(percent) for percent in (5, 95))
    varies = low != high
    return (
        Figure(key="programme_cost", label=_("The programme costs"), value=one.cost, unit=money,
               low=low if varies else None, high=high if varies else None, level=LEVEL if varies else None),
        Figure(key="cost_each", label=_("One contaminated set costs"), value=one.each, unit=money,
               low=one.cost_ends[0], high=one.cost_ends[1], note=_("low to high as given")),
        Figure(key="net_likely", label=_("Net benefit at the likely values (model)"), value=one.net, unit=money),
        Figure(key="net_benefit", label=_("Net benefit, mean of the runs (model)"), value=one.spread.mean, unit=money,
               low=one.spread.percentile(5), high=one.spread.percentile(95), level=LEVEL,
               method=_("{draws} runs of the model, seed {seed}").format(
                   draws=grouped_words(reading.draws), seed=reading.seed)),
        Figure(key="pays", label=_("Pays in so many of the runs (model)"), value=one.spread.above_zero,
               unit="proportion"),
        Figure(key="net_low_cost", label=_("Net benefit where one costs only the low end (model)"),
               value=one.net_low_cost, unit=money),
    )  # fmt: skip


def _even_figures(one: OptionReading, money: str) -> tuple[Figure, ...]:
    never = _("it never breaks even by this alone")
    return (
        Figure(key="even_cost", label=_("Breaks even where one contaminated set costs"), value=one.even_each,
               unit=money, note="" if one.even_each is not None else never,
               definition=_("programme cost over contaminated sets averted, both at their likely values")),
        Figure(key="even_averted", label=_("Breaks even at so many averted"), value=one.even_averted,
               unit=_("sets a year"), note="" if one.even_averted is not None else never),
        Figure(key="even_risk", label=_("Breaks even at a relative risk of"), value=one.even_risk, unit="",
               note="" if one.even_risk is not None else never),
        Figure(key="even_covered", label=_("Breaks even where it covers"), value=one.even_covered, unit="proportion",
               note="" if one.even_covered is not None else never),
    )  # fmt: skip


def _pilot_figures(one: OptionReading) -> tuple[Figure, ...]:
    if one.pilot is None:
        return ()
    return (
        Figure(key="pilot_stop", label=_("Pilot of six months: stop at so many contaminated"),
               value=float(one.pilot.stop_at), unit="", denominator=one.pilot.sets, definition=pilot_words(one)),
        Figure(key="pilot_stops_good", label=_("Chance that the rule stops what works as is likely"),
               value=one.pilot.stops_good, unit="proportion", method=_("exact binomial")),
        Figure(key="pilot_goes_on_idle", label=_("Chance that the rule lets go on what does nothing"),
               value=one.pilot.goes_on_idle, unit="proportion", method=_("exact binomial")),
    )  # fmt: skip


def _knowing_figures(reading: WorthReading, money: str) -> tuple[Figure, ...]:
    labels = swing_labels(reading)
    first = Figure(
        key="knowing_all", label=_("Knowing everything exactly would be worth, a year"), value=reading.knowing_all,
        unit=money, definition=_("mean of the best choice in each run, minus the best mean"),
    )  # fmt: skip
    return (first, *(
        Figure(key=f"knowing_{name}", label=_("Knowing exactly: {name}").format(name=labels[name]), value=value,
               unit=money)
        for name, value in reading.knowing[:MOST_KNOWN]
    ))  # fmt: skip


def _cautions(reading: WorthReading) -> tuple[str, ...]:
    one, table = reading.first, reading.table
    found = [_("All results here are of a model: what is averted and what is saved has not been measured.")]
    if any("wage" in line for line in one.model.structure.programme):
        found.append(
            _("Hours of the staff in which no culture is due are offered as other collections; they are not a saving.")
        )
    found += [
        words
        for words in (pilot_words(one), _leaning_words(one), _harm_words(reading), _assumed_words(reading))
        if words
    ]
    if any(key == "released" for line in one.model.structure.each for key in line):
        found.append(_("Bed-days count only as far as they could really be released."))
    if any("wage" in line and "relief" not in line for line in one.model.structure.programme):
        found.append(_("No relief factor was given: holidays and sick days of the staff are not in the cost."))
    left = beside_inputs(table)
    if left:
        names = "; ".join(dict.fromkeys(input_label(item.key) for item in left))
        found.append(_("Given but not counted: {names}.").format(names=names))
    found.append(_("Finance owns the cost inputs; what a contamination is, the charter says."))
    return tuple(found)


def _leaning_words(one: OptionReading) -> str:
    """Said where the likely values lie outside the range of the runs: the ranges lean far to one side."""
    inside = one.averted_spread.percentile(5) <= one.averted <= one.averted_spread.percentile(95)
    if inside or one.averted_spread.percentile(5) == one.averted_spread.percentile(95):
        return ""
    return _("The likely values are far from the middle of their ranges: 90 of 100 runs lie elsewhere. Look at them.")


def _harm_words(reading: WorthReading) -> str:
    risky = [one for one in reading.inputs if one.key == RISK and one.high > 1]
    if not risky:
        return ""
    return _("The range of the relative risk reaches above 1 for {options}: there it does harm.").format(
        options="; ".join(option_words(one.option) for one in risky)
    )


def _assumed_words(reading: WorthReading) -> str:
    labels = swing_labels(reading)
    by_origin = {
        origin: "; ".join(labels[one.name] for one in reading.inputs if one.origin is origin)
        for origin in (Origin.PUBLISHED, Origin.ASSUMED)
    }
    words = []
    if by_origin[Origin.PUBLISHED]:
        words.append(_("From publications, not from here: {names}.").format(names=by_origin[Origin.PUBLISHED]))
    if by_origin[Origin.ASSUMED]:
        words.append(_("Assumed: {names}.").format(names=by_origin[Origin.ASSUMED]))
    fixed = [labels[one.name] for one in reading.inputs if one.is_fixed and one.key in (SETS, RISK, EACH)]
    if fixed:
        words.append(_("Taken as known, without a range: {names}.").format(names="; ".join(fixed)))
    return " ".join(words)
