-- Every stay known once this file is in.
create or replace temp table moving_after as
select facility, patient_key, unit_key, from_at, to_at from moving_new
union all
select s.facility, s.patient_key, s.unit_key, s.from_at, s.to_at
from stored_movements s
anti join moving_fates f
  on f.facility = s.facility and f.patient_key = s.patient_key and f.from_at is not distinct from s.from_at
where s.facility in (select facility from moving_new)
