-- The share of numbers under which the same bottle comes at several collection times of one patient.
with bottles as (
  select accession, patient, bottle, count(distinct "collected"::varchar) as draws
  from staged
  where accession is not null and unkept is null
  group by accession, patient, bottle
),
numbers as (
  select accession, max(draws) > 1 as several from bottles group by accession
)
select count(*) filter (where several) / count(*) from numbers
