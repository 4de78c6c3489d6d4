"""Long work: goes on by itself, says how far it is, gives back what came out or what went wrong."""

from __future__ import annotations

from threading import Event

import pytest

from cubital.domain.errors import FileProblem
from cubital.domain.words import choose_language, current_language
from cubital.web.running import JobList


def test_a_job_gives_back_what_its_work_made():
    job = JobList().start("a sum", lambda _report: 2 + 3)
    job.wait(5)
    assert job.outcome() == 5


def test_a_job_says_how_far_it_is_while_it_runs():
    jobs, reached, go_on = JobList(), Event(), Event()

    def work(report):
        report("reading", 0.4)
        reached.set()
        go_on.wait(5)

    job = jobs.start("a file", work)
    reached.wait(5)
    assert (job.running, job.step, job.share) == (True, "reading", 0.4)
    go_on.set()
    job.wait(5)
    assert not job.running


def test_a_share_outside_nothing_and_all_is_kept_within():
    job = JobList().start("odd", lambda report: report("x", 7.0))
    job.wait(5)
    assert job.share == 1.0


def test_what_cubital_says_in_a_job_is_said_again_to_whoever_asks():
    def work(report):
        raise FileProblem("the file is empty.")

    job = JobList().start("a file", work)
    job.wait(5)
    with pytest.raises(FileProblem, match="the file is empty"):
        job.outcome()


def test_a_fault_of_ours_is_written_to_the_window(caplog):
    job = JobList().start("a file", lambda _report: 1 / 0)
    job.wait(5)
    with pytest.raises(ZeroDivisionError):
        job.outcome()
    assert "A job broke" in caplog.text


def test_a_job_speaks_the_language_of_whoever_started_it():
    choose_language("es")
    try:
        job = JobList().start("idioma", lambda _report: current_language())
    finally:
        choose_language("en")
    job.wait(5)
    assert job.outcome() == "es"


def test_old_jobs_are_forgotten_and_new_ones_kept(monkeypatch):
    monkeypatch.setattr("cubital.web.running.KEPT_JOBS", 2)
    jobs = JobList()
    made = [jobs.start(str(number), lambda _report: None) for number in range(3)]
    assert jobs.find(made[0].key) is None
    assert jobs.find(made[2].key) is made[2]
