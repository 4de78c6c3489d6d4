-- Counted and contaminated sets in every cell that the asked dimensions make. A set whose hour is not known has none.
with told as (
    select j.counted, j.set_class = 'contaminated' as hit, j.outside is null as in_population, j.grew > 0 as grown,
        j.month, s.day, j.facility, j.unit, j.unit_name,
        s.collector_key as collector, s.attribution, s.age_group, s.method, s.site,
        isodow(s.collected_local)::integer as weekday,
        case when s.time_quality in ('exact', 'ambiguous_hour') then hour(s.collected_local)::integer end as hour
    from judged_sets j
    join sets s on s.set_id = j.set_id
    where j.inside
)
select {cells}, count(*) filter (counted) as denominator, count(*) filter (counted and hit) as numerator,
    count(*) filter (in_population) as sets, count(*) filter (in_population and grown) as positives
from told
group by {places}
having count(*) filter (in_population) > 0
order by {places}
