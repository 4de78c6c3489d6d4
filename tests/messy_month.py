"""The two laboratories' messy month as canonical rows (invented network), as intake is expected to hand them on.

Times are UTC; in Chicago that is minus five hours until 2 November 2025 07:00 UTC and minus six after. M5006 and M5007
lie in the repeated hour: settled by accession order they were drawn 30 and 43 minutes before their receipt.
"""

from __future__ import annotations

from datetime import datetime

from cubital.domain.cultures import AgeGroup, Attribution, Bottle, BottleKind, CultureSet, TimeQuality
from judge_worlds import World, make_isolate, make_set

CHILD = AgeGroup.FROM_1_TO_17
BADGE, NOBODY = Attribution.ROSTER_OR_INITIALS, Attribution.NONE
# accession, patient, unit, local day, collected (UTC), received (UTC), collector, bottles, organisms
MARROWBY = (
    ("5001", 70001, "ed", "2025-11-01", "11-02 03:10", "11-02 03:41", BADGE, "AER ANA", "staphylococcus-epidermidis"),
    ("5002", 70001, "ed", "2025-11-01", "11-02 03:25", "11-02 03:41", BADGE, "AER ANA", ""),
    ("5003", 70002, "5 west", "2025-10-12", "10-12 14:00", "10-12 14:52", NOBODY, "AER ANA", "CNS"),
    ("5004", 70002, "5 west", "2025-10-12", "10-12 14:20", "10-12 14:52", NOBODY, "AER ANA", "CNS"),
    ("5005", 70003, "5w-med onc", "2025-10-20", "10-20 19:00", "10-20 22:35", NOBODY, "AER", "corynebacterium"),
    ("5006", 70004, "ed", "2025-11-02", "11-02 06:50", "11-02 07:20", BADGE, "AER ANA", ""),
    ("5007", 70004, "ed", "2025-11-02", "11-02 07:15", "11-02 07:58", BADGE, "AER ANA", "micrococcus-luteus"),
    ("5008", 70005, "icu", "2025-10-25", "10-25 13:00", "10-25 13:30", BADGE, "AER ANA", "escherichia-coli"),
    ("5009", 70005, "icu", "2025-10-25", "10-25 13:10", "10-25 13:30", BADGE, "AER ANA",
     "escherichia-coli staphylococcus-hominis"),
    ("5010", 70006, "peds", "2025-10-30", "10-30 16:00", "10-30 16:40", BADGE, "PED", "streptococcus-viridans-group"),
    ("5011", 70007, "ed", "2025-11-05", "11-05 13:00", "11-05 13:22", BADGE, "AER ANA", ""),
)  # fmt: skip
THISTLECOMBE = (
    ("5001", 70001, "medical", "2025-11-03", "11-03 16:00", "11-03 16:50", NOBODY, "", ""),
    ("5002", 70001, "medical", "2025-11-03", "11-03 16:30", "11-03 16:50", NOBODY, "",
     "!staphylococcus-aureus corynebacterium"),
    ("5003", 80002, "a&e", "2025-11-04", "11-05 05:50", "11-05 06:40", NOBODY, "", "bacillus"),
    ("5004", 80002, "a&e", "2025-11-05", "11-05 06:15", "11-05 06:40", NOBODY, "", ""),
    ("5005", 80003, "a&e", "2025-11-06", "11-06 15:00", "11-06 15:30", NOBODY, "", "bacteroides-fragilis"),
    ("5006", 80003, "a&e", "2025-11-06", "11-06 15:05", "11-06 15:30", NOBODY, "", ""),
    ("5007", 80004, "medical", "2025-11-07", "11-07 14:00", "11-07 15:10", NOBODY, "", "CNS"),
    ("5008", 80004, "medical", "2025-11-08", "11-08 16:00", "11-08 16:45", NOBODY, "", ""),
)  # fmt: skip
KINDS = {"AER": BottleKind.AEROBIC, "ANA": BottleKind.ANAEROBIC, "PED": BottleKind.PAEDIATRIC}
UNITS = {
    ("Marrowby General", "5 west"): ("5w-med onc", "5W-MED ONC"),
    ("Marrowby General", "5w-med onc"): ("5w-med onc", "5W-MED ONC"),
}


def messy_month() -> World:
    """Nineteen valid sets, their isolates and their bottles; set numbers 1 to 11 are Marrowby's."""
    rows = [("Marrowby General", row) for row in MARROWBY] + [("Thistlecombe Community", row) for row in THISTLECOMBE]
    sets, isolates, bottles = [], [], []
    for set_id, (facility, row) in enumerate(rows, start=1):
        sets.append(_set(set_id, facility, row))
        for key in str(row[8]).split():
            named = "staphylococcus-coagulase-negative" if key == "CNS" else key.removeprefix("!")
            isolates.append(make_isolate(set_id, named, negated=key.startswith("!")))
        for number, kind in enumerate(str(row[7]).split(), start=1):
            bottles.append(Bottle(set_id=set_id, bottle=number, kind=KINDS[kind]))
    return World(tuple(sets), tuple(isolates), tuple(bottles), UNITS)


def short_name(facility: str, accession: str) -> str:
    """``M5001``."""
    return facility[0] + accession


def _set(set_id: int, facility: str, row: tuple[object, ...]) -> CultureSet:
    accession, patient, unit, day, collected, received, who, _bottles, _grew = row
    return make_set(
        set_id,
        f"2025-{collected}",
        facility=facility,
        accession=accession,
        patient_key=patient,
        unit_key=unit,
        day=datetime.fromisoformat(str(day)).date(),
        month=str(day)[:7],
        received_at=datetime.fromisoformat(f"2025-{received}"),
        attribution=who,
        age_group=CHILD if accession == "5010" else AgeGroup.FROM_18_TO_64,
        time_quality=TimeQuality.AMBIGUOUS_HOUR
        if (facility[0], accession) in {("M", "5006"), ("M", "5007")}
        else TimeQuality.EXACT,
    )
