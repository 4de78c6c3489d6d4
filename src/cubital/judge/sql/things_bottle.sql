-- One row per bottle of a counted set, where the file says which bottle grew.
create or replace temp view counted_things as
select j.month, j.facility, j.unit, b.grew and j.set_class = 'contaminated' as hit
from judged_sets j
join bottles b on b.set_id = j.set_id
where j.counted and j.inside and b.grew is not null
