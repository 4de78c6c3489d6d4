-- Per patient and start: new, the same as known, or changed.
create or replace temp table moving_fates as
with arriving as (
  select facility, patient_key, from_at, any_value(month) as month,
    list(row(unit_key, to_at) order by unit_key, to_at) as content
  from moving_new group by facility, patient_key, from_at
),
known as (
  select s.facility, s.patient_key, s.from_at,
    list(row(s.unit_key, s.to_at) order by s.unit_key, s.to_at) as content
  from stored_movements s
  semi join arriving a
    on a.facility = s.facility and a.patient_key = s.patient_key and a.from_at is not distinct from s.from_at
  group by s.facility, s.patient_key, s.from_at
)
select a.facility, a.patient_key, a.from_at, a.month,
  case
    when k.content is null then 'added'
    when a.content = k.content then 'unchanged'
    else 'changed'
  end as fate
from arriving a
left join known k
  on k.facility = a.facility and k.patient_key = a.patient_key and k.from_at is not distinct from a.from_at
