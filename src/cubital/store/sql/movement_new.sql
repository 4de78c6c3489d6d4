-- A stay that starts when a known one of that patient starts replaces it: later files know better when it ended.
create or replace temp table moving_new as
select distinct facility, patient_key, unit_key, from_at, to_at, coalesce(strftime(from_at, '%Y-%m'), 'undated') as month
from new_movements
