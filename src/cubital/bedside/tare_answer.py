"""Can the weights be trusted (question 31): the spread of empty weights carried into one bottle and into a mean."""

from __future__ import annotations

from math import sqrt

from cubital import __version__
from cubital.bedside.fill import BLOOD_DENSITY_G_ML
from cubital.domain.answer import Answer, Figure, Receipt, Verdict
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, decimal_words, ngettext


def answer_tare_doubt(
    *, tare_sd_g: float, bottles: int, shared: bool = False, density_g_ml: float = BLOOD_DENSITY_G_ML
) -> Answer:
    """Can I trust the weights? One bottle and the mean of ``bottles``, from the spread of the empty weights.

    ``RequestProblem`` for a spread that is no weight, no bottle, or a density that is not blood.
    """
    if not 0 <= tare_sd_g < 100:
        raise RequestProblem(_("a spread of the empty weights lies between 0 and 100 g."))
    if bottles < 1:
        raise RequestProblem(_("there is no weighed bottle."), fix=_("Give how many bottles were weighed."))
    if not 0.9 <= density_g_ml <= 1.2:
        raise RequestProblem(_("whole blood weighs about 1.055 g for each mL."))
    one = tare_sd_g / density_g_ml
    mean = one if shared else one / sqrt(bottles)
    return Answer(
        question=_("Can I trust the weights?"), verdict=Verdict.ESTIMATE,
        sentence=_tare_sentence(tare_sd_g, one=one, mean=mean, bottles=bottles, shared=shared),
        figures=(
            Figure(key="one_bottle_sd_ml", label=_("doubt of one bottle (1 SD)"), value=one, unit="mL"),
            Figure(
                key="mean_sd_ml", label=_("doubt of the mean (1 SD)"), value=mean, unit="mL", denominator=bottles,
                method=_("weighing alone, not the variation between draws"),
            ),
        ),
        cautions=(
            _("Empty bottles differed by up to 12 g within a family (J Test Eval 40(4):655): weigh your own lots."),
        ),
        receipt=Receipt(
            data=_("counts"), charter=_("no charter: counts were given ready made"), policy="", code=__version__
        ),
    )  # fmt: skip


def _tare_sentence(tare_sd_g: float, *, one: float, mean: float, bottles: int, shared: bool) -> str:
    said = _("With empty weights that spread by {grams} g (1 SD) one bottle is known to ±{one} mL.").format(
        grams=decimal_words(f"{tare_sd_g:g}"), one=decimal_words(f"{one:.1f}")
    )
    if shared:
        return said + " " + _("The error of one shared tare does not average out: the mean is no better.")
    return said + " " + ngettext(
        "The mean of {count} bottle is known to ±{mean} mL: use weights for means of units, not for single bottles.",
        "The mean of {count} bottles is known to ±{mean} mL: use weights for means of units, not for single bottles.",
        bottles,
    ).format(count=bottles, mean=decimal_words(f"{mean:.2f}"))  # fmt: skip
