-- Isolates of new sets, of changed sets, and of what else lies in the months of changed sets.
select i.row_set + {offset} as set_id, {columns}, coalesce(n.month, 'undated') as month
from new_isolates i join new_sets n using (row_set) anti join merge_pairs using (row_set)
union all
select f.set_id, {columns}, f.new_month as month
from new_isolates join merge_fates f using (row_set) where f.fate = 'changed'
union all
select set_id, {columns}, month
from stored_isolates
where month in (from merge_affected)
  and set_id not in (select set_id from merge_fates where fate = 'changed')
