-- One row per patient and month with a counted set, in the unit of the first of these. Sets without a patient are
-- each a patient of their own.
create or replace temp view counted_things as
select month, facility, unit, hit
from (
    select month, facility, unit, inside, bool_or(set_class = 'contaminated') over someone as hit
    from judged_sets
    where counted
    window someone as (partition by facility, month, patient_key, case when patient_key is null then set_id end)
    qualify row_number() over (
        partition by facility, month, patient_key, case when patient_key is null then set_id end order by place, set_id
    ) = 1
)
where inside
