-- The same for the bottles: a correction of a result leaves them as they are.
create or replace temp table merge_affected_bottles as
select old_month as month from merge_fates where fate = 'changed' and not same_bottles
union
select new_month from merge_fates where fate = 'changed' and not same_bottles
