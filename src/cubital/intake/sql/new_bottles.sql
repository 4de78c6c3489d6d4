-- The bottles that the file names; a file that does not name bottles has none here.
create or replace table new_bottles as
select
  l.row_set,
  l.bottle::integer as bottle,
  case l.bottle % 10 when 1 then 'aerobic' when 2 then 'anaerobic' when 3 then 'paediatric' else 'other' end as kind,
  max(l.fill_ml) as fill_ml,
  case when max(l.fill_ml) is null then '' else 'file' end as fill_source,
  case max(l.growth) when 2 then true when 1 then false end as grew
from live l
where l.bottle > 0 and l.dead = 0
group by l.row_set, l.bottle
