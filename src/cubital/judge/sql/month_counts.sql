-- Everything that is counted per month and place.
with base as (
    select month, {facility} as facility, {unit} as unit, min({unit_name}) as unit_name,
        count(*) filter (outside is null) as sets,
        count(*) filter (outside is null and grew > 0) as positives,
        count(*) filter (outside is null and status = 'preliminary') as preliminary,
        count(*) filter (reason = 'solitary_excluded') as solitary_excluded,
        count(*) filter (set_class = 'no_growth') as no_growth,
        count(*) filter (set_class = 'pathogen') as pathogen,
        count(*) filter (set_class = 'contaminated') as contaminated,
        count(*) filter (set_class = 'solitary_commensal') as solitary_commensal,
        count(*) filter (set_class = 'adjudicate') as adjudicate,
        count(*) filter (set_class = 'unresolved') as unresolved,
        count(*) filter (set_class = 'outside') as outside,
        count(*) filter (outside is null and patient_key is null) as unpairable,
        count(*) filter (outside is null and patient_key is not null and series_size = 1) as solitary,
        count(*) filter (outside is null and series_size >= 2) as eligible
    from judged_sets
    where inside
    group by all
),
things as (
    select month, {facility} as facility, {unit} as unit, count(*) filter (hit) as numerator, count(*) as denominator
    from counted_things
    group by all
),
first_sets as (
    select month, facility, unit, inside
    from judged_sets
    where outside is null and patient_key is not null
    qualify row_number() over (partition by series_id order by place, set_id) = 1
),
starting as (
    select month, {facility} as facility, {unit} as unit, count(*) as episodes
    from first_sets
    where inside
    group by all
)
select base.*, coalesce(numerator, 0) as numerator, coalesce(denominator, 0) as denominator,
    coalesce(episodes, 0) as episodes
from base
left join things using (month, facility, unit)
left join starting using (month, facility, unit)
order by month, facility, unit
