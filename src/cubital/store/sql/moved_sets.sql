-- Stored sets of the file's facilities whose collecting unit is another one now that these stays are known.
create or replace temp table moving_sets as
with placed as (
  select s.set_id, first(m.unit_key order by m.from_at desc, m.to_at, m.unit_key) as unit_key
  from stored_sets s
  join moving_after m
    on m.facility = s.facility and m.patient_key = s.patient_key
   and m.from_at <= s.collected_at and (m.to_at is null or s.collected_at < m.to_at)
  where s.time_quality = 'exact' and m.unit_key <> ''
  group by s.set_id
)
select s.set_id, s.month, coalesce(p.unit_key, s.file_unit_key) as unit_key
from stored_sets s
left join placed p using (set_id)
where s.facility in (select facility from moving_new)
  and coalesce(p.unit_key, s.file_unit_key) is distinct from s.unit_key
