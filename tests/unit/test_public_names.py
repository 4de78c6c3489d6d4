"""What ``import cubital`` promises is there, and costs nothing until it is used."""

from __future__ import annotations

import subprocess
import sys

import pytest

import cubital


@pytest.mark.parametrize("name", cubital.PUBLIC)
def test_every_public_name_is_callable_and_says_what_it_does(name):
    assert callable(getattr(cubital, name))
    assert getattr(cubital, name).__doc__


def test_an_unknown_name_lists_the_known_ones():
    with pytest.raises(AttributeError, match="month_answer"):
        _ = cubital.moth_answer


def test_importing_the_package_loads_no_heavy_library():
    words = "import cubital, sys; print([m for m in ('django', 'duckdb', 'numpy', 'scipy') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
