"""Wall clock to UTC around clock changes, and keys of patients."""
# ruff: noqa: DTZ001 -- wall clocks are meant, as a laboratory writes them

from __future__ import annotations

import hashlib
import hmac
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.errors import RequestProblem
from cubital.engine import open_session
from cubital.intake.clocks import DoubtfulTimes, find_zone, natural_order, read_clock, resolve_repeated_hours
from cubital.intake.patient_keys import add_patient_keys, patient_key

CHICAGO = ZoneInfo("America/Chicago")
NIGHT = date(2025, 11, 2)  # clocks went back at 02:00 (tz database)


def at(hour, minute, day=NIGHT):
    return datetime(day.year, day.month, day.day, hour, minute)


def test_an_unknown_zone_is_refused_with_an_example():
    with pytest.raises(RequestProblem, match="America/Chicago"):
        find_zone("Mars/Olympus")


def test_the_night_of_the_change_repeats_one_hour():
    (day,) = read_clock(CHICAGO, [NIGHT])
    assert (day.before, day.after, day.repeats) == (-300, -360, True)
    assert (day.change_from, day.change_to) == (at(1, 0), at(2, 0))


def test_the_spring_night_skips_one_hour():
    spring = date(2025, 3, 9)
    (day,) = read_clock(CHICAGO, [spring])
    assert (day.change_from, day.change_to, day.repeats) == (at(2, 0, spring), at(3, 0, spring), False)


@settings(max_examples=150)
@given(
    st.sampled_from(
        ["America/Chicago", "Europe/Madrid", "Australia/Lord_Howe", "America/Sao_Paulo", "Asia/Kathmandu", "UTC"]
    ),
    st.datetimes(min_value=datetime(1975, 1, 1), max_value=datetime(2100, 1, 1)),
)
def test_the_clock_agrees_with_the_standard_library(name, instant):
    """Outside: zoneinfo of the standard library on the tz database."""
    zone = ZoneInfo(name)
    local = instant.replace(second=0, microsecond=0, tzinfo=UTC).astimezone(zone)
    wall = local.replace(tzinfo=None, fold=0)
    (day,) = read_clock(zone, [wall.date()])
    touched = day.change_from is not None and day.change_from <= wall < day.change_to
    offsets = (
        {day.before, day.after} if touched else {day.after if day.change_to and wall >= day.change_to else day.before}
    )
    assert local.utcoffset() / timedelta(minutes=1) in offsets


def doubtful(number, collected, received):
    return DoubtfulTimes(
        row_set=number, accession=str(number), collected=collected, received=received,
        collected_at=None, received_at=None, collected_twice=True, received_twice=True, before=-300, after=-360,
    )  # fmt: skip


def test_accession_order_settles_the_repeated_hour():
    first, second = resolve_repeated_hours([doubtful(5007, at(1, 15), at(1, 58)), doubtful(5006, at(1, 50), at(1, 20))])
    assert (first.row_set, first.received_at - first.collected_at) == (5006, timedelta(minutes=30))
    assert (second.row_set, second.received_at - second.collected_at) == (5007, timedelta(minutes=43))
    assert second.received_at > first.received_at


def test_a_collection_alone_in_the_repeated_hour_takes_the_earlier_one():
    (one,) = resolve_repeated_hours([doubtful(1, at(1, 15), None)])
    assert one.collected_at == datetime(2025, 11, 2, 6, 15)


def test_accessions_sort_as_people_count():
    assert sorted(["A10", "A9", "B1"], key=natural_order) == ["A9", "A10", "B1"]


@settings(max_examples=25)
@given(st.binary(min_size=1, max_size=100), st.text(min_size=1, max_size=12), st.text(min_size=1, max_size=12))
def test_the_engine_keys_patients_as_the_standard_library_does(secret, facility, number):
    """Outside: HMAC-SHA256 of the standard library (RFC 2104)."""
    number, facility = number.replace("\0", "0"), facility.replace("\0", "0")
    with open_session(ordered=True) as session:
        session.add_rows("parsed", {"patient": "VARCHAR"}, [[number]])
        add_patient_keys(session, secret=secret, facility=facility)
        (key,) = session.one("select patient_key from look_patients")
    digest = hmac.new(secret, f"{facility}\x1f{number}".encode(), hashlib.sha256).digest()
    assert key == int.from_bytes(digest[:8], "big") % 2**63 == patient_key(secret, facility=facility, number=number)


def test_keys_differ_between_facilities_and_secrets():
    keys = {patient_key(s, facility=f, number="70001") for s in (b"one", b"two") for f in ("Marrowby", "Thistlecombe")}
    assert len(keys) == 4
