-- The bottles of each set met again: those told, or the stored ones where none is. What was called off did not grow.
create or replace temp view merge_bottles as
select row_set, b.bottle, b.kind, b.fill_ml, b.fill_source, b.grew
from merge_told_bottles b
semi join merge_pairs using (row_set)
union all
select p.row_set, b.bottle, b.kind, b.fill_ml, b.fill_source, if(m.status in ('cancelled', 'rejected'), null, b.grew)
from stored_bottles b
join merge_pairs p using (set_id)
join merge_merged m on m.row_set = p.row_set
where p.row_set not in (select row_set from merge_told_bottles)
