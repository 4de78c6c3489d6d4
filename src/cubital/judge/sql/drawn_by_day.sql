-- Valid sets by day and unit of today, whatever they grew: how much was drawn where.
with placed as (
    select s.day, s.facility, coalesce(n.current_key, s.unit_key) as unit,
        coalesce(n.unit_name, s.unit_key) as unit_name
    from sets s
    left join unit_now n on n.facility = s.facility and n.unit_key = s.unit_key
    where {valid} and s.day is not null and s.day >= $first_day and s.day <= $last_day
)
select day, facility, unit, unit_name, count(*) as sets
from placed
group by day, facility, unit, unit_name
order by day, facility, unit, unit_name
