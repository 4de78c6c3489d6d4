-- New sets; changed sets; and what else lies in the months of changed sets.
select row_set + {offset} as set_id, {columns}, {batch}::integer as batch, file_unit_key
from merge_arriving anti join merge_pairs using (row_set)
union all
select set_id, {columns}, {batch}::integer as batch, file_unit_key
from merge_merged semi join (from merge_fates where fate = 'changed') using (set_id)
union all
select set_id, {columns}, batch, file_unit_key
from stored_sets
where month in (from merge_affected)
  and set_id not in (select set_id from merge_fates where fate = 'changed')
