-- By month: the valid sets of the file, and those stored of the same facility before it.
with arriving as (
  select month, count(*) as sets from merge_arriving where status not in ('cancelled', 'rejected') group by month
),
stored as (
  select month, count(*) as sets from stored_sets
  where status not in ('cancelled', 'rejected') and facility in (select facility from merge_arriving)
  group by month
)
select coalesce(a.month, s.month) as month, coalesce(a.sets, 0) as arriving, coalesce(s.sets, 0) as stored
from arriving a
full join stored s using (month)
order by month
