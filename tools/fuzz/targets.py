"""Every reader by name, how many inputs it gets, and where its search starts."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from tools.fuzz import readers
from tools.fuzz.readers import Reader

_HL7 = (
    b"MSH|^~\\&|LAB|VEL|CUB|VEL|20260304101500||ORU^R01^ORU_R01|1|P|2.5.1\r"
    b"PID|1||7001^^^VEL^MR||DOE^A||19500203|F\rPV1|1|I|ICU^4^1\r"
    b"OBR|1|P1|A1|600-7^Bacteria identified^LN|||202603040815-0600|||70511^N||||202603040900|||||||||MB|F\r"
    b"OBX|1|CWE|600-7^Bacteria identified^LN|1|3092008^Staphylococcus aureus^SCT||||||F\r"
    b"SPM|1|A1||BLD^Blood^HL70487|||VENIP^Venipuncture^HL70488|LAC^Left arm^HL70163|||||||||202603040815|202603040900\r"
)
_CSV = (
    b"ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,SITE,COLLECTOR,STATUS,RESULT\n"
    b"A1,7001,1950-02-03,ICU,2026-03-04 08:15,2026-03-04 09:00,AER,L AC,70511,F,NO GROWTH AT 5 DAYS\n"
    b"A1,7001,1950-02-03,ICU,2026-03-04 08:15,2026-03-04 09:00,ANA,L AC,70511,F,STAPH EPIDERMITIS\n"
    b"A2,7002,03/02/1950,ED,04/03/2026 08:15,,AER,PORT,JM,X,CANCELLED - DUPLICATE ORDER\n"
)
_MOVEMENTS = b"MRN,UNIT,FROM_DT,TO_DT\n7001,ICU,2026-03-01 08:00,2026-03-04 12:00\n7001,3 NORTH,2026-03-04 12:00,\n"
_COUNTS = b"month,sets,contaminated\n2025-01,400,12\n2025-02,380,9\n"
_FHIR = (
    b'{"resourceType":"Observation","id":"o1","status":"final","code":{"coding":[{"system":"http://loinc.org","code":'
    b'"600-7"}]},"specimen":{"reference":"Specimen/s1"},"valueString":"No growth"}\n'
    b'{"resourceType":"Specimen","id":"s1","accessionIdentifier":{"value":"A1"}}\n'
)
_RESULTS = (
    b"No Staphylococcus aureus isolated. Corynebacterium sp.", b"NG 5D", b"STAPH EPIDERMITIS; E.COLI", b"GPC CLUSTERS",
    b"CANCELLED - DUPLICATE", b"1/2 bottles: CNS", b"S. aureus (resistente a la meticilina)",
)  # fmt: skip
_DATES = (b"2026-03-04 08:15", b"04/03/26 8:15 PM", b"20260304081500-0600", b"4-Mar-2026", b"45000.5")
_NUMBERS = tuple(str(number).encode() for number in range(8))  # these only choose what is twisted


def _policy() -> bytes:
    from cubital.bedside.policy_file import example_policy, write_policy

    return write_policy(example_policy()).encode()


READERS: Mapping[str, Reader] = MappingProxyType(
    {
        "results": Reader(read=readers.read_results, runs=200_000, longest=200, seeds=_RESULTS),
        "dates": Reader(read=readers.read_dates, runs=250_000, longest=60, seeds=_DATES),
        "labels": Reader(read=readers.read_labels, runs=150_000, longest=60, seeds=(b"AER 2", b"JM", b"PICC purple")),
        "symbol": Reader(read=readers.read_symbol, runs=150_000, longest=40, seeds=(b"240435597", b"A1-b", b"\x01a")),
        "bedside": Reader(read=readers.read_bedside, runs=30_000, longest=60, seeds=(b"70|kg|480|12|g/dL|0|A1",)),
        "policy": Reader(read=readers.read_policy, runs=20_000, longest=12_000, seeds=(_policy(),)),
        "hl7 message": Reader(read=readers.read_hl7_message, runs=120_000, longest=1_200, seeds=(_HL7,)),
        "hl7 file": Reader(
            read=readers.read_hl7_file, runs=40_000, longest=1_500,
            seeds=(b"\x0b" + _HL7 + b"\x1c\r", b"FHS|^~\\&\rBHS|^~\\&\r" + _HL7 + b"BTS|1\rFTS|1\r"),
        ),
        "fhir file": Reader(read=readers.read_fhir_file, runs=60_000, longest=1_000, seeds=(_FHIR, b'[{"a":1}]', b"{")),
        "fhir resources": Reader(read=readers.read_fhir_resources, runs=40_000, longest=16, seeds=_NUMBERS),
        "table": Reader(read=readers.read_table, runs=40_000, longest=1_500, seeds=(_CSV, b"PK\x03\x04", b"\x1f\x8b")),
        "counts": Reader(read=readers.read_counts, runs=20_000, longest=400, seeds=(_COUNTS,)),
        "workbook": Reader(read=readers.read_workbook, runs=6_000, longest=16, seeds=_NUMBERS),
        "whole table": Reader(read=readers.read_whole_table, runs=700, longest=1_500, seeds=(_CSV,), most_seconds=3),
        "whole hl7": Reader(read=readers.read_whole_hl7, runs=500, longest=1_500, seeds=(_HL7,), most_seconds=3),
        "whole fhir": Reader(read=readers.read_whole_fhir, runs=500, longest=16, seeds=_NUMBERS, most_seconds=3),
        "whole movements": Reader(
            read=readers.read_whole_movements, runs=400, longest=400, seeds=(_MOVEMENTS,), most_seconds=3
        ),
        "take": Reader(read=readers.take_whole, runs=60, longest=1_500, seeds=(_CSV,), most_seconds=20),
    }
)  # fmt: skip
