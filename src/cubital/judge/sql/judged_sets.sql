-- Class, reason and series of every set that stands: the view `judged` shows those in scope.
create or replace temp table judged_sets as
select
    t.set_id, t.facility, t.month, t.status, t.patient_key, t.place, t.inside, t.grew, t.outside,
    coalesce(r.series_id, t.set_id) as series_id,
    coalesce(r.series_size, 1) as series_size,
    coalesce(n.current_key, t.unit_key) as unit,
    coalesce(n.unit_name, t.unit_key) as unit_name,
    case when t.outside is not null then 'outside' else coalesce(v.set_class, u.set_class) end as set_class,
    coalesce(t.outside, v.reason, u.reason) as reason,
    t.outside is null and coalesce(v.set_class, u.set_class) <> 'outside'
        and (not $eligible_only or coalesce(r.series_size, 1) >= 2) as counted
from standing_sets t
left join series r on r.set_id = t.set_id
left join verdicts v on v.set_id = t.set_id
left join growth_rules u on u.grew = t.grew
left join unit_now n on n.facility = t.facility and n.unit_key = t.unit_key
