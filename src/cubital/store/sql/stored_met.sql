-- The stored rows that the file speaks about again.
create or replace temp view merge_stored as
select p.row_set, s.* from stored_sets s join merge_pairs p using (set_id)
