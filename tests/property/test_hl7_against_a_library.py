"""The own reading of HL7 v2 against a general-purpose library (hl7 0.4.5), over random messages and the demo's feed."""

from __future__ import annotations

import hl7
from hypothesis import given
from hypothesis import strategies as st

from cubital.intake.hl7.delimiters import Delimiters
from cubital.intake.hl7.splitting import Message, field, split_message
from cubital.workspace.demo.draws import draw_world
from cubital.workspace.demo.hl7_feed import DIALECTS, FeedWriter, messages_of
from cubital.workspace.demo.layouts import Report

SIGNS = st.permutations("|^~&#+*:;!").map(lambda signs: Delimiters(*signs[:3], "\\", signs[4]))
# The library strips nothing, so texts begin and end in a letter; it writes highlighting as "_", which is left out here.
TEXTS = st.text(st.sampled_from("abcXYZ019 é-./()"), max_size=5).map(lambda text: f"q{text}q")
ESCAPES = st.sampled_from(["\\F\\", "\\S\\", "\\T\\", "\\R\\", "\\E\\", "\\X41\\", ""])
LEAVES = st.lists(st.tuples(TEXTS, ESCAPES), min_size=1, max_size=3).map(lambda parts: "".join(a + b for a, b in parts))
FIELDS = st.lists(st.lists(st.lists(LEAVES, min_size=1, max_size=3), min_size=1, max_size=3), min_size=1, max_size=2)
SEGMENTS = st.lists(
    st.tuples(st.sampled_from(["PID", "OBR", "OBX", "SPM", "ZQ1"]), st.lists(FIELDS, min_size=1, max_size=5)),
    min_size=1, max_size=4,
)  # fmt: skip


def written(signs: Delimiters, segments: list) -> str:
    head = f"MSH{signs.field}{signs.component}{signs.repetition}\\{signs.subcomponent}{signs.field}LIS"
    lines = [head]
    for name, fields in segments:
        cells = [
            signs.repetition.join(
                signs.component.join(signs.subcomponent.join(leaves) for leaves in parts) for parts in repeated
            )
            for repeated in fields
        ]
        lines.append(signs.field.join([name, *cells]))
    return "\r".join(lines) + "\r"


def leaves_of_library(text: str) -> list:
    parsed = hl7.parse(text)
    return [
        [[[[parsed.unescape(str(leaf)) for leaf in _each(part)] for part in _each(one)] for one in cell]
         for cell in segment[1:]]
        for segment in parsed[1:]
    ]  # fmt: skip


def _each(value: object) -> list:
    return list(value) if isinstance(value, hl7.Container) else [value]


def leaves_of_ours(text: str) -> list:
    found = split_message(text.encode())
    assert isinstance(found, Message)
    signs = found.signs
    return [
        [
            [
                [signs.subparts(part) for part in one.split(signs.component)]
                for one in cell.split(signs.repetition)
            ]
            for cell in segment[1:]
        ]
        for segment in found.segments[1:]
    ]  # fmt: skip


@given(signs=SIGNS, segments=SEGMENTS)
def test_every_leaf_of_a_random_message_reads_as_in_the_library(signs, segments):
    text = written(signs, segments)
    assert leaves_of_ours(text) == leaves_of_library(text)


@given(signs=SIGNS, segments=SEGMENTS)
def test_what_was_written_is_what_is_read(signs, segments):
    found = split_message(written(signs, segments).encode())
    assert found.signs == signs
    assert [segment[0] for segment in found.segments] == ["MSH", *(name for name, _fields in segments)]


def test_the_feeds_of_the_invented_network_read_as_in_the_library():
    compared = 0
    for draws in draw_world(5):
        writer = FeedWriter(draws[0].hospital)
        for draw in draws[:: max(1, len(draws) // 60)]:
            report = Report(draw=draw, status="final", organisms=tuple(draw.organisms), with_stain=True)
            for text in messages_of(report, writer):
                theirs = hl7.parse(text.replace("\r\n", "\r"))
                ours = split_message(text.encode(DIALECTS[draw.hospital.key].codec))
                for place, segment in enumerate(ours.segments[1:], start=1):
                    assert [str(cell) for cell in theirs[place][1:]] == segment[1:]
                    compared += len(segment) - 1
                assert ours.signs.text(field(ours.segments[0], 10)) == str(theirs["MSH"][0][10])
    assert compared > 5_000
