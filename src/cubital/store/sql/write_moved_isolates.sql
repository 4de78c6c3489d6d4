-- The isolates of the months of moved sets: each repeats the unit of its set.
select i.* replace (coalesce(m.unit_key, i.unit_key) as unit_key)
from stored_isolates i
left join moving_sets m using (set_id)
where i.month in (select month from moving_sets)
