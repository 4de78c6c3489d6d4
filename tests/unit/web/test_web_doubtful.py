"""The page *Doubtful*: a blind list, decisions by the set, nothing half, the way back, and the list by file."""

from __future__ import annotations

import io

from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

SPAN = {"first": "2025-10", "last": "2025-11"}
WHO = {"initials": "BR", "role": "medical microbiology", "on": "2025-12-01"}
FILLED = {f"filled-{name}": text for name, text in WHO.items()}


def page(reader):
    return words_of(reader.get("/doubtful", SPAN))


def test_an_empty_workspace_says_where_to_begin(browser):
    assert "Nothing has been taken in yet." in words_of(browser.get("/doubtful"))


def test_the_waiting_sets_stand_without_unit_collector_or_hour(reader):
    words = page(reader)
    assert "3 sets wait for medical microbiology" in words
    assert "5003" in words
    for told in ("5 WEST", "5W-MED", "7731", "09:00"):
        assert told not in words


def test_decisions_are_noted_together_and_restate_the_month(reader):
    first = words_of(reader.get("/doubtful", SPAN))
    posted = {**SPAN, **WHO}
    for place in (1, 2, 3):
        posted |= {f"decision-{place}": "contaminant", f"why-{place}": "clinical notes"}
    assert "between 2 and 5" in first
    done = reader.post("/doubtful/decide", posted, follow=True)
    words = words_of(done)
    assert "3 decisions noted." in words
    assert "every doubtful set is decided; 5 of 10 sets" in words


def test_a_decision_without_a_reason_notes_nothing(reader):
    posted = {**SPAN, **WHO, "decision-1": "contaminant", "why-1": "", "decision-2": "significant", "why-2": "notes"}
    refused = reader.post("/doubtful/decide", posted)
    assert refused.status_code == 400
    assert "Please say why, in one sentence." in words_of(refused)
    assert "3 sets wait" in page(reader)


def test_without_initials_or_any_decision_nothing_is_noted(reader):
    nobody = reader.post("/doubtful/decide", {**SPAN, **WHO, "initials": "", "decision-1": "contaminant", "why-1": "x"})
    nothing = reader.post("/doubtful/decide", {**SPAN, **WHO})
    name = reader.post(
        "/doubtful/decide", {**SPAN, **WHO, "initials": "Ben Ruiz", "decision-1": "contaminant", "why-1": "x"}
    )
    assert "Please write the initials of who decides." in words_of(nobody)
    assert "Please decide about at least one set." in words_of(nothing)
    assert "are no initials" in words_of(name)
    assert "3 sets wait" in page(reader)


def test_a_decision_is_taken_back_with_a_reason_only(reader):
    reader.post("/doubtful/decide", {**SPAN, **WHO, "decision-1": "significant", "why-1": "two sites"})
    silent = reader.post("/doubtful/withdraw", {**SPAN, "number": "1", "why": " "}, follow=True)
    assert "taking a decision back needs a reason" in words_of(silent)
    back = reader.post("/doubtful/withdraw", {**SPAN, "number": "1", "why": "other patient"}, follow=True)
    assert "3 sets wait" in words_of(back)


def test_the_list_goes_out_and_comes_back_by_file(reader):
    from python_calamine import CalamineWorkbook

    saved = reader.get("/doubtful/list.xlsx", SPAN)
    rows = CalamineWorkbook.from_filelike(io.BytesIO(b"".join(saved.streaming_content))).get_sheet_by_name("doubtful")
    header, *sets = rows.to_python()
    assert {row[header.index("accession")] for row in sets} == {"5003", "5004", "5009"}
    filled = "facility,accession,decision,why\nMarrowby General,5009,significant,notes\nMarrowby General,5003,,\n"
    upload = SimpleUploadedFile("filled.csv", filled.encode())
    taken = reader.post(
        "/doubtful/list", {"filled-file": upload, **{f"filled-{k}": v for k, v in WHO.items()}}, follow=True
    )
    assert "1 decision of the list stands." in words_of(taken)
    assert "2 sets wait" in page(reader)


def test_a_wrong_list_is_refused_whole(reader):
    wrong = "facility,accession,decision,why\nMarrowby General,5009,significant,notes\nMarrowby General,5003,perhaps,\n"
    upload = SimpleUploadedFile("filled.csv", wrong.encode())
    refused = reader.post("/doubtful/list", {"filled-file": upload, **FILLED})
    assert refused.status_code == 400
    assert "row 3: 'perhaps' is no decision" in words_of(refused)
    assert "3 sets wait" in page(reader)


def test_other_methods_and_months_are_refused(reader):
    assert reader.get("/doubtful/decide").status_code == 405
    assert reader.get("/doubtful/withdraw").status_code == 405
    assert reader.get("/doubtful", {"first": "2025-11", "last": "2025-10"}).status_code == 400
    assert reader.get("/doubtful/list.xlsx", {"first": "nonsense", "last": "2025-10"}).status_code == 404
