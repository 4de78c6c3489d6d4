"""Synthetic cultures as Parquet files in the shape and layout of the stored tables: many years of an invented network.

Sixty months, three hospitals, forty units, skewed patients, one to four sets per episode, 7 to 8 % of the sets with
growth, polymicrobial sets among them. Everything follows from hashes of row numbers, so that the same size gives the
same files on any machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import duckdb

from cubital.domain.tables import SET_FACTS
from cubital.engine import load_sql

SETS_PER_EPISODE = 2.2
COMMENSALS = (
    "staphylococcus-epidermidis", "staphylococcus-hominis", "staphylococcus-coagulase-negative", "cutibacterium-acnes",
    "corynebacterium", "micrococcus-luteus", "bacillus",
)  # fmt: skip
PATHOGENS = (
    "escherichia-coli", "staphylococcus-aureus", "klebsiella-pneumoniae", "enterococcus-faecalis",
    "pseudomonas-aeruginosa", "streptococcus-pneumoniae", "candida-albicans", "bacteroides-fragilis",
)  # fmt: skip

BLOCK = 10_000_000  # larger sizes are several networks of this one: other numbers, other patients
AS_STORED = "(format parquet, parquet_version v2, compression zstd)"

EPISODES = """
create or replace temp table episodes as
select
    e,
    (hash(e, 1) % 1000000) / 1e6 as luck,
    cast(floor({patients} * pow((hash(e, 2) % 1000000) / 1e6, 1.6)) as bigint) as patient,
    timestamp '2021-01-01' + to_seconds(cast(hash(e, 3) % {seconds} as bigint)) as started,
    cast(hash(e, 4) % 40 as integer) as unit,
    case when hash(e, 5) % 100 < 18 then 1 when hash(e, 5) % 100 < 72 then 2
         when hash(e, 5) % 100 < 88 then 3 else 4 end as draws
from range({episodes}) r(e)
"""
DRAWS = """
create or replace temp table draws as
select
    row_number() over (order by collected_at, e, draw) as set_id, * exclude (started, draws)
from (
    select
        *,
        started + case when hash(e, draw, 6) % 100 < 90 then to_minutes(cast(draw * 15 as bigint))
                  else to_minutes(cast(draw * 15 + hash(e, draw, 7) % 2400 as bigint)) end as collected_at
    from (select *, unnest(range(draws)) as draw from episodes)
)
"""
SETS = """
select
    set_id,
    case patient % 3 when 0 then 'Marrowby General' when 1 then 'Thistlecombe Community'
         else 'Orrin Quay Children''s' end as facility,
    printf('%09d', set_id) as accession,
    patient * 1000003 + 17 as patient_key,
    case when patient % 3 = 2 then '1_to_17' when hash(patient, 8) % 100 < 50 then '18_to_64'
         when hash(patient, 8) % 100 < 85 then '65_to_79' else '80_and_over' end as age_group,
    collected_at,
    collected_at as collected_local,
    'exact' as time_quality,
    collected_at + to_minutes(cast(10 + hash(set_id, 9) % 180 as bigint)) as received_at,
    cast(null as timestamp) as loaded_at,
    cast(null as timestamp) as first_positive_at,
    cast(collected_at as date) as day,
    strftime(collected_at, '%Y-%m') as month,
    'unit ' || unit as unit_key,
    cast(null as varchar) as collector_key,
    'none' as attribution,
    case when hash(set_id, 10) % 100 < 8 then 'central_line' else 'venepuncture' end as method,
    '' as site,
    case when hash(set_id, 11) % 1000 < 6 then 'cancelled' when hash(set_id, 11) % 1000 < 9 then 'preliminary'
         else 'final' end as status,
    '' as reject_reason,
    1 as batch
from draws
where collected_at >= $low and collected_at < $high
order by set_id
"""
ISOLATES = """
with grown as (
    select set_id, e, draw, luck,
        luck < 0.045 and hash(e, draw, 12) % 100 < 80 as sick,
        hash(set_id, 13) % 1000 < 34 as skin
    from draws
)
select set_id, cast(null as integer) as bottle, organism_key, organism_key as raw_text,
    case when organism_key = '' then 'unmatched' else 'exact' end as match,
    hash(set_id, organism_key, 14) % 200 = 0 as negated
from (
    select set_id, {pathogens}[1 + cast(hash(e, 15) % len({pathogens}) as bigint)] as organism_key from grown where sick
    union all
    select set_id, {commensals}[1 + cast(hash(set_id, 16) % len({commensals}) as bigint)] from grown where skin
    union all
    select set_id, {commensals}[1 + cast(hash(e, 17) % len({commensals}) as bigint)] from grown
        where luck between 0.045 and 0.053
    union all
    select set_id, case when hash(set_id, 18) % 2 = 0 then '' else 'staphylococcus' end from grown
    where hash(set_id, 19) % 1000 < 2
)
order by set_id
"""


@dataclass(frozen=True)
class MadeSets:
    """The files of one size: one Parquet file of sets and one of isolates per month, no bottles."""

    sets: tuple[Path, ...]
    isolates: tuple[Path, ...]
    rows: int


def make_sets(folder: Path, rows: int) -> MadeSets:
    """Writes about ``rows`` sets (within 1 %) under ``folder``; what is already there is used again."""
    folder.mkdir(parents=True, exist_ok=True)
    done = folder / "done"
    if not done.exists():
        done.write_text(str(_repeat(folder, rows // BLOCK) if rows > BLOCK else _write(folder, rows)))
    return MadeSets(
        sets=tuple(sorted(folder.glob("sets-*.parquet"))),
        isolates=tuple(sorted(folder.glob("isolates*.parquet"))),
        rows=int(done.read_text()),
    )


def _repeat(folder: Path, times: int) -> int:
    base = make_sets(folder.parent / f"sets-{BLOCK}", BLOCK)
    with duckdb.connect() as raw:
        for file in (*base.sets, *base.isolates):
            parts = " union all ".join(
                f"select * replace (set_id + {2 * BLOCK * place} as set_id, "
                f"patient_key + {10**15 * place} as patient_key) from '{file}'"
                for place in range(times)
            )
            raw.execute(f"copy ({parts}) to '{folder / file.name}' {AS_STORED}")
    return base.rows * times


def _write(folder: Path, rows: int) -> int:
    seconds = 60 * 365 * 24 * 3600 // 12
    with duckdb.connect() as raw:
        raw.execute("set preserve_insertion_order = true")
        raw.execute(f"set temp_directory = '{folder}'")
        raw.execute("set memory_limit = '6GB'")
        episodes = round(rows / SETS_PER_EPISODE)
        raw.execute(EPISODES.format(episodes=episodes, patients=episodes // 2, seconds=seconds))
        raw.execute(DRAWS)
        isolates = ISOLATES.format(pathogens=list(PATHOGENS), commensals=list(COMMENSALS))
        raw.execute(f"create or replace temp table isolates as {isolates}")
        for year in range(2021, 2027):
            for month in range(1, 13):
                after = f"{year + month // 12}-{month % 12 + 1:02d}-01"
                sql = SETS.replace("$low", f"'{year}-{month:02d}-01'").replace("$high", f"'{after}'")
                if raw.execute(f"select count(*) from ({sql})").fetchall()[0][0]:
                    _write_month(raw, folder, f"{year}-{month:02d}", sql)
        return int(raw.execute("select count(*) from draws").fetchall()[0][0])


def _write_month(raw: duckdb.DuckDBPyConnection, folder: Path, month: str, sql: str) -> None:
    sets, isolates = folder / f"sets-{month}.parquet", folder / f"isolates-{month}.parquet"
    raw.execute(f"copy ({sql}) to '{sets}' {AS_STORED}")
    placed = load_sql("cubital.store", "placed_isolates").format(
        isolates="isolates", sets=f"'{sets}'", facts=", ".join(f"s.{name}" for name in SET_FACTS)
    )
    raw.execute(f"copy ({placed} order by i.set_id) to '{isolates}' {AS_STORED}")
