-- The months of moved sets, with each moved set in its new unit.
select s.* replace (coalesce(m.unit_key, s.unit_key) as unit_key)
from stored_sets s
left join moving_sets m using (set_id)
where s.month in (select month from moving_sets)
