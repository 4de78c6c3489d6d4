"""Writes a large, invented bottle-level export: what a laboratory would send for several years of a big hospital.

Made inside the engine so that a million rows take seconds. Seeded: the same arguments give the same file.
"""

from __future__ import annotations

import sys
from pathlib import Path

import duckdb

ROWS_PER_SET = 2.2  # two bottles, some with a preliminary row before the final one

_QUERY = """
copy (
  with draws as (
    select
      i as draw,
      1000000 + i as acc_no,
      70000 + (hash(i // 2) % (greatest({sets} // 3, 1)))::bigint as mrn,
      timestamp '2023-01-01 00:00' + to_minutes((i * 1578000 / {sets})::bigint) as collected,
      hash(i + 11) as h
    from range({sets}) t(i)
  ),
  rows as (
    select *, unnest(case when h % 10 < 2 then [0, 1, 2] else [1, 2] end) as part from draws
  )
  select
    acc_no as "ACC_NO",
    mrn as "MRN",
    strftime(date '1930-01-01' + (hash(mrn) % 33000)::integer, '%Y-%m-%d') as "DOB",
    case when hash(mrn + 5) % 2 = 0 then 'F' else 'M' end as "SEX",
    ['ED','ICU','5 WEST','6 EAST','SURG A','SURG B','PEDS','ONC','MED 3','NEPH'][1 + (h % 10)::integer] as "LOC",
    strftime(collected - interval 9 minute, '%Y-%m-%d %H:%M') as "ORD_DT",
    strftime(collected, '%Y-%m-%d %H:%M') as "COLL_DT",
    strftime(collected + to_minutes((20 + h % 90)::bigint), '%Y-%m-%d %H:%M') as "RECV_DT",
    strftime(collected + to_minutes((40 + h % 90)::bigint), '%Y-%m-%d %H:%M') as "LOAD_DT",
    case when h % 12 = 0 then strftime(collected + to_minutes((900 + h % 900)::bigint), '%Y-%m-%d %H:%M') end
      as "POS_DT",
    case when part = 2 then 'ANA' else 'AER' end as "BOTTLE",
    case when h % 5 = 0 then '' else 'C' || (h % 211)::varchar end as "COLLECTOR",
    ['L AC','R AC','L hand','PICC purple','BLOOD',''][1 + (h % 6)::integer] as "SITE",
    ['VENEPUNCTURE','LINE',''][1 + (h % 3)::integer] as "METHOD",
    printf('%.1f', 4 + (hash(draw * 3 + part) % 70) / 10.0) as "FILL_ML",
    'BLOOD CULTURE' as "SPECIMEN",
    'BC ROUTINE' as "TEST",
    case when part = 0 then 'P' else 'F' end as "STATUS",
    case
      when part = 0 then 'NO GROWTH AT 1 DAY'
      when h % 12 = 0
        then ['CNS','E.coli','Escherichia coli','STAPH HOMINIS','Klebsiella pneumoniae'][1 + (h % 5)::integer]
      else 'NO GROWTH AT 5 DAYS'
    end as "RESULT",
    'BC' || (h % 40)::varchar as "LOT"
  from rows order by draw, part
) to '{out}' (header, delimiter ',')
"""


def write_export(out: Path, *, rows: int) -> int:
    """Writes about ``rows`` data rows of twenty columns to ``out`` and returns how many there are."""
    connection = duckdb.connect()
    connection.execute(_QUERY.format(sets=int(rows / ROWS_PER_SET), out=str(out).replace("'", "''")))
    (count,) = connection.execute(f"select count(*) from read_csv('{out}', all_varchar=true)").fetchone() or (0,)
    connection.close()
    return int(count)


if __name__ == "__main__":
    print(write_export(Path(sys.argv[1]), rows=int(sys.argv[2])))
