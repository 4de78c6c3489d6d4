-- The sets whose class their partners decide, one row each.
create or replace temp table suspects as
select s.month, s.facility, s.unit_key, one.suspect.set_id, one.suspect.patient_key, one.suspect.place
from tally s
cross join unnest(s.suspects) as one(suspect)
where s.suspects is not null and {valid} and {outside} is null
