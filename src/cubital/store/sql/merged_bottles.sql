-- The bottles of each set met again: the file's, or the stored ones where the file names none.
create or replace temp view merge_bottles as
select row_set, b.bottle, b.kind, b.fill_ml, b.fill_source, b.grew
from new_bottles b
semi join merge_pairs using (row_set)
union all
select p.row_set, b.bottle, b.kind, b.fill_ml, b.fill_source, b.grew
from stored_bottles b
join merge_pairs p using (set_id)
where p.row_set not in (select row_set from new_bottles)
