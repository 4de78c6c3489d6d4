-- Sets that grew each organism, by day and unit of today. A set counts once per organism, however many bottles grew it,
-- and of one patient's sets only the first: the next one counts after more than $apart days without that organism.
with grown as (
    select distinct s.set_id, s.patient_key, s.day, s.facility, coalesce(n.current_key, s.unit_key) as unit,
        coalesce(n.unit_name, s.unit_key) as unit_name, split_part(i.organism_key, '~', 1) as organism
    from sets s
    join isolates i on i.set_id = s.set_id and not i.negated
    left join unit_now n on n.facility = s.facility and n.unit_key = s.unit_key
    where {valid} and s.day is not null and i.organism_key <> ''
        and s.day >= $first_day and s.day <= $last_day
),
spaced as (
    select *, lag(day) over (partition by patient_key, organism order by day, set_id) as day_before
    from grown
)
select day, facility, unit, unit_name, organism, count(*) as sets
from spaced
where patient_key is null or day_before is null or date_diff('day', day_before, day) > $apart
group by day, facility, unit, unit_name, organism
order by day, facility, unit, unit_name, organism
