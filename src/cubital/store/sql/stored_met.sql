-- The stored rows that the file speaks about again; read once, because a large table stands behind them.
create or replace temp table merge_stored as
select p.row_set, s.* from stored_sets s join merge_pairs p using (set_id)
