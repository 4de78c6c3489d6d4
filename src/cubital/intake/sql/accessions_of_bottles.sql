-- The share of numbers that pair up: equal but for their ending, same patient, same collection, different bottles.
with numbers as (
  select
    accession_stem(accession) as stem,
    accession,
    any_value(patient) as patient,
    any_value("collected"::varchar) as collected,
    any_value(bottle) as bottle
  from staged
  where accession is not null and unkept is null
  group by accession
),
stems as (
  select
    count(*) as many,
    count(*) between 2 and 4 and count(distinct patient) = 1 and count(distinct collected) = 1
      and count(distinct bottle) = count(*) as paired
  from numbers
  group by stem
)
select sum(many) filter (where paired) / sum(many) from stems
