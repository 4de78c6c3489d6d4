"""Papers for ward wall, trolley and badge, from an approved policy: volumes, short draws, stop lines, order of steps.

Nothing is printed from a draft or an expired policy: a sheet on a wall outlives the day on which it was true.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from cubital.bedside.fill import level_mm, tilt_error_ml
from cubital.bedside.permission import deferral, why_silent
from cubital.bedside.split import Room, split_volume
from cubital.bedside.volume import child_bottles, floor_tenth
from cubital.domain.collection import BottleSpec, ChildVolumes, CollectionPolicy, SkinRule, WeightBand
from cubital.domain.errors import PolicyProblem
from cubital.domain.words import _, decimal_words
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

LARGEST_DRAW_ML = 20
TYPE_SIZES = (12, 11, 10, 9, 8)  # points; below eight nobody reads a wall
MONTHS_A_YEAR = 12


def must_speak(policy: CollectionPolicy, today: date) -> None:
    """Raises ``PolicyProblem`` where the policy may not speak on that day."""
    if silent := why_silent(policy, today):
        raise PolicyProblem(silent, where=policy.name, fix=_("Have it approved, then print."))


def number_words(value: float) -> str:
    """A value without idle zeros, with the language's decimal sign."""
    return decimal_words(f"{value:g}")


def sheet_of_policy(
    policy: CollectionPolicy, template: str, *, title: str, data: dict[str, Any], today: date, paper: PaperSize,
    pictures: dict[str, str] | None = None,
) -> bytes:  # fmt: skip
    """A page of the policy in the largest type that fits on one sheet, with its example mark and its deference."""
    must_speak(policy, today)
    common = {
        "heading": title,
        "example": _("EXAMPLE of an invented hospital: not for patients") if policy.example else "",
        "deferral": deferral(policy),
    }
    for size in TYPE_SIZES:
        sheet = Sheet(
            template=template, title=f"{title} – {policy.name}", data=common | data | {"size": size}, made_on=today,
            paper=paper, pictures=pictures or {},
        )  # fmt: skip
        try:
            return typeset(sheet)
        except PageTooLong:
            continue
    raise PolicyProblem(
        _("this policy has too many lines for one readable sheet."),
        where=policy.name,
        fix=_("Shorten names and steps, or print from a policy with fewer bands."),
    )


def print_volume_chart(policy: CollectionPolicy, *, today: date, paper: PaperSize = PaperSize.A4) -> bytes:
    """P12: the local table by weight band, the caps, the bottles, units spelled out."""
    must_speak(policy, today)
    child = policy.child
    rules = _child_rules(policy)
    data = {
        "bands_head": [
            _("Child's weight in kilograms (kg)"),
            _("Total for culture, millilitres (mL)"),
            _("Never more in one draw, mL"),
            _("Into"),
        ],
        "bands": [_band_row(policy, child, band) for band in child.bands] if child else [],
        "rules_title": _("Never more than"),
        "rules": rules,
        "bottles_head": [_("Bottle"), _("From, mL"), _("To, mL")],
        "bottles": [_bottle_row(bottle) for bottle in policy.bottles],
        "adult": _("Adults: {sets} sets, each {aerobic} and {anaerobic}; at most {cap} mL in 24 hours.").format(
            sets=number_words(policy.adult.sets.value),
            aerobic=policy.bottle(policy.adult.aerobic).name,
            anaerobic=policy.bottle(policy.adult.anaerobic).name,
            cap=number_words(policy.adult.day_cap_ml.value),
        ),
        "warning": _(
            "Weigh in kilograms. Ask in which unit the haemoglobin is. Where the limit is below the total, and outside "
            "this table: no number, ask."
        ),
    }
    return sheet_of_policy(
        policy, "volume_chart", title=_("How much blood for culture"), data=data, today=today, paper=paper
    )


def _band_row(policy: CollectionPolicy, child: ChildVolumes, band: WeightBand) -> list[str]:
    """One band: weights, total, the single-draw limit at both ends, and the bottle that the card would choose."""
    per_kg = min(entry.ml_per_kg.value for entry in child.blood_volumes)
    share = child.single_draw_share.value
    lightest, heaviest = (floor_tenth(edge.value * per_kg * share) for edge in (band.from_kg, band.to_kg))
    return [
        _range_words(band.from_kg.value, band.to_kg.value, words=_("{low} to below {high}")),
        _range_words(band.total_low_ml.value, band.total_high_ml.value, words=_("{low} to {high}")),
        _range_words(lightest, heaviest, words=_("{low} to {high}")),
        _bottle_words(policy, child, band),
    ]


def _range_words(low: float, high: float, *, words: str) -> str:
    return number_words(low) if low == high else words.format(low=number_words(low), high=number_words(high))


def _bottle_words(policy: CollectionPolicy, child: ChildVolumes, band: WeightBand) -> str:
    """The bottles that a total of this band reaches, chosen as the plan chooses them."""
    totals = (band.total_low_ml.value, band.total_high_ml.value)
    if totals[1] > band.one_bottle_up_to_ml.value:
        return _("aerobic first, then anaerobic")
    names: list[str] = []
    for total in totals:
        chosen = child_bottles(policy, child, (), total=total, single=True)
        names += [bottle.name for bottle in chosen if bottle.name not in names]
    return _(" or ").join(_("one {bottle}").format(bottle=name) for name in names)


def _child_rules(policy: CollectionPolicy) -> list[str]:
    child = policy.child
    if child is None:
        return [_("This policy has no table for children.")]
    volumes = ", ".join(
        _("{ml} mL for each kg").format(ml=number_words(band.ml_per_kg.value)) for band in child.blood_volumes
    )
    return [
        _("{share} % of the blood volume in a single draw").format(
            share=number_words(100 * child.single_draw_share.value)
        ),
        _("{share} % of the blood volume in 24 hours, everything taken added up").format(
            share=number_words(100 * child.day_share.value)
        ),
        _("Haemoglobin below {grams} g/dL: {factor} times the single draw, and discuss with the clinician").format(
            grams=number_words(child.anaemia_below_g_dl.value), factor=number_words(child.anaemia_factor.value)
        ),
        _("Blood volume is estimated as {volumes}").format(volumes=volumes),
    ]


def _bottle_row(bottle: BottleSpec) -> list[str]:
    return [bottle.name, number_words(bottle.minimum_ml.value), number_words(bottle.maximum_ml.value)]


def print_short_draw(policy: CollectionPolicy, *, today: date, paper: PaperSize = PaperSize.A4) -> bytes:
    """P13: millilitres obtained, and what goes where, from 1 to 20 mL."""
    must_speak(policy, today)
    pair = (policy.bottle(policy.adult.aerobic), policy.bottle(policy.adult.anaerobic))
    data = {
        "head": [_("You got, mL"), _("aerobic, mL"), _("anaerobic, mL"), _("not used, mL")],
        "rows": [_split_row(pair, got) for got in range(1, LARGEST_DRAW_ML + 1)],
        "short": _("* below this bottle's minimum: send it, write the volume on it, tell the laboratory"),
        "rule": _("Never above a maximum. Never two useless halves."),
    }
    return sheet_of_policy(
        policy, "short_draw", title=_("I only got so much: what goes where?"), data=data, today=today, paper=paper
    )


def _split_row(pair: Sequence[BottleSpec], got: int) -> list[str]:
    split = split_volume(got, [Room(minimum_ml=b.minimum_ml.value, maximum_ml=b.maximum_ml.value) for b in pair])
    aerobic, anaerobic = (number_words(amount) for amount in split.amounts_ml)
    mark = "*" if split.short else ""
    return [str(got), aerobic + mark, anaerobic, number_words(split.unused_ml) if split.unused_ml else "–"]


def print_stop_line(
    policy: CollectionPolicy, bottle_key: str, *, today: date, paper: PaperSize = PaperSize.A4
) -> bytes:
    """P15: strips to cut out and stick on, with a line for every millilitre at its true height for this bore."""
    must_speak(policy, today)
    bottle = policy.bottle(bottle_key)
    bore = bottle.bore_mm.value
    most = int(bottle.maximum_ml.value)
    data = {
        "bottle": bottle.name,
        "bore": _("inner diameter {bore} mm").format(bore=number_words(bore)),
        "lines": [{"ml": ml, "mm": level_mm(ml, bore_mm=bore)} for ml in range(most + 1)],
        "minimum": bottle.minimum_ml.value,
        "how": [
            _("Check the ruler: it must measure 100 mm. If not, do not use this sheet."),
            _("Cut a strip out. Stand the bottle upright. Put the zero line at the level of the fluid."),
            _("Fill to your line with the bottle upright. Tilted by 10 degrees one edge misleads by {ml} mL.").format(
                ml=decimal_words(f"{tilt_error_ml(bore, tilt_degrees=10):.1f}")
            ),
        ],
        "ruler": _("100 mm when printed at 100 %"),
    }
    return sheet_of_policy(policy, "stop_line", title=_("Where to stop"), data=data, today=today, paper=paper)


def print_badge(policy: CollectionPolicy, *, today: date, paper: PaperSize = PaperSize.A4) -> bytes:
    """P16: the order of steps, the times and the telephone numbers, on a card the size of a badge."""
    must_speak(policy, today)
    adult = next(
        (rule for rule in policy.skin if rule.from_months.value <= 18 * MONTHS_A_YEAR < rule.to_months.value), None
    )
    data = {
        "steps": _badge_steps(policy, adult),
        "telephones": list(policy.telephone_numbers),
        "telephones_title": _("Ask"),
    }
    return sheet_of_policy(
        policy, "badge", title=_("Blood for culture: the order"), data=data, today=today, paper=paper
    )


def _badge_steps(policy: CollectionPolicy, skin: SkinRule | None) -> list[str]:
    tops = policy.bottle_tops
    aerobic = policy.bottle(policy.adult.aerobic)
    return [
        _("Two identifiers. Explain. Hands."),
        _("Bottle tops: {agent}, rub {rub} s, dry {dry} s.").format(
            agent=tops.agent, rub=number_words(tops.friction_s.value), dry=number_words(tops.dry_s.value)
        ),
        _("Skin: rub {rub} s, dry {dry} s. Do not touch again.").format(
            rub=number_words(skin.friction_s.value), dry=number_words(skin.dry_s.value)
        )
        if skin
        else _("Skin: see the policy."),
        _("{low} to {high} mL in the aerobic bottle; upright, stop at your line.").format(
            low=number_words(aerobic.minimum_ml.value), high=number_words(aerobic.maximum_ml.value)
        ),
        _("Second set, second site."),
        _("Label at the bedside; leave the maker's barcode and the fill scale free."),
        _("To the laboratory within {hours} hours. {storage}").format(
            hours=number_words(policy.transport.receipt_limit_min.value / 60), storage=policy.transport.storage
        ),
    ]
