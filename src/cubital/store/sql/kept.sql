-- A file of messages speaks of the bottles that it names and of no other (new_said): what is stored of the others stays.
-- Where it speaks of the whole set (bottle 0), or stored growth has no bottle, the file's word replaces all, as a table's.
create or replace temp table merge_said as
select s.row_set, s.bottle
from new_said s
semi join merge_pairs using (row_set)
where s.row_set not in (select row_set from new_said where bottle = 0)
  and s.row_set not in (
    select p.row_set from stored_isolates i join merge_pairs p using (set_id) where i.bottle is null
  );

create or replace temp table merge_kept_bottles as
select p.row_set, b.bottle, b.kind, b.fill_ml, b.fill_source, b.grew
from stored_bottles b
join merge_pairs p using (set_id)
semi join merge_said s on s.row_set = p.row_set
anti join merge_said t on t.row_set = p.row_set and t.bottle = b.bottle;

create or replace temp table merge_kept_isolates as
select p.row_set, i.bottle, i.organism_key, i.raw_text, i.match, i.negated
from stored_isolates i
join merge_pairs p using (set_id)
semi join merge_said s on s.row_set = p.row_set
anti join merge_said t on t.row_set = p.row_set and t.bottle = i.bottle
