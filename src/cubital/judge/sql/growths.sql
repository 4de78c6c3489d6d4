-- Sets that grew each organism, by day and unit of today. A set counts once per organism, however many bottles grew it.
select s.day, s.facility, coalesce(n.current_key, s.unit_key) as unit,
    coalesce(n.unit_name, s.unit_key) as unit_name, i.organism_key as organism, count(distinct s.set_id) as sets
from sets s
join isolates i on i.set_id = s.set_id and not i.negated
left join unit_now n on n.facility = s.facility and n.unit_key = s.unit_key
where {valid} and s.day is not null and i.organism_key <> ''
    and s.day >= $first_day and s.day <= $last_day
group by all
order by all
