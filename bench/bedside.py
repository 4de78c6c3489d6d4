"""What a gloved hand waits for: a plan, a split, a label's place, a card, five sheets."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

from bench.measure import Line, most_memory_mb

DAY = date(2026, 3, 10)


def run(folder: Path, small: bool) -> Iterator[Line]:
    """Each piece of work by itself, after the first call."""
    del small
    from cubital.bedside.answering import answer_plan, answer_split
    from cubital.bedside.label import Stock
    from cubital.bedside.label_answer import LabelRequest, answer_label
    from cubital.bedside.policy_file import example_policy
    from cubital.bedside.volume import Patient
    from cubital.papers import bedside_sheets as sheets
    from cubital.papers.card_page import build_card
    from cubital.papers.label_sheet import print_label_sheet

    policy = replace(example_policy(), approved_by="bench", approved_on=date(2026, 1, 1), review_by=date(2027, 1, 1))
    patient = Patient(weight_kg=6.4, age_months=7, haemoglobin_g_dl=7.1, taken_ml=9)
    request = LabelRequest(stock=Stock(long_mm=50, short_mm=25), accession="5001004711")
    yield _line("one volume plan", lambda: answer_plan(policy, patient, today=DAY), turns=500, under=0.001)
    yield _line("one split", lambda: answer_split(policy, 14, today=DAY), turns=500, under=0.001)
    yield _line(
        "every legal label position, exact", lambda: answer_label(policy, "adult_aerobic", request, today=DAY),
        turns=100, under=0.2,
    )  # fmt: skip

    def five() -> None:
        sheets.print_volume_chart(policy, today=DAY)
        sheets.print_short_draw(policy, today=DAY)
        sheets.print_stop_line(policy, "adult_aerobic", today=DAY)
        sheets.print_badge(policy, today=DAY)
        print_label_sheet(policy, "adult_aerobic", request, today=DAY)

    yield _line("five printed sheets", five, turns=3, under=2.0)
    card = folder / "card.html"
    card.write_text(build_card(policy, today=DAY), encoding="utf-8")
    size = card.stat().st_size / 1000
    yield Line(what=f"the card: {size:.0f} kB", seconds=0, peak_mb=0, target="under 300 kB", met=size < 300)
    yield _throttled(card)


def _line(what: str, work: Callable[[], object], *, turns: int, under: float) -> Line:
    work()
    start = time.perf_counter()
    for _turn in range(turns):
        work()
    seconds = (time.perf_counter() - start) / turns
    words = f"{seconds * 1000:.2f} ms each"
    return Line(
        what=what, seconds=seconds, peak_mb=most_memory_mb(), ratio=words, target=f"under {under * 1000:g} ms",
        met=seconds < under,
    )  # fmt: skip


def _throttled(card: Path) -> Line:
    """How long until the card answers in a browser slowed down six times."""
    import shutil

    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        return Line(what="the card in a slow browser: no Chromium on this computer", seconds=0, peak_mb=0)
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=flags)
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 6})
        page.goto(card.as_uri(), wait_until="load")
        ready = page.evaluate("performance.getEntriesByType('navigation')[0].domInteractive") / 1000
        whole = page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd") / 1000
        browser.close()
    return Line(
        what="the card interactive, processor slowed 6 ×", seconds=whole, peak_mb=0, ratio=f"DOM ready {ready:.2f} s",
        target="under 1 s", met=whole < 1,
    )  # fmt: skip
