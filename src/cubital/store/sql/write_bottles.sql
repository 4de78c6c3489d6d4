-- Bottles of new sets, of sets whose bottles changed, and of what else lies in the months of these.
select b.row_set + {offset} as set_id, {columns}, coalesce(n.month, 'undated') as month
from new_bottles b join new_sets n using (row_set) anti join merge_pairs using (row_set)
union all
select f.set_id, {columns}, f.new_month as month
from merge_bottles join merge_fates f using (row_set) where f.fate = 'changed' and not f.same_bottles
union all
select set_id, {columns}, month
from stored_bottles
where month in (from merge_affected_bottles)
  and set_id not in (select set_id from merge_fates where fate = 'changed' and not same_bottles)
