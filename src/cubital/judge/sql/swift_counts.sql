-- Sets per month, place and class, in one pass over all sets; what the partners decided is put in afterwards.
with growths as (
    select s.month, s.facility, s.unit_key, s.status, {outside} as outside, coalesce(g.grew, 0) as grew,
        count(*) as number
    from sets s
    left join growth g on g.set_id = s.set_id
    where {valid} and {inside}
    group by all
),
sorted_out as (
    select month, facility, unit_key, number,
        case when outside is not null then 'outside' else r.set_class end as set_class,
        outside is null as in_population, g.grew > 0 as grown, status = 'preliminary' as preliminary, false as excluded
    from growths g
    join growth_rules r on r.grew = g.grew
    union all
    select c.month, c.facility, c.unit_key, count(*), v.set_class, false, false, false, v.reason = 'solitary_excluded'
    from suspects c
    join verdicts v on v.set_id = c.set_id
    group by all
),
placed as (
    select t.*, coalesce(n.current_key, t.unit_key) as unit, coalesce(n.unit_name, t.unit_key) as unit_name
    from sorted_out t
    left join unit_now n on n.facility = t.facility and n.unit_key = t.unit_key
)
select month, {facility_column} as facility, {unit_column} as unit, min({unit_name_column}) as unit_name,
    sum(number) filter (in_population) as sets,
    sum(number) filter (in_population and grown) as positives,
    sum(number) filter (in_population and preliminary) as preliminary,
    sum(number) filter (excluded) as solitary_excluded,
    sum(number) filter (set_class = 'no_growth') as no_growth,
    sum(number) filter (set_class = 'pathogen') as pathogen,
    sum(number) filter (set_class = 'contaminated') as contaminated,
    sum(number) filter (set_class = 'solitary_commensal') as solitary_commensal,
    sum(number) filter (set_class = 'adjudicate') as adjudicate,
    sum(number) filter (set_class = 'unresolved') as unresolved,
    sum(number) filter (set_class = 'outside') as outside
from placed
group by all
order by month, facility, unit
