"""The code of a receipt: typed as people type, and no slip goes unnoticed."""

from __future__ import annotations

import pytest

from cubital.domain.receipt_code import ALPHABET, RECEIPT_CODE, build_code, is_sound, read_code

CODE = build_code("the same")


def test_the_same_text_gives_the_same_code_and_another_text_another() -> None:
    assert build_code("the same") == CODE == "R-2YKQ-PGG0-N20S"
    assert build_code("the samf") != CODE


@pytest.mark.parametrize(
    "typed",
    [
        "r-2ykq-pgg0-n20s",
        " R 2YKQ PGG0 N20S ",
        "2YKQPGG0N20S",
        "R-\u20602YKQ-\u2060PGG0-\u2060N20S",
        "R-2YKQ-PGGO-N2OS",
    ],
)
def test_any_case_any_hyphens_and_the_letter_o_for_a_nought_are_read(typed: str) -> None:
    assert read_code(typed) == CODE


@pytest.mark.parametrize("typed", ["", "R-", "R-2YKQ-PGG0", "R-2YKQ-PGG0-N20S-7", "R-2YKQ-PGG0-N2?S", "ten"])
def test_what_is_no_code_is_none(typed: str) -> None:
    assert read_code(typed) is None


def test_every_single_wrong_character_is_noticed() -> None:
    bare = CODE.removeprefix("R-").replace("-", "")
    wrong = [bare[:at] + other + bare[at + 1 :] for at in range(12) for other in ALPHABET if other != bare[at]]
    assert len(wrong) == 12 * 30
    assert not any(is_sound(read_code(one) or "") for one in wrong)


def test_every_two_neighbours_that_were_swapped_are_noticed() -> None:
    bare = build_code("another").removeprefix("R-").replace("-", "")
    swapped = [bare[:at] + bare[at + 1] + bare[at] + bare[at + 2 :] for at in range(11) if bare[at] != bare[at + 1]]
    assert len(swapped) >= 8
    assert not any(is_sound(read_code(one) or "") for one in swapped)


def test_a_code_is_found_in_a_text_and_nothing_else_is() -> None:
    found = RECEIPT_CODE.findall(f"Receipt {CODE}: type it. R-2 and AR-2YKQ are none, R-2YKQ-PGG0-N2 neither.")
    assert found == [CODE]
