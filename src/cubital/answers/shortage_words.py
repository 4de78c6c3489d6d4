"""What the tiers of a shortage would change, as ranges: days won, and infections that may not be found.

In two published shortages the laboratories received 27 and 49 % fewer cultures, and about 15 % fewer patients with a
pathogen were found (PMID 40929077 and 39136555, read as abstracts). Nothing finer is known, so the range is wide.
"""

from __future__ import annotations

from cubital.answers.stock_reading import RunOut, StockReading
from cubital.domain.answer import Cell
from cubital.domain.words import _, decimal_words, share_words

FEWER_CULTURES = (0.27, 0.49)
FEWER_FOUND = 0.15


def missed_range(saves: tuple[float, float]) -> tuple[float, float]:
    """The share of infections that may not be found if that share of cultures is spared, low to high.

    The published loss in proportion to what was spared: at least by the larger published cut, at most by the smaller.
    """
    low, high = saves
    return low * FEWER_FOUND / FEWER_CULTURES[1], high * FEWER_FOUND / FEWER_CULTURES[0]


def missed_words(reading: StockReading, detected_per_year: int | None) -> str:
    """The range of each tier in one sentence, per month where the laboratory's number is known."""
    said = []
    for one in reading.tiers:
        low, high = missed_range(one.tier.saves)
        if detected_per_year is None:
            words = _("{tier}: {low} to {high}").format(
                tier=one.tier.name, low=share_words(low, 0), high=share_words(high, 0)
            )
        else:
            month = detected_per_year / 12
            words = _("{tier}: {low} to {high} of about {all} a month").format(
                tier=one.tier.name, low=decimal_words(f"{low * month:.1f}"), high=decimal_words(f"{high * month:.1f}"),
                all=decimal_words(f"{month:.0f}"),
            )  # fmt: skip
        said.append(words)
    return _(
        "Infections that may not be found, by two published shortages in which 27 to 49 % fewer cultures found about "
        "15 % fewer infected patients (a model, not a measurement): {tiers}."
    ).format(tiers="; ".join(said))


def tier_rows(reading: StockReading) -> list[tuple[Cell, ...]]:
    """Two rows for every tier: if it saves least, and if it saves most."""
    rows: list[tuple[Cell, ...]] = []
    for one in reading.tiers:
        for share, run in zip(one.tier.saves, (one.least, one.most), strict=True):
            use = round(reading.demand.mean * (1 - share), 1) if reading.demand else None
            label = _("{tier}, {share} fewer").format(tier=one.tier.name, share=share_words(share, 0))
            rows.append((reading.item.name, label, reading.left, use, *run_days(run)))
    return rows


def run_days(run: RunOut) -> tuple[str, str, str]:
    """The three days of a path as cells of a table; empty where one lies beyond the days looked at."""
    early, middle, late = (day.isoformat() if day else "" for day in (run.early, run.middle, run.late))
    return early, middle, late
