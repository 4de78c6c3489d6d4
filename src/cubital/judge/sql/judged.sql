create or replace temp view judged as
select set_id, set_class, reason, series_id from judged_sets where inside
