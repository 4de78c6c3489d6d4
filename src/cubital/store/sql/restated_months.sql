-- Months of the file's facilities that already had sets and now have others: their figures are restated.
select distinct month
from (
  select facility, month from merge_arriving anti join merge_pairs using (row_set)
  union all
  select m.facility, unnest([f.old_month, f.new_month])
  from merge_fates f join merge_merged m using (row_set) where f.fate = 'changed'
) touched(facility, month)
semi join stored_sets using (facility, month)
order by month
