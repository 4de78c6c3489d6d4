"""How a quantity is written on a page: as exactly as in the sentence above it."""

from __future__ import annotations

import pytest

from cubital.web.answer_words import quantity_words


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (0.4, "ratio", "0.40"),  # an odds ratio of 0.40 (0.28 to 1.13) keeps two decimals at both ends
        (1.134, "ratio", "1.13"),
        (22.4, "ml", "22.4 mL"),
        (57.5, "sets", "57.5 sets"),
        (1457.2, "USD", "1,457 USD"),
        (0.0123, "per_1000", "0.012 per 1,000"),
        (30.0, "bottles", "30 bottles"),
    ],
)
def test_a_quantity_keeps_the_digits_that_its_sentence_has(value, unit, words):
    assert quantity_words(value, unit) == words
