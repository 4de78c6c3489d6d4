"""Pages for everyone: no finding of axe-core (WCAG 2.2 rules and best practice), light and dark, wide and on a phone;
nothing wider than the screen; everything by keyboard; readable at twice the size; working without scripts.
"""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("with_a_file")]

MONTH = "place=Marrowby+General&month=2025-11"
PAGES = [
    "/month", f"/month?{MONTH}", f"/month/sets?{MONTH}", "/counts", "/files", "/files/batch/1",
    "/files/units", "/charter",
    "/charter/moves?first=a_one_of_several_all_sets&second=d_any_commensal", "/charter/edit", "/charter/1", "/policy",
    "/policy/edit", "/policy/approve/1", "/policy/compare", "/no/such/page", "/doubtful",
    "/costs/stock", "/costs/coverage", "/look-closer", "/clusters", "/people",
    "/again", "/charter/reconcile",
    "/diary", "/steps", "/steps/compare", "/steps/hours", "/costs/missed", "/costs/drivers", "/costs", "/costs/each",
    "/did-it-work", "/did-it-work/table", "/did-it-work/attended",
    "/papers", "/papers/pack", "/papers/actions",
    "/did-it-work/trial",
]  # fmt: skip


def findings(page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {one['help']} {[node['html'][:120] for node in one['nodes'][:3]]}" for one in found]


WIDTHS = (1280, 640, 390, 320)  # 640 is 1280 at twice the size


@pytest.mark.parametrize("address", PAGES)
def test_no_page_has_a_finding_or_is_wider_than_the_screen(page, served, address):
    """Opened once, looked at in every width and read by axe wide in the light and narrow in the dark."""
    page.emulate_media(reduced_motion="reduce")  # colours change at once with the light, not over a moment
    page.goto(served.base + address)
    wider = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        wider += [width] if page.evaluate("document.documentElement.scrollWidth") > width else []
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    found = {}
    for width, scheme in ((1280, "light"), (390, "dark")):
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        found[width, scheme] = findings(page)
    assert {how: said for how, said in found.items() if said} == {}
    assert wider == []


def test_the_page_of_a_waiting_file_has_no_finding(page, served, story_files):
    page.goto(f"{served.base}/files")
    page.set_input_files("input[type=file]", story_files / "thistlecombe.csv")
    page.get_by_label("Hospital", exact=True).fill("Thistlecombe Community")
    page.get_by_label("Time zone of the hospital's clocks").fill("America/Chicago")
    page.get_by_role("button", name="Look at this file").click()
    page.get_by_role("button", name="Use this file").wait_for()
    assert findings(page) == []
    page.get_by_role("button", name="Send it back").click()


def test_complaints_of_a_form_have_no_finding_and_are_tied_to_their_fields(page, served):
    page.goto(f"{served.base}/files")
    page.get_by_role("button", name="Look at this file").click()
    assert findings(page) == []
    field = page.get_by_label("Hospital", exact=True)
    described = field.get_attribute("aria-describedby").split()
    assert "Please write the hospital's name." in " ".join(page.locator(f"#{one}").inner_text() for one in described)


def test_the_closed_door_has_no_finding(chromium, served):
    context = chromium.new_context()
    tab = context.new_page()
    tab.goto(f"{served.base}/month")
    assert "Open the link from the window where Cubital was started." in tab.inner_text("h1")
    assert findings(tab) == []
    context.close()


def test_the_month_is_reached_and_changed_by_keyboard_alone(page, served):
    page.goto(f"{served.base}/month?place=&month=2025-11")
    page.goto(f"{served.base}/policy")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent").strip() == "Skip to the page"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent").strip() == "This month"
    page.keyboard.press("Enter")
    page.wait_for_url("**/month")
    go_to(page, "change")
    page.keyboard.press("Enter")
    go_to(page, "All hospitals together")
    page.keyboard.press("M")
    go_to(page, "Show")
    page.keyboard.press("Enter")
    page.wait_for_url("**/month?place=Marrowby*")
    assert page.locator(".place").inner_text().startswith("Marrowby General")


def go_to(page, words: str) -> None:
    """Presses Tab until the focused thing says ``words``."""
    for _step in range(40):
        page.keyboard.press("Tab")
        said = page.evaluate(
            "document.activeElement.selectedOptions?.[0]?.textContent ?? document.activeElement.textContent"
        )
        if said.strip().startswith(words):
            return
    raise AssertionError(f"Tab never reached '{words}'")


def test_what_has_the_focus_shows_it(page, served):
    page.goto(f"{served.base}/files")
    for _step in range(6):
        page.keyboard.press("Tab")
        width = page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth)")
        assert width >= 3


def test_dark_can_be_chosen_by_hand_and_stays(page, served):
    page.goto(f"{served.base}/policy")
    before = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.get_by_role("button", name="Dark").click()
    page.goto(f"{served.base}/charter")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != before
    assert page.get_by_role("button", name="Dark").get_attribute("aria-pressed") == "true"
    page.get_by_role("button", name="As this computer").click()


def test_the_picture_follows_the_dark(page, served):
    page.goto(f"{served.base}/month?{MONTH}")
    ink = "getComputedStyle(document.querySelector('.picture.wide text[fill=\"#1f2933\"]')).fill"
    by_day = page.evaluate(ink)
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(ink) != by_day


def test_the_sentence_is_copied(page, served, visit):
    visit.context().grant_permissions(["clipboard-read", "clipboard-write"], origin=served.base)
    page.goto(f"{served.base}/month?{MONTH}")
    page.bring_to_front()  # a browser lets only the tab in front read what was copied
    page.get_by_role("button", name="Copy the sentence").click()
    page.get_by_text("Copied.").wait_for()
    sentence = " ".join(page.locator("#sentence").inner_text().split())  # copied with plain spaces
    assert "%" in sentence
    assert page.wait_for_function(
        "said => navigator.clipboard.readText().then(copied => copied === said)", arg=sentence
    )


def test_print_leaves_out_what_paper_cannot_use(page, served):
    page.goto(f"{served.base}/month?{MONTH}")
    page.emulate_media(media="print")
    assert page.locator("#sentence").is_visible()
    assert not page.get_by_role("navigation", name="Pages").is_visible()
    assert not page.get_by_role("link", name="Spreadsheet").is_visible()


def test_everything_works_with_scripts_switched_off(chromium, served, visit):
    context = chromium.new_context(java_script_enabled=False, storage_state=visit.context().storage_state())
    tab = context.new_page()
    tab.goto(f"{served.base}/month?{MONTH}")
    assert tab.locator("#sentence").is_visible()
    assert not tab.get_by_role("button", name="Copy the sentence").is_visible()
    context.close()
