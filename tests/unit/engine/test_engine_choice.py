"""Which engine is asked for, and what is said where it is not there."""

from __future__ import annotations

import importlib.util

import pytest
from click.testing import CliRunner

from cubital.cli.root import cubital
from cubital.domain.errors import MachineProblem, RequestProblem
from cubital.engine import check_engine, open_engine
from cubital.engine.choice import spark_master
from cubital.engine.spark_running import check_spark, find_java


@pytest.mark.parametrize("name", ["duckdb", "spark:local[2]", "spark://head.example:7077", "spark:yarn"])
def test_an_engine_goes_by_its_name(name):
    assert check_engine(name) == name


@pytest.mark.parametrize("name", ["", "sparc", "spark", "spark:", "spark: local", "duckdb2"])
def test_another_name_is_refused_in_a_sentence(name):
    with pytest.raises(RequestProblem, match=r"there is no engine '.*spark:local\[2\]"):
        open_engine(name)


def test_an_address_is_given_to_spark_as_it_stands():
    assert spark_master("spark://head:7077") == "spark://head:7077"
    assert spark_master("spark:local[2]") == "local[2]"


def test_without_an_engine_named_the_embedded_one_answers():
    with open_engine() as session:
        assert session.one("select 41 + 1") == (42,)


def test_a_missing_extra_is_one_sentence_with_the_way_to_install_it(monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(MachineProblem, match=r"Spark is not installed \(pyspark, sqlglot missing\).*cubital\[spark\]"):
        check_spark()


def test_a_missing_java_is_one_sentence_with_the_way_to_install_it(monkeypatch, tmp_path):
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: object())
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    assert find_java() is None
    with pytest.raises(MachineProblem, match=r"Java runtime.*openjdk-17-jre-headless"):
        check_spark()


def test_the_command_line_refuses_an_engine_it_does_not_know(tmp_path):
    found = CliRunner().invoke(cubital, ["--workspace", str(tmp_path / "w"), "--engine", "sparc", "bench"])
    assert found.exit_code == RequestProblem.exit_code
    assert "there is no engine 'sparc'" in found.output


def test_a_command_that_is_always_embedded_says_so_where_an_engine_was_named(tmp_path):
    words = ["--workspace", str(tmp_path / "w"), "--engine", "spark:local[2]", "batches"]
    assert "'batches' runs inside this process" in CliRunner().invoke(cubital, words).output
    by_setting = CliRunner().invoke(cubital, [*words[:2], "batches"], env={"CUBITAL_ENGINE": "spark:local[2]"})
    assert "runs inside this process" not in by_setting.output
