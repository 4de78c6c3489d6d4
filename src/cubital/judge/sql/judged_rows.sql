-- The judged sets in scope, as rows for dataclasses.
with wanted as (
    select * from judged_sets where inside and {wanted}
    order by facility, place nulls last, set_id
    limit $most
),
shown as (
    select set_id from wanted
    union
    select m.set_id from judged_sets m where m.series_id in (select series_id from wanted where series_size > 1)
),
named as (
    select set_id, list(distinct organism_key order by organism_key) as organisms
    from isolates
    where not negated and set_id in (select set_id from shown)
    group by set_id
),
bottled as (
    select set_id,
        bool_or(kind = 'paediatric') or (bool_or(kind = 'aerobic') and bool_or(kind = 'anaerobic')) as complete
    from bottles
    where set_id in (select set_id from wanted)
    group by set_id
    having bool_or(kind in ('aerobic', 'anaerobic', 'paediatric'))
),
company as (
    select w.set_id, list(
        {{'set_id': m.set_id, 'accession': s.accession, 'set_class': m.set_class, 'organisms': coalesce(n.organisms, [])}}
        order by m.place, s.accession, m.set_id
    ) as companions
    from wanted w
    join judged_sets m on m.series_id = w.series_id and m.set_id <> w.set_id
    join sets s on s.set_id = m.set_id
    left join named n on n.set_id = m.set_id
    group by w.set_id
)
select w.set_id, w.facility, s.accession, w.month, s.day, s.collected_local, s.time_quality, w.unit, w.unit_name,
    s.attribution, w.status, w.set_class, w.reason, w.series_id, w.series_size, w.patient_key is null as unpairable,
    w.counted, coalesce(n.organisms, []) as organisms, coalesce(c.companions, []) as companions,
    case when s.time_quality in ('exact', 'ambiguous_hour') and s.received_at >= s.collected_at
        then date_diff('second', s.collected_at, s.received_at) / 60.0 end as minutes_to_receipt,
    b.complete as bottles_complete
from wanted w
join sets s on s.set_id = w.set_id
left join named n on n.set_id = w.set_id
left join bottled b on b.set_id = w.set_id
left join company c on c.set_id = w.set_id
order by w.facility, s.collected_at nulls last, s.accession, w.set_id
