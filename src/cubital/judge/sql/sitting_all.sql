-- Every valid set that has a patient and a time.
create or replace temp table sitting as
select s.set_id, s.facility, s.patient_key, {place} as place
from sets s
where {valid} and {pairable}
