-- Everything near a suspect: far enough back to see whether its series begins where it seems to. Patients and coarse
-- stretches of time are matched first, because whole patients would be many more rows.
create or replace temp table near_sets as
with stretches as (
    select distinct patient_key, unnest(range((place - 2 * {reach}) // ({reach} + 1), (place + {reach}) // ({reach} + 1) + 1))
        as stretch
    from suspects
    where patient_key is not null
),
nearby as (
    select s.set_id, s.facility, s.patient_key, {place} as place
    from sets s
    join stretches t on t.patient_key = s.patient_key and t.stretch = {place} // ({reach} + 1)
    where {valid} and {pairable}
)
select c.set_id as suspect, c.place as suspect_place, n.set_id, n.place
from nearby n
join suspects c on c.patient_key = n.patient_key and c.facility = n.facility
where n.place between c.place - 2 * {reach} and c.place + {reach}
