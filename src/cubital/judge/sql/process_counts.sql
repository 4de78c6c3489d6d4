-- How the valid sets in scope were drawn and sent. Times that run backwards or are no times are unknown.
with per_bottle as (
    select b.set_id,
        bool_or(b.kind in ('aerobic', 'anaerobic', 'paediatric')) as measurable,
        bool_or(b.kind = 'paediatric') or (bool_or(b.kind = 'aerobic') and bool_or(b.kind = 'anaerobic')) as complete
    from bottles b
    where b.set_id in (select set_id from judged_sets where inside)
    group by b.set_id
),
naming as (
    select distinct facility from sets where attribution <> 'none'
),
drawn as (
    select j.month, j.facility, j.unit, j.unit_name,
        j.outside is null as in_population,
        p.measurable, p.complete,
        case when s.time_quality in ('exact', 'ambiguous_hour') and s.received_at >= s.collected_at
            then date_diff('second', s.collected_at, s.received_at) / 60.0 end as minutes,
        j.facility in (select facility from naming) as names_collectors,
        s.attribution in ('A', 'B') as attributed
    from judged_sets j
    join sets s on s.set_id = j.set_id
    left join per_bottle p on p.set_id = j.set_id
    where j.inside
),
per_place as (
    select month, {facility} as facility, {unit} as unit, min({unit_name}) as unit_name,
        count(*) filter (in_population) as sets,
        count(*) filter (in_population and measurable) as bottle_measurable,
        count(*) filter (in_population and measurable and complete) as bottle_complete,
        count(minutes) filter (in_population) as timed,
        count(*) filter (in_population and minutes > $late) as late,
        count(*) filter (in_population and minutes > $very_late) as very_late,
        median(minutes) filter (in_population) as median_minutes,
        count(*) as collector_sets,
        count(*) filter (names_collectors) as collector_measurable,
        count(*) filter (attributed) as attributed
    from drawn
    group by all
),
filled as (
    select j.month, {facility} as facility, {unit} as unit,
        count(*) as fills, median(b.fill_ml) as fill_median_ml,
        count(*) filter (b.fill_ml < $fill_low) as fills_low,
        count(*) filter (b.fill_ml > $fill_high) as fills_high
    from judged_sets j
    join bottles b on b.set_id = j.set_id
    where j.inside and j.outside is null and b.fill_ml is not null
    group by all
)
select per_place.*, coalesce(fills, 0) as fills, fill_median_ml,
    coalesce(fills_low, 0) as fills_low, coalesce(fills_high, 0) as fills_high
from per_place
left join filled using (month, facility, unit)
order by month, facility, unit
