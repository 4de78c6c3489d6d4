-- New and changed stays, and what else lies in the months of changed stays.
select n.facility, n.patient_key, n.unit_key, n.from_at, n.to_at, n.month
from moving_new n
semi join (from moving_fates where fate <> 'unchanged') f
  on f.facility = n.facility and f.patient_key = n.patient_key and f.from_at is not distinct from n.from_at
union all
select s.facility, s.patient_key, s.unit_key, s.from_at, s.to_at, s.month
from stored_movements s
anti join (from moving_fates where fate = 'changed') f
  on f.facility = s.facility and f.patient_key = s.patient_key and f.from_at is not distinct from s.from_at
where s.month in (select month from moving_fates where fate = 'changed')
