"""The same judgement as a vectorised data-frame script: what an analyst would write, and the measure of our speed.

Charter: one of several, 24 hours rolling from the first set, adults, same commensal to adjudicate, different ones
contaminated, single ones apart, mixed growth to adjudicate.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from cubital.judge.flora import Growth, reference_flora

DAY = np.int64(24 * 3_600_000_000)
PLACE = ["month", "facility", "unit_key"]
COLUMNS = [*PLACE, "set_id", "patient_key", "collected_at", "age_group", "status"]
GROWN = ["set_id", "organism_key", "negated"]


def judge(set_files: list[str], isolate_files: list[str]) -> dict[str, Any]:
    """Counts per month and unit, and the class of every set that grew a commensal alone."""
    sets = pd.concat([pd.read_parquet(file, columns=COLUMNS) for file in set_files], ignore_index=True)
    isolates = pd.concat([pd.read_parquet(file, columns=GROWN) for file in isolate_files], ignore_index=True)
    isolates = isolates.loc[~isolates["negated"], ["set_id", "organism_key"]].drop_duplicates()
    flora = reference_flora()
    standing = {key: int(flora.standing(key, "short")) for key in isolates["organism_key"].unique()}
    isolates["grows"] = isolates["organism_key"].map(standing).astype("int8")
    sets = sets[sets["status"].isin(["final", "preliminary"])]
    adults = sets[~sets["age_group"].isin(["under_1", "1_to_17"])]
    grew = pd.concat(
        [isolates.loc[isolates["grows"] == bit, "set_id"].drop_duplicates() for bit in (1, 2, 4)], keys=(1, 2, 4)
    )
    grew = grew.reset_index(level=0).groupby("set_id")["level_0"].sum()
    suspects = adults[adults["set_id"].isin(grew.index[grew == Growth.COMMENSAL])].copy()
    partners = _with_series(sets[sets["patient_key"].isin(suspects["patient_key"])].copy())
    suspects["set_class"] = _classes(suspects["set_id"], partners, isolates, flora)
    return _counts(adults, grew, suspects)


def _with_series(sets: pd.DataFrame) -> pd.DataFrame:
    """Adds the first place of each set's series: islands by gap, then the long islands set by set from their start."""
    sets["place"] = sets["collected_at"].astype("datetime64[us]").astype("int64")
    sets = sets.sort_values(["facility", "patient_key", "place"], ignore_index=True)
    person = (sets["facility"] != sets["facility"].shift()) | (sets["patient_key"] != sets["patient_key"].shift())
    far = sets["place"].diff() > DAY
    sets["person"] = person.cumsum()
    sets["island"] = (person | far).cumsum()
    sets["head"] = sets.groupby("island")["place"].transform("first")
    while True:
        late = sets["place"] > sets["head"] + DAY
        if not late.any():
            break
        later = sets.loc[late]
        sets.loc[late, "head"] = later.groupby(["island", "head"])["place"].transform("first")
    sets["series"] = sets.groupby(["person", "head"], sort=False).ngroup()
    return sets


def _classes(suspects: pd.Series, partners: pd.DataFrame, isolates: pd.DataFrame, flora: Any) -> np.ndarray:
    series = partners[["set_id", "series"]]
    sizes = series.groupby("series")["set_id"].transform("size")
    paired = set(series.loc[sizes > 1, "set_id"])
    grown = series.merge(isolates, on="set_id")
    mine = grown[(grown["grows"] == Growth.COMMENSAL) & grown["set_id"].isin(suspects)]
    both = mine.merge(grown, on="series", suffixes=("", "_other"))
    both = both[both["set_id"] != both["set_id_other"]]
    pairs = set(flora.same_pairs(isolates["organism_key"].unique()))
    keys = pd.MultiIndex.from_frame(both[["organism_key", "organism_key_other"]])
    same = both.loc[keys.isin(list(pairs)), "set_id"].unique()
    return np.select(
        [~suspects.isin(paired), suspects.isin(same)], ["solitary_commensal", "adjudicate"], default="contaminated"
    )


def _counts(adults: pd.DataFrame, grew: pd.Series, suspects: pd.DataFrame) -> dict[str, Any]:
    denominators = adults.groupby(PLACE).size().rename("sets")
    numerators = suspects[suspects["set_class"] == "contaminated"].groupby(PLACE).size().rename("contaminated")
    positives = adults[adults["set_id"].isin(grew.index)].groupby(PLACE).size().rename("positives")
    whole = pd.concat([denominators, numerators, positives], axis=1).fillna(0).astype(int).sort_index()
    classes = {name: sorted(chosen["set_id"].tolist()) for name, chosen in suspects.groupby("set_class")}
    return {"rows": [[*place, *values] for place, values in zip(whole.index, whole.to_numpy().tolist(), strict=True)],
            "classes": classes}  # fmt: skip
