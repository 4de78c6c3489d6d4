-- All sets of the patients with a suspect whose series may begin anywhere.
create or replace temp table sitting as
select s.set_id, s.facility as home, s.patient_key, {place} as place
from sets s
where {valid} and {pairable} and s.patient_key in (
    select c.patient_key from suspects c join near_heads h on h.suspect = c.set_id where not h.certain
)
