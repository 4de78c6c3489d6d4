-- Where the patient was when the set was drawn, by the ward movements known so far. Only an exact time can say so.
-- Of stays that overlap, the one entered last counts: a theatre visit inside a ward stay.
create or replace temp table merge_placed as
select n.row_set, first(m.unit_key order by m.from_at desc, m.to_at, m.unit_key) as unit_key
from new_sets n
join stored_movements m
  on m.facility = n.facility and m.patient_key = n.patient_key
 and m.from_at <= n.collected_at and (m.to_at is null or n.collected_at < m.to_at)
where n.time_quality = 'exact' and m.unit_key <> ''
group by n.row_set
