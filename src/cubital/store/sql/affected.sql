-- The months that must be written anew: where a changed set lay, and where it lies now.
create or replace temp table merge_affected as
select old_month as month from merge_fates where fate = 'changed'
union
select new_month from merge_fates where fate = 'changed'
