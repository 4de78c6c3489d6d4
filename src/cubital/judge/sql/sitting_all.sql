-- Every valid set that has a patient and a time.
create or replace temp table sitting as
select s.set_id, {home} as home, s.patient_key, {place} as place
from sets s
where {valid} and {pairable}
