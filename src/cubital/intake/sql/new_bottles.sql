-- The bottles that the file names; a file that does not name bottles has none here.
select
  row_set,
  bottle::integer as bottle,
  case bottle % 10 when 1 then 'aerobic' when 2 then 'anaerobic' when 3 then 'paediatric' else 'other' end as kind,
  fill_ml,
  case when fill_ml is null then '' else 'file' end as fill_source,
  case growth when 2 then true when 1 then false end as grew
from bottle_values
where bottle > 0 and growth is not null
