"""The Spanish catalogue: compiled from its text, complete where answers are made, faithful to every placeholder."""

from __future__ import annotations

import gettext
import importlib.util
from pathlib import Path

import pytest

from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.signal import build_signal_answer
from cubital.domain.words import choose_language, current_language, day_words, month_words, share_words

ROOT = Path(__file__).resolve().parents[3]
COMPLETE = ("domain/", "answers/", "indicators/")


@pytest.fixture(scope="module")
def tool():
    spec = importlib.util.spec_from_file_location("make_catalogue", ROOT / "tools" / "make_catalogue.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def spanish():
    choose_language("es")
    yield
    choose_language("en")


def test_the_compiled_file_is_the_one_its_text_makes(tool):
    folder = tool.LOCALES / "es" / "LC_MESSAGES"
    assert (folder / "cubital.mo").read_bytes() == tool.render_mo(tool.read_catalogue("es"))


def test_no_translation_has_other_placeholders_than_its_source(tool):
    problems = tool.problems_of(tool.read_catalogue("es"))
    assert [problem for problem in problems if problem.startswith("other placeholders")] == []


def test_every_sentence_of_an_answer_is_translated(tool):
    known = tool.read_catalogue("es")
    wanted = {message for message, name in tool.find_sentences() if name.startswith(COMPLETE)}
    assert len(wanted) > 200
    assert [message for message in wanted if not (known.get(message) and known.get(message).string)] == []


def test_a_changed_placeholder_and_a_missing_sentence_are_found(tool):
    catalogue = tool.Catalog(locale="es")
    catalogue.add("{count} of {sets}", string="{count} de {todos}")
    catalogue.add("no sets")
    catalogue.add(("{count} set", "{count} sets"), string=("un set", "{count} sets"))
    assert sorted(tool.problems_of(catalogue)) == ["other placeholders: '{count} of {sets}'", "untranslated: 'no sets'"]


def test_sentences_in_templates_are_found(tool, tmp_path):
    page = tmp_path / "web" / "templates" / "page.html"
    page.parent.mkdir(parents=True)
    page.write_text(
        '{% say "Go on" %} {%- say \'Say {name}\' name=x %} {% say_count "{count} day" "{count} days" count=3 %}'
    )
    found = [message for message, _name in tool.find_sentences(tmp_path)]
    assert found == ["Go on", "Say {name}", ("{count} day", "{count} days")]


def test_the_march_sentence_can_be_said_in_spanish(spanish):
    """The same story as in English, read by gettext from the compiled file."""
    sets = [472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460,
            468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476, 498]  # fmt: skip
    contaminated = [14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9, 16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19]
    months = ["2024-04"]
    while len(months) < len(sets):
        months.append(next_month(months[-1]))
    counts = [MonthCount(month=m, sets=n, contaminated=x) for m, n, x in zip(months, sets, contaminated, strict=True)]
    assert build_signal_answer(counts).sentence == (
        "Marzo (19 de 498, 3,8 %) está dentro de lo que produce la variación propia de este servicio; esperaríamos un "
        "mes tan alto más o menos una vez cada dieciséis meses. Ninguna acción más allá del plan actual; 24 o más "
        "habría sido una señal."
    )


def test_days_months_and_shares_follow_the_language(spanish):
    import datetime

    assert day_words(datetime.date(2025, 12, 10)) == "10 de diciembre de 2025"
    assert month_words("2026-03", with_year=True) == "marzo de 2026"
    assert share_words(0.0382) == "3,8 %"


def test_an_unknown_language_falls_back_to_english():
    choose_language("xx")
    assert current_language() == "en"
    assert month_words("2026-03") == "March"


def test_gettext_itself_reads_the_compiled_file(tool):
    """Oracle: the standard library's gettext, opened on the file."""
    path = tool.LOCALES / "es" / "LC_MESSAGES" / "cubital.mo"
    with path.open("rb") as stream:
        words = gettext.GNUTranslations(stream)
    assert words.gettext("baseline {share}") == "línea de base {share}"
    assert words.ngettext("{count} month", "{count} months", 1) == "{count} mes"
