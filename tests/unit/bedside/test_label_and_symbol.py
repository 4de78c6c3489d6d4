"""Where the label goes, how long the barcode is. Expected: the story's numbers, the standard's module counts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bedside_cast import APPROVED, TODAY
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.bedside.code128 import build_symbol, module_mm, symbol_length_mm
from cubital.bedside.label import Keepout, Orientation, Panel, Stock, place_label, unroll
from cubital.bedside.label_answer import LabelRequest, answer_label, study_label
from cubital.domain.answer import Verdict
from cubital.domain.errors import RequestProblem

TEN_DIGITS = "5001004711"


def ask(long_mm: float, short_mm: float, accession: str = TEN_DIGITS):
    request = LabelRequest(stock=Stock(long_mm=long_mm, short_mm=short_mm), accession=accession)
    return answer_label(APPROVED, "adult_aerobic", request, today=TODAY)


@pytest.mark.parametrize(
    ("key", "expected", "within"),
    [("centre_arc_mm", 75.1, 0.05), ("centre_degrees", 239, 0.5), ("clear_side_mm", 7.5, 0.05), ("clear_up_mm", 2.5, 0),
     ("symbol_mm", 41.3, 0.05), ("circumference_mm", 113.1, 0.05), ("bend_around_degrees", 80, 0.5)],
)  # fmt: skip
def test_the_only_legal_position_is_the_one_of_the_story(key, expected, within):
    answer = ask(50, 25)
    assert answer.figure(key).value == pytest.approx(expected, abs=within)
    assert len(answer.table.rows) == 1
    assert answer.sentence.startswith("EXAMPLE. Upright, long side along the bottle")


def test_free_arcs_are_those_of_the_story():
    study = study_label(APPROVED, "adult_aerobic", LabelRequest(stock=Stock(long_mm=50, short_mm=25), accession="1"))
    from cubital.bedside.label import free_arcs

    widths = sorted(right - left for left, right in free_arcs(study.panel, bottom=0, top=50))
    assert widths == pytest.approx([21.1, 40.0], abs=0.05)


def test_a_large_stock_has_no_place_and_the_failing_dimension_is_named():
    answer = ask(60, 30)
    assert answer.verdict is Verdict.REFUSED
    assert "60.0 mm of panel height and there are 55.0 mm" in answer.sentence
    assert "50.8 × 25.4 mm" in answer.sentence  # the one cited standard size: CLSI AUTO12, 2 × 1 in


def test_ten_letters_do_not_fit_fifty_millimetres():
    answer = ask(50, 25, accession="ABCDEFGHIJ")
    assert answer.figure("symbol_mm").value == pytest.approx(61.9, abs=0.05)
    assert any("will not fit" in caution for caution in answer.cautions)


def test_a_missing_element_is_named():
    request = LabelRequest(stock=Stock(long_mm=50, short_mm=25), accession="1", elements=("patient name",))
    cautions = answer_label(APPROVED, "adult_aerobic", request, today=TODAY).cautions
    assert any("date of birth" in caution for caution in cautions)


def test_a_label_cannot_have_its_short_side_first():
    with pytest.raises(RequestProblem, match="long side first"):
        Stock(long_mm=25, short_mm=50)


# ISO/IEC 15417: 11 modules per symbol character, 13 for the stop.
@pytest.mark.parametrize(
    ("text", "characters"),
    [("1234567890", 5), ("ABCDEFGHIJ", 10), ("A1234B", 6), ("12345", 4), ("\x01\x02", 2), ("a\x01b", 4)],
)
def test_symbol_length_follows_the_standards_module_count(text, characters):
    assert build_symbol(text).modules == 11 * (1 + characters + 1) + 13


@pytest.mark.parametrize(("dots", "expected"), [(2, 27.5), (3, 41.3)])
def test_ten_digits_on_a_common_printer(dots, expected):
    length = symbol_length_mm(build_symbol("1234567890"), module=module_mm(203, dots), quiet_zone_modules=10)
    assert length == pytest.approx(expected, abs=0.05)


@settings(max_examples=60)
@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=18))
def test_an_independent_reader_reads_our_code_words(text):
    # zxing-cpp decodes a picture drawn from our words by the bar patterns that python-barcode carries.
    import zxingcpp
    from barcode.charsets import code128

    symbol = build_symbol(text)
    bars = "".join(code128.CODES[word] for word in (*symbol.words, symbol.check())) + code128.STOP + "11"
    assert len(bars) == symbol.modules
    row = [255] * 30 + [0 if bar == "1" else 255 for bar in bars for _ in range(3)] + [255] * 30
    picture = np.tile(np.array(row, dtype=np.uint8), (90, 1))
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.Code128)
    assert [entry.text for entry in found] == [text]


@st.composite
def panels(draw):
    turn = draw(st.integers(60, 140))
    zones = []
    for number in range(draw(st.integers(0, 3))):
        left, bottom = draw(st.integers(0, turn - 1)), draw(st.integers(0, 45))
        zones.append(
            Keepout(
                name=str(number), left=left, right=left + draw(st.integers(3, 40)), bottom=bottom,
                top=bottom + draw(st.integers(3, 40)),
            )
        )  # fmt: skip
    return Panel(circumference_mm=turn, height_mm=draw(st.integers(30, 60)), zones=tuple(zones))


def legal_by_trying(panel: Panel, *, arc: float, height: float) -> set[tuple[int, int]]:
    """Every centre on a grid whose rectangle touches no zone, checked directly on the unrolled surface."""
    found = set()
    for cx in range(int(panel.circumference_mm)):
        for cy in range(int(panel.height_mm) + 1):
            if height / 2 <= cy <= panel.height_mm - height / 2 and not any(
                zone.bottom < cy + height / 2
                and zone.top > cy - height / 2
                and any(
                    zone.left + turn < cx + arc / 2 and zone.right + turn > cx - arc / 2
                    for turn in (-panel.circumference_mm, 0, panel.circumference_mm)
                )
                for zone in panel.zones
            ):
                found.add((cx, cy))
    return found


@settings(max_examples=80)
@given(panel=panels(), long_mm=st.integers(10, 40), short_mm=st.integers(5, 10))
def test_every_window_holds_exactly_the_positions_found_by_trying(panel, long_mm, short_mm):
    placement = place_label(panel, Stock(long_mm=long_mm, short_mm=short_mm), largest_bend_degrees=360)
    upright = [window for window in placement.windows if window.orientation is Orientation.UPRIGHT]
    turn = panel.circumference_mm
    covered = {
        (cx, cy)
        for cx in range(int(turn))
        for cy in range(int(panel.height_mm) + 1)
        for window in upright
        if min((cx - window.x_mm) % turn, (window.x_mm - cx) % turn) <= window.clear_side_mm + 1e-9
        and abs(cy - window.y_mm) <= window.clear_up_mm + 1e-9
    }
    assert covered == legal_by_trying(panel, arc=short_mm, height=long_mm)


def test_the_policys_bottle_unrolls_to_its_circumference():
    panel = unroll(replace(APPROVED.bottle("adult_aerobic"), zones=()))
    assert panel.circumference_mm == pytest.approx(113.1, abs=0.05)
    assert panel.zones == ()
