"""A hospital brings its policy, approves it, and from then on the bedside has its card, papers and label."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe

from cubital.bedside.policy_file import EXAMPLE_SOURCE, example_policy, write_policy

pytestmark = pytest.mark.browser

LABEL = "/bedside/label?bottle=adult_aerobic&long_mm=50&short_mm=25&accession=5001004711"
PAGES = ["/bedside", LABEL, "/bedside/label?bottle=", "/bedside/policy/approve/1", "/bedside/weigh", "/bedside/card"]


@pytest.fixture(scope="module", autouse=True)
def with_a_policy(visit, served, tmp_path_factory):
    """The hospital's own policy, brought and approved by the page."""
    text = write_policy(replace(example_policy(), name="Marrowby policy", example=False))
    file = tmp_path_factory.mktemp("policy") / "own policy.toml"
    file.write_text(text.replace(EXAMPLE_SOURCE, "laboratory and pharmacy, minutes of January"), encoding="utf-8")
    tab = visit.new_page()
    tab.goto(f"{served.base}/bedside")
    assert "nobody has approved this policy yet" in tab.inner_text("h1")
    tab.set_input_files("input[type=file]", file)
    tab.get_by_role("button", name="Keep as a draft").click()
    tab.get_by_label("Approved by").fill("Ines Quay, pharmacy and laboratory")
    day = date.today()  # noqa: DTZ011
    tab.get_by_label("Approved on").fill(day.isoformat())
    tab.get_by_label("Looked at again by").fill((day + timedelta(days=200)).isoformat())
    tab.get_by_role("button", name="Approve").click()
    tab.get_by_role("link", name="Open the card").wait_for()
    tab.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_no_bedside_page_has_a_finding(page, served, scheme, width):
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)
    found = {}
    for address in PAGES:
        page.goto(served.base + address)
        said = Axe().run(page).response["violations"] if address != "/bedside/card" else []
        found[address] = [f"{one['id']}: {[node['html'][:120] for node in one['nodes'][:3]]}" for one in said]
    assert {address: said for address, said in found.items() if said} == {}


@pytest.mark.parametrize("width", [1280, 390, 320])
def test_no_bedside_page_is_wider_than_the_screen(page, served, width):
    page.set_viewport_size({"width": width, "height": 900})
    for address in PAGES:
        page.goto(served.base + address)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, address


def test_the_served_card_answers_like_the_file(page, served):
    page.goto(f"{served.base}/bedside/card")
    page.fill("#weight", "6.4")
    page.click('label:has(input[value="kg"])')
    page.fill("#age", "7")
    page.click('label:has(input[value="months"])')
    page.fill("#taken", "9")
    page.click("button.main")
    assert page.text_content("#plan-result .say") == "Plan up to 6 mL in total: one standard aerobic bottle."


def test_the_true_size_sheet_and_the_card_come_as_files(page, served):
    page.goto(served.base + LABEL)
    with page.expect_download() as sheet:
        page.get_by_role("link", name="True-size sheet, Letter").click()
    page.goto(f"{served.base}/bedside")
    with page.expect_download() as card:
        page.get_by_role("link", name="The card as a file").click()
    assert sheet.value.suggested_filename == "label-position.pdf"
    assert card.value.suggested_filename == "bedside-card.html"


def test_nothing_went_elsewhere_and_nobody_complained(served):
    assert served.foreign() == []
    assert [words for words in served.complaints if "400" not in words] == []
