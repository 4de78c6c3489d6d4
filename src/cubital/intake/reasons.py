"""Every reason for which a row did not become a set, and every doubt, in words."""

from __future__ import annotations

from cubital.domain.words import _


def loss_words(reason: str) -> str:
    """A loss as a person reads it; an unknown key comes back as it is."""
    return {
        "further_bottle": _("a further bottle of a set already counted"),
        "further_isolate": _("a further organism of a set already counted"),
        "further_antibiotic": _("an antibiotic row of an organism already counted"),
        "repeated_row": _("the same bottle or set again"),
        "superseded": _("replaced by a later result of the same bottle"),
        "cancelled": _("cancelled: neither growth nor a valid set"),
        "rejected": _("rejected by the laboratory: neither growth nor a valid set"),
        "other_specimen": _("another kind of specimen"),
        "other_test": _("another test than a routine blood culture"),
        "stain_row": _("a microscopy row of a specimen"),
        "no_specimen_type": _("no type of specimen in a file with several"),
        "no_accession": _("no accession number"),
        "damaged_accession": _("a formula or an error where the accession number should be"),
        "too_many_cells": _("more cells than the header has: a separator inside a text"),
        "blank_row": _("a blank row"),
        "header_again": _("the header once more"),
        "note_row": _("a total or a remark, no specimen"),
        "other_sheet": _("a row of another sheet"),
        "not_a_result_message": _("a message that carries no result (an order, an admission, an acknowledgement)"),
        "unreadable_message": _("a damaged message that cannot be read"),
        "no_result_in_message": _("a message or resource without a result of a test"),
        "not_collected_yet": _("ordered, but not collected"),
        "unknown_test_code": _("a test whose code is not known and that has no name"),
        "unknown_specimen_code": _("a specimen whose code is not known and that has no name"),
        "no_specimen_named": _("no specimen named where the test does not tell it"),
        "not_for_cultures": _("no part of a report on a culture"),
        "read_beside_results": _("no result: a person, a place, an order or a specimen, read beside the results"),
        "heads_other_results": _("a report or group whose single results were read instead"),
        "no_patient": _("no patient number"),
        "no_unit": _("no unit"),
        "no_start": _("no readable time of arrival"),
        "ends_before_start": _("left before arriving"),
    }.get(reason, reason)


def doubt_words(reason: str) -> str:
    """A doubt as a person reads it; an unknown key comes back as it is."""
    return {
        "ambiguous_hour": _("in the hour that the clock change repeats; settled by accession order"),
        "skipped_hour": _("in the hour that the clock change skips"),
        "after_receipt": _("collected after it was received; the delay is unknown"),
        "date_only": _("a collection date without a time"),
        "no_collection_time": _("no collection time"),
        "time_unreadable": _("a time that cannot be read"),
        "two_digit_year": _("a year written with two digits"),
        "accession_of_two_patients": _("one accession number, two patients; kept as two sets"),
        "accession_shortened": _("an accession number shortened by a spreadsheet (2.50E+10); its last digits are gone"),
        "patient_shortened": _("a patient number shortened by a spreadsheet (2.50E+10); its last digits are gone"),
        "leading_zeros_lost": _("leading zeros probably lost: shorter than the other accession numbers"),
        "patient_zeros_lost": _("leading zeros probably lost: shorter than the other patient numbers"),
        "times_differ": _("rows of one set give different collection times"),
        "units_differ": _("rows of one set give different units"),
        "births_differ": _("rows of one set give different birth dates"),
        "collectors_differ": _("rows of one set give different collectors"),
        "results_differ": _("rows of one bottle say growth and no growth without a correction"),
        "no_patient": _("no patient number; the set stands alone"),
        "birth_placeholder": _("a placeholder for the birth date; the age is unknown"),
        "birth_impossible": _("a birth date that does not fit the collection; the age is unknown"),
        "status_unread": _("a status that is not known, taken as final"),
        "organism_proposed": _("an organism's name read in spite of its spelling"),
        "code_differs": _("an organism whose code and whose words name two different ones"),
        "organism_unmatched": _("growth whose name was not recognised"),
        "result_missing": _("a final row without a result"),
        "formula": _("a formula instead of its value"),
        "error_cell": _("an error of the spreadsheet instead of a value"),
        "text_turned_into_date": _("a fraction or a text turned into a date by a spreadsheet (2/4 into 2-Apr)"),
        "fill_unlikely": _("a fill below 0 or above 50 mL"),
        "bottle_unknown": _("a bottle whose kind is not recognised"),
        "open_stay": _("no time of leaving; taken as still there"),
    }.get(reason, reason)
