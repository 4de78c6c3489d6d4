"""The canonical tables as the engine sees them: column names in order, with their SQL types.

The dataclasses of ``cultures`` say what each column means; this module says how it is stored. Times are UTC
without a zone, except ``collected_local``, the wall clock of the file.

Stored isolates also repeat the facts of their set that the judge asks about, shown as ``set_isolates``: ``leads`` is
true of exactly one isolate of every set that grew something (the first that is no negation), so that adding up over
these counts sets, and ``mixed`` of all isolates of a set that grew different organisms.
"""

from __future__ import annotations

SETS = {
    "set_id": "BIGINT",
    "facility": "VARCHAR",
    "accession": "VARCHAR",
    "patient_key": "BIGINT",
    "age_group": "VARCHAR",
    "collected_at": "TIMESTAMP",
    "collected_local": "TIMESTAMP",
    "time_quality": "VARCHAR",
    "received_at": "TIMESTAMP",
    "loaded_at": "TIMESTAMP",
    "first_positive_at": "TIMESTAMP",
    "day": "DATE",
    "month": "VARCHAR",
    "unit_key": "VARCHAR",
    "collector_key": "VARCHAR",
    "attribution": "VARCHAR",
    "method": "VARCHAR",
    "site": "VARCHAR",
    "status": "VARCHAR",
    "reject_reason": "VARCHAR",
    "batch": "INTEGER",
}

BOTTLES = {
    "set_id": "BIGINT",
    "bottle": "INTEGER",
    "kind": "VARCHAR",
    "fill_ml": "DOUBLE",
    "fill_source": "VARCHAR",
    "grew": "BOOLEAN",
}

ISOLATES = {
    "set_id": "BIGINT",
    "bottle": "INTEGER",
    "organism_key": "VARCHAR",
    "raw_text": "VARCHAR",
    "match": "VARCHAR",
    "negated": "BOOLEAN",
}

SET_FACTS = {
    name: SETS[name]
    for name in (
        "month", "facility", "patient_key", "age_group", "collected_at", "time_quality", "day", "unit_key", "method",
        "status",
    )
}  # fmt: skip

SET_ISOLATES = {
    "set_id": "BIGINT",
    "organism_key": "VARCHAR",
    "negated": "BOOLEAN",
    "leads": "BOOLEAN",
    "mixed": "BOOLEAN",
    **SET_FACTS,
}

MOVEMENTS = {
    "facility": "VARCHAR",
    "patient_key": "BIGINT",
    "unit_key": "VARCHAR",
    "from_at": "TIMESTAMP",
    "to_at": "TIMESTAMP",
}

CULTURE_TABLES = {"sets": SETS, "bottles": BOTTLES, "isolates": ISOLATES}
