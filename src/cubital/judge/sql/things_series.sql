-- One row per series with a counted set, in the month and unit of the first of these.
create or replace temp view counted_things as
select month, facility, unit, hit
from (
    select month, facility, unit, inside,
        bool_or(set_class = 'contaminated') over (partition by series_id) as hit
    from judged_sets
    where counted
    qualify row_number() over (partition by series_id order by place, set_id) = 1
)
where inside
