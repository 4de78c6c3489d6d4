"""Where the label goes, as an answer (questions 37 and 38): position, clearances, what fails, which stock, symbol."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cubital.bedside.answering import policy_receipt, refused
from cubital.bedside.code128 import Symbol, build_symbol, module_mm, symbol_length_mm
from cubital.bedside.label import (
    Obstacle,
    Orientation,
    Panel,
    Placement,
    Stock,
    Window,
    bend_degrees,
    best_stock,
    place_label,
    unroll,
)
from cubital.bedside.permission import marked, policy_cautions, why_silent
from cubital.domain.answer import Answer, AnswerTable, Figure, Verdict
from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _, decimal_words

# Sizes to propose when a stock has no legal position. The first is the one standard size for specimen labels
# (50.8 × 25.4 mm, CLSI AUTO12); the rest are common rolls (common practice, no source).
PROPOSED_STOCKS = tuple(
    Stock(long_mm=long, short_mm=short)
    for long, short in ((50.8, 25.4), (50, 25), (45, 25), (45, 20), (38, 25), (38, 19))
)


@dataclass(frozen=True, kw_only=True)
class LabelRequest:
    """What is to be printed: the stock, the accession in the symbol, and the elements that stand on the label."""

    stock: Stock
    accession: str
    elements: tuple[str, ...] | None = None  # none: not checked


@dataclass(frozen=True, kw_only=True)
class LabelStudy:
    """Everything found about one label on one bottle; lengths in mm."""

    panel: Panel
    placement: Placement
    symbol: Symbol
    symbol_mm: float
    symbol_fits: bool
    suggestion: Stock | None
    missing_elements: tuple[str, ...]


def study_label(policy: CollectionPolicy, bottle_key: str, request: LabelRequest) -> LabelStudy:
    """Positions, symbol and missing elements for one label on one bottle of the policy."""
    rule = policy.label
    panel = unroll(policy.bottle(bottle_key))
    limit = rule.largest_bend_degrees.value
    placement = place_label(panel, request.stock, largest_bend_degrees=limit)
    symbol = build_symbol(request.accession)
    module = module_mm(rule.printer_dpi.value, rule.narrow_bar_dots.value)
    length = symbol_length_mm(symbol, module=module, quiet_zone_modules=rule.quiet_zone_modules.value)
    suggestion = None if placement.windows else best_stock(panel, PROPOSED_STOCKS, largest_bend_degrees=limit)
    on_label = rule.elements if request.elements is None else request.elements
    have = {element.casefold() for element in on_label}
    return LabelStudy(
        panel=panel,
        placement=placement,
        symbol=symbol,
        symbol_mm=length,
        symbol_fits=length <= request.stock.long_mm,
        suggestion=suggestion,
        missing_elements=tuple(element for element in rule.elements if element.casefold() not in have),
    )


def answer_label(policy: CollectionPolicy, bottle_key: str, request: LabelRequest, *, today: date) -> Answer:
    """Where this label goes on this bottle, or which dimension fails and which stock would do."""
    question = _("Where does the label go?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    study = study_label(policy, bottle_key, request)
    figures = _symbol_figures(study, request)
    cautions = (*_label_cautions(study, request), *policy_cautions(policy))
    if not study.placement.windows:
        nowhere = marked(policy, _nowhere(study))
        return Answer(
            question=question, verdict=Verdict.REFUSED, sentence=nowhere, figures=figures, cautions=cautions,
            table=_obstacle_table(study.placement.obstacles), receipt=policy_receipt(policy),
        )  # fmt: skip
    window = study.placement.windows[0]
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(policy, _where(window, study.panel)),
        figures=(*_window_figures(window, study.panel), *figures),
        cautions=cautions,
        table=_window_table(study.placement.windows, study.panel),
        receipt=policy_receipt(policy),
    )


def mm_words(length: float) -> str:
    """A length as ``75.1 mm``."""
    return f"{decimal_words(f'{length:.1f}')} mm"


def _where(window: Window, panel: Panel) -> str:
    how = {
        Orientation.UPRIGHT: _("Upright, long side along the bottle, patient name readable with the cap up"),
        Orientation.HORIZONTAL: _("Around the bottle, patient name readable with the cap up"),
    }[window.orientation]
    return _(
        "{how}: centre {x} of arc ({angle}°) to the right of the middle of the maker's barcode, {side} clear each "
        "side, {up} above and below."
    ).format(
        how=how,
        x=mm_words(window.x_mm),
        angle=f"{window.angle_degrees(panel.circumference_mm):.0f}",
        side=mm_words(window.clear_side_mm),
        up=mm_words(window.clear_up_mm),
    )


def _nowhere(study: LabelStudy) -> str:
    stock = study.placement.stock
    reasons = "; ".join(_obstacle_words(obstacle) for obstacle in study.placement.obstacles)
    sentence = _("No legal position for a label of {long} × {short} mm: {reasons}.").format(
        long=f"{stock.long_mm:g}", short=f"{stock.short_mm:g}", reasons=reasons
    )
    if study.suggestion is not None:
        sentence += " " + _("A stock of {long} × {short} mm has one.").format(
            long=f"{study.suggestion.long_mm:g}", short=f"{study.suggestion.short_mm:g}"
        )
    return sentence


def _obstacle_words(obstacle: Obstacle) -> str:
    how = _("upright") if obstacle.orientation is Orientation.UPRIGHT else _("around")
    if obstacle.dimension == "bend":
        return _("{how} it would bend {needs}° each side, more than {has}°").format(
            how=how, needs=f"{obstacle.needs:.0f}", has=f"{obstacle.has:.0f}"
        )
    what = _("of panel height") if obstacle.dimension == "height" else _("of free arc")
    return _("{how} it needs {needs} {what} and there are {has}").format(
        how=how, needs=mm_words(obstacle.needs), what=what, has=mm_words(obstacle.has)
    )


def _label_cautions(study: LabelStudy, request: LabelRequest) -> tuple[str, ...]:
    said = []
    if not study.symbol_fits:
        said.append(
            _("The barcode needs {needs} and the label is {has} long: it will not fit.").format(
                needs=mm_words(study.symbol_mm), has=mm_words(request.stock.long_mm)
            )
        )
    if study.missing_elements:
        said.append(_("Missing on the label: {elements}.").format(elements=", ".join(study.missing_elements)))
    said.append(_("Leave the maker's barcode and the fill scale free. Check the scan on the laboratory's own reader."))
    return tuple(said)


def _length(key: str, label: str, value: float, unit: str = "mm") -> Figure:
    return Figure(key=key, label=label, value=round(value, 3), unit=unit)


def _symbol_figures(study: LabelStudy, request: LabelRequest) -> tuple[Figure, ...]:
    around = bend_degrees(request.stock.long_mm, study.panel.circumference_mm)
    return (
        _length("symbol_mm", _("barcode with quiet zones"), study.symbol_mm),
        _length("symbol_modules", _("barcode modules, start to stop"), study.symbol.modules, "modules"),
        _length("circumference_mm", _("around the bottle"), study.panel.circumference_mm),
        _length("bend_around_degrees", _("bend each side if laid around"), around, "degrees"),
    )


def _window_figures(window: Window, panel: Panel) -> tuple[Figure, ...]:
    return (
        _length("centre_arc_mm", _("centre, along the arc"), window.x_mm),
        _length("centre_degrees", _("centre, as an angle"), window.angle_degrees(panel.circumference_mm), "degrees"),
        _length("centre_height_mm", _("centre, above the panel's lower edge"), window.y_mm),
        _length("clear_side_mm", _("clear each side"), window.clear_side_mm),
        _length("clear_up_mm", _("clear above and below"), window.clear_up_mm),
    )


def _window_table(windows: Sequence[Window], panel: Panel) -> AnswerTable:
    return AnswerTable(
        title=_("Every legal position"),
        columns=(
            _("how"), _("centre, mm of arc"), _("angle"), _("height, mm"), _("clear each side, mm"), _("clear up, mm"),
        ),
        rows=tuple(
            (
                window.orientation.value, round(window.x_mm, 1), round(window.angle_degrees(panel.circumference_mm)),
                round(window.y_mm, 1), round(window.clear_side_mm, 1), round(window.clear_up_mm, 1),
            )
            for window in windows
        ),
    )  # fmt: skip


def _obstacle_table(obstacles: Sequence[Obstacle]) -> AnswerTable:
    return AnswerTable(
        title=_("What fails"),
        columns=(_("how"), _("dimension"), _("needs"), _("has")),
        rows=tuple((o.orientation.value, o.dimension, round(o.needs, 1), round(o.has, 1)) for o in obstacles),
    )
