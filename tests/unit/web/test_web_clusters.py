"""The page of odd organisms: its sentence, its lots, its refusals; private and said to be."""

from __future__ import annotations

from datetime import date

from django.core.files.uploadedfile import SimpleUploadedFile


def post_lots(browser, text):
    return browser.post("/clusters/lots", {"file": SimpleUploadedFile("lots.csv", text.encode())})


def test_an_empty_workspace_says_to_take_a_file_first(browser):
    page = browser.get("/clusters")
    assert page.status_code == 200
    assert "no file has been taken in yet" in page.content.decode()


def test_a_stranger_sees_nothing(stranger):
    assert stranger.get("/clusters").status_code == 403


def test_the_page_answers_and_says_that_it_is_private(reader):
    page = reader.get("/clusters").content.decode()
    assert 'id="sentence"' in page
    assert "Private: small counts stand on this page" in page


def test_an_unknown_organism_is_a_sentence(reader):
    page = reader.get("/clusters", {"organism": "Bacilus"})
    assert page.status_code == 400
    assert "Did you mean Bacillus" in page.content.decode()


def test_a_number_of_days_that_is_none_is_a_sentence(reader):
    page = reader.get("/clusters", {"days": "0"})
    assert page.status_code == 400
    assert "whole number of days" in page.content.decode()


def test_a_list_of_lots_is_kept(reader):
    from cubital.web.desk import the_workspace
    from cubital.workspace.lots import list_lots

    text = "item,lot,facility,unit,from,to\ngauze,G,Marrowby General,ED,2025-10-01,\n"
    assert post_lots(reader, text).status_code == 302
    assert [stay.from_day for stay in list_lots(the_workspace())] == [date(2025, 10, 1)]
    assert "One stay of a lot is noted." in reader.get("/clusters").content.decode()


def test_a_wrong_list_keeps_nothing_and_names_the_row(reader):
    from cubital.web.desk import the_workspace
    from cubital.workspace.lots import list_lots

    text = "item,lot,facility,unit,from,to\ngauze,G,Marrowby General,Attic,2025-10-01,\n"
    page = post_lots(reader, text)
    assert page.status_code == 400
    assert "row 2" in page.content.decode()
    assert "Attic" in page.content.decode()
    assert list_lots(the_workspace()) == ()


def test_no_file_is_asked_for(reader):
    page = reader.post("/clusters/lots", {})
    assert page.status_code == 400
    assert "Please choose a file." in page.content.decode()
