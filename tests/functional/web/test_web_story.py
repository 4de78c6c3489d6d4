"""The messy month by page: two laboratories' files in, a charter signed, the sentence read, the page for the wall.

The expected counts are those worked out by hand for the invented Vellorin network's two files.
"""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

pytestmark = pytest.mark.browser


def drop(page, served, file, *, hospital):
    page.goto(f"{served.base}/files")
    page.set_input_files("input[type=file]", file)
    page.get_by_label("Hospital", exact=True).fill(hospital)
    page.get_by_label("Time zone of the hospital's clocks").fill("America/Chicago")
    page.get_by_role("button", name="Look at this file").click()


def take(page, served, file, *, hospital):
    drop(page, served, file, hospital=hospital)
    page.get_by_role("button", name="Use this file").click()
    page.wait_for_url("**/files/batch/*")


def test_1_the_first_file_comes_in_with_every_row_accounted_for(page, served, story_files):
    take(page, served, story_files / "marrowby.csv", hospital="Marrowby General")
    assert page.get_by_role("heading", level=1).inner_text().startswith("21 rows in, 11 sets out.")


def test_2_the_second_file_of_another_layout_comes_in_too(page, served, story_files):
    take(page, served, story_files / "thistlecombe.csv", hospital="Thistlecombe Community")
    assert page.get_by_role("heading", level=1).inner_text().startswith("8 rows in, 8 sets out.")


def test_3_the_definitions_stand_side_by_side_with_the_known_counts(page, served):
    page.goto(f"{served.base}/charter")
    page.get_by_role("region", name="The definitions side by side").wait_for()  # counted behind the page
    rows = page.locator("table tbody tr")
    shown = [rows.nth(place).locator("td").all_inner_texts()[:3] for place in range(4)]
    assert shown == [["4", "18", "22.2 %"], ["4", "14", "28.6 %"], ["6", "18", "33.3 %"], ["9", "18", "50.0 %"]]


def test_4_the_sets_that_move_are_named_with_the_reason(page, served):
    page.goto(f"{served.base}/charter")
    page.get_by_label("against this one").select_option(label="C: A with single-set commensals")
    page.get_by_role("button", name="Show the sets").click()
    assert page.get_by_role("heading", level=1).inner_text() == "2 sets change their class."
    moved = page.locator("table tbody th").all_inner_texts()
    assert sorted(moved) == ["5005", "5007"]


def test_5_the_old_and_the_new_name_of_a_ward_are_joined(page, served):
    page.goto(f"{served.base}/files/units")
    page.get_by_label("Hospital").select_option("Marrowby General")
    page.get_by_label("Name before").fill("5 WEST")
    page.get_by_label("Name since").fill("5W-MED ONC")
    page.get_by_label("First day of the new name").fill("2025-10-15")
    page.get_by_role("button", name="Join the two names").click()
    row = page.locator("table tbody tr", has_text="5w-med onc")
    assert "2025-10-15" in row.inner_text()
    assert "5 west" in row.inner_text()


def test_6_the_charter_is_chosen_and_signed(page, served):
    page.goto(f"{served.base}/charter")
    page.get_by_role("link", name="choose A: one of several").click()
    page.get_by_label("Whose sets are counted?").select_option("adults")
    page.get_by_role("button", name="Save as a new version").click()
    page.get_by_label("Name").fill("Asha Brandt")
    page.get_by_label("Role").fill("practice educator")
    page.get_by_role("button", name="Sign and freeze").click()
    assert page.get_by_role("heading", level=1).inner_text().endswith("Signed and frozen.")


def test_7_the_month_says_its_sentence_and_what_it_is_counted_by(page, served):
    page.goto(f"{served.base}/month?place=&month=2025-11")
    sentence = page.locator("#sentence").inner_text()
    assert "4 of 13" in sentence
    assert "Counted by charter 2" in page.locator(".counted").first.inner_text()
    assert page.locator("svg.picture.wide").get_attribute("aria-label") == " ".join(sentence.split())


def counts_of(page, figure: str) -> tuple[int, ...]:
    """Numerator and denominator of one figure in the table of every figure."""
    row = page.locator("details table tbody tr", has=page.get_by_role("rowheader", name=figure, exact=True))
    return tuple(int(number) for number in row.locator("td").nth(2).inner_text().split(" of "))


def test_7a_single_sets_are_counted_by_set_and_by_episode(page, served):
    by_set, by_episode = [], []
    for month in ("2025-10", "2025-11"):
        page.goto(f"{served.base}/month?place=&month={month}")
        page.get_by_text("Every figure, with what is counted over what").click()
        by_set.append(counts_of(page, "Single sets, by set"))
        by_episode.append(counts_of(page, "Single sets, by episode"))
    assert [sum(part) for part in zip(*by_set, strict=True)] == [4, 18]
    assert [sum(part) for part in zip(*by_episode, strict=True)] == [4, 11]


def test_8_every_set_shows_its_class_and_its_reason(page, served):
    page.goto(f"{served.base}/month/sets?place=&month=2025-11&class=contaminated")
    assert sorted(page.locator("table tbody th").all_inner_texts()) == [
        "5001\nMarrowby General", "5002\nThistlecombe Community", "5003\nThistlecombe Community",
        "5007\nMarrowby General",
    ]  # fmt: skip
    assert "another set of the series lacks it" in page.locator("table tbody").inner_text()


@pytest.mark.parametrize(
    ("link", "shown"), [("One page for the wall", False), ("Letter size", False), ("The unit's own page", True)]
)
def test_9_a_small_count_stands_on_the_units_own_page_and_not_on_the_wall(page, served, link, shown):
    page.goto(f"{served.base}/month?place=&month=2025-11")
    with page.expect_download() as download:
        page.get_by_role("link", name=link).click()
    pdf = PdfReader(io.BytesIO(download.value.path().read_bytes()))
    text = " ".join(pdf.pages[0].extract_text().split())
    assert len(pdf.pages) == 1
    assert ("4 of 13" in text) is shown
    assert "13 sets" in text or shown


def test_a_the_spreadsheet_and_the_row_account_can_be_taken_along(page, served):
    page.goto(f"{served.base}/month?place=&month=2025-11")
    with page.expect_download() as download:
        page.get_by_role("link", name="Spreadsheet", exact=True).click()
    assert download.value.suggested_filename == "sets-2025-11.xlsx"
    page.goto(f"{served.base}/files/batch/1")
    with page.expect_download() as download:
        page.get_by_role("link", name="Every row and its fate").click()
    assert download.value.suggested_filename == "batch-1-rows.xlsx"


def test_b_the_same_file_again_changes_nothing_and_says_so(page, served, story_files):
    take(page, served, story_files / "marrowby.csv", hospital="Marrowby General")
    assert "was taken in before" in page.locator(".told").inner_text()


def test_c_a_file_that_is_no_table_is_sent_back_with_a_sentence(page, served, tmp_path):
    bad = tmp_path / "picture.csv"
    bad.write_bytes(bytes(range(256)) * 20)
    drop(page, served, bad, hospital="Marrowby General")
    assert page.get_by_role("heading", level=1).inner_text() == "This file cannot be used as it is."
    page.get_by_role("button", name="Send it back").click()
    assert "Nothing of it is kept." in page.locator(".told").inner_text()


def test_d_the_start_leads_to_where_one_left_off(page, served):
    page.goto(f"{served.base}/month?place=Thistlecombe+Community&month=2025-11")
    page.goto(served.base)
    assert page.locator(".place").inner_text().startswith("Thistlecombe Community")


def test_e_counts_alone_give_the_sentence(page, served):
    page.goto(f"{served.base}/counts")
    page.get_by_label("Type or paste your months").fill("2026-01 481 17\n2026-02 476 6\n2026-03 498 19")
    page.get_by_role("button", name="Say what it means").click()
    assert "19 of 498" in page.locator("#sentence").inner_text()


def test_f_nothing_was_asked_of_any_other_host_and_nothing_was_refused_by_the_policy(served):
    assert len(served.asked) > 40
    assert served.foreign() == []
    answered_400 = "the server responded with a status of 400"  # the file that is no table, above
    assert [said for said in served.complaints if answered_400 not in said] == []
