-- Where the stored sets change: by hospital and month, what comes new, and where a changed set lay and lies now.
create or replace temp table merge_touched as
select facility, month from merge_arriving anti join merge_pairs using (row_set)
union
select m.facility, unnest([f.old_month, f.new_month])
from merge_fates f join merge_merged m using (row_set) where f.fate = 'changed'
