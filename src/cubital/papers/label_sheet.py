"""P14: a sheet that wraps round the bottle at true size, a ruler that proves the scale, right and wrong in pictures."""

from __future__ import annotations

from datetime import date
from math import pi
from typing import Any

from cubital.bedside.code128 import module_mm
from cubital.bedside.label_answer import LabelRequest, answer_label, study_label
from cubital.domain.collection import BottleSpec, CollectionPolicy
from cubital.domain.words import _
from cubital.papers.bedside_sheets import must_speak, sheet_of_policy
from cubital.papers.label_drawing import draw_bottle_only, draw_label, drawing_size_mm
from cubital.papers.typeset import PaperSize


def label_picture(policy: CollectionPolicy, bottle_key: str, request: LabelRequest, *, today: date) -> str:
    """The SVG of the best legal position at true size; of the bottle alone where there is none."""
    must_speak(policy, today)
    bottle = policy.bottle(bottle_key)
    study = study_label(policy, bottle_key, request)
    if not study.placement.windows:
        return draw_bottle_only(bottle)
    module = module_mm(policy.label.printer_dpi.value, policy.label.narrow_bar_dots.value)
    return draw_label(bottle, study.placement.windows[0], request.stock, study.symbol, module=module)


def print_label_sheet(
    policy: CollectionPolicy, bottle_key: str, request: LabelRequest, *, today: date, paper: PaperSize = PaperSize.A4
) -> bytes:
    """The sheet as PDF. A policy that may not speak, or a bottle too large for the paper, is a ``PolicyProblem``."""
    must_speak(policy, today)
    bottle = policy.bottle(bottle_key)
    answer = answer_label(policy, bottle_key, request, today=today)
    width, height = drawing_size_mm(bottle)
    data: dict[str, Any] = {
        "sentence": answer.sentence,
        "cautions": [caution for caution in answer.cautions[:2] if "EXAMPLE" not in caution],
        "width": width,
        "height": height,
        "circumference": _("around the bottle: {mm} mm").format(mm=f"{pi * bottle.diameter_mm.value:.1f}"),
        "ruler": _("The ruler must measure 100 mm. At 97 % it fails: do not use this sheet, print at 100 %."),
        "wrap": _("Cut out and wrap round the bottle, the middle of the maker's barcode on the two ends."),
        "right": _("Right: beside the barcode and the scale, text towards the cap"),
        "wrong": _("Wrong: over the maker's barcode or the fill scale, or around the bottle"),
        "small": _small(bottle, request, answer_position=_position(policy, bottle_key, request)),
    }
    pictures = {"label": label_picture(policy, bottle_key, request, today=today)}
    return sheet_of_policy(
        policy, "label_sheet", title=_("Where the label goes"), data=data, today=today, paper=paper, pictures=pictures
    )


def _position(policy: CollectionPolicy, bottle_key: str, request: LabelRequest) -> tuple[float, float] | None:
    windows = study_label(policy, bottle_key, request).placement.windows
    return (windows[0].x_mm, windows[0].y_mm) if windows else None


def _small(bottle: BottleSpec, request: LabelRequest, *, answer_position: tuple[float, float] | None) -> dict[str, Any]:
    """Measures for the small right and wrong drawings, in mm of the bottle."""
    return {
        "turn": pi * bottle.diameter_mm.value,
        "panel": bottle.panel_height_mm.value,
        "long": request.stock.long_mm,
        "short": request.stock.short_mm,
        "right": list(answer_position) if answer_position else [],
        "zones": [
            [zone.centre_mm.value, zone.width_mm.value, zone.bottom_mm.value, zone.height_mm.value]
            for zone in bottle.zones
        ],
    }
