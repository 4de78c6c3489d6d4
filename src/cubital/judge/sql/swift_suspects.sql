-- The sets whose class their partners decide, one row each, and from where to where their partners may stand.
create or replace temp table suspects as
select s.set_id, s.month, s.facility, s.unit_key, s.patient_key, {place} as place,
    {place} - {look_back} * {reach} as earliest, {place} + {reach} as latest
from grown_sets s
where s.grew in ({undecided}) and {inside} and {valid} and {outside} is null
