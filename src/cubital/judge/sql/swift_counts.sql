-- Sets per month, place and class: what was decided at once, and what the partners of the suspects decided. Sets that
-- grew something are taken off the whole and added again under what they grew.
with tally as (
    select s.month, s.facility, s.unit_key, s.status{asked_columns}, 0 as grew, s.number from set_tally s
    union all
    select s.month, s.facility, s.unit_key, s.status{asked_columns}, 0 as grew, -s.number as number from grown_tally s
    union all
    select s.month, s.facility, s.unit_key, s.status{asked_columns}, s.grew, s.number from grown_tally s
),
sorted_out as (
    select t.month, t.facility, t.unit_key, t.number,
        case when t.outside is not null then 'outside' else r.set_class end as set_class,
        t.outside is null as in_population, t.grew > 0 as grown, t.status = 'preliminary' as preliminary,
        false as excluded
    from (select s.*, {outside} as outside from tally s where {valid}) t
    join growth_rules r on r.grew = t.grew
    union all
    select c.month, c.facility, c.unit_key, count(*), v.set_class, false, false, false, v.reason = 'solitary_excluded'
    from suspects c
    join verdicts v on v.set_id = c.set_id
    group by all
),
placed as (
    select p.*, coalesce(n.current_key, p.unit_key) as unit, coalesce(n.unit_name, p.unit_key) as unit_name
    from sorted_out p
    left join unit_now n on n.facility = p.facility and n.unit_key = p.unit_key
)
select month, {facility} as facility, {unit} as unit, min({unit_name}) as unit_name,
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
