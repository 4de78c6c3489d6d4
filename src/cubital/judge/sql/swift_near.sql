-- Everything near a suspect: far enough back to see whether its series begins where it seems to.
create or replace temp table near_sets as
select c.set_id as suspect, c.place as suspect_place, s.set_id, {place} as place
from sets s
join suspects c on c.patient_key = s.patient_key and c.facility = s.facility
where {valid} and {pairable} and {place} between c.place - 2 * {reach} and c.place + {reach}
