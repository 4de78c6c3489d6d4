"""The page of odd organisms for everyone: no finding of axe-core, nothing wider than the screen, by keyboard."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("with_a_file")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_has_no_finding_and_fits(page, served, scheme, width):
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)
    for address in ("/clusters", "/clusters?organism=Bacilus", "/clusters?organism=Staphylococcus"):
        page.goto(served.base + address)
        page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
        found = [one["id"] for one in Axe().run(page).response["violations"]]
        assert (address, found) == (address, [])
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_list_of_lots_goes_in_by_the_page(page, served, tmp_path):
    file = tmp_path / "lots.csv"
    file.write_text("item,lot,facility,unit,from,to\ngauze,G-114,Marrowby General,ED,2025-10-01,\n")
    page.goto(f"{served.base}/clusters")
    page.get_by_label("List of lots").set_input_files(file)
    page.get_by_role("button", name="Take the list in").click()
    page.get_by_text("One stay of a lot is noted.").wait_for()


def test_the_month_leads_to_the_page(page, served):
    page.goto(f"{served.base}/month")
    page.get_by_role("link", name="Odd organisms").click()
    page.wait_for_url("**/clusters")
