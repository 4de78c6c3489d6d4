-- Every valid set of the patients who have a set in scope, on the line of time.
create or replace temp table sitting as
select s.set_id, {home} as home, s.patient_key, {place} as place
from sets s
where {valid} and {pairable}
    and s.patient_key in (select s.patient_key from sets s where {valid} and {inside} and s.patient_key is not null)
