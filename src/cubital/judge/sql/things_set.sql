-- One row per counted set.
create or replace temp view counted_things as
select month, facility, unit, set_class = 'contaminated' as hit from judged_sets where counted and inside
