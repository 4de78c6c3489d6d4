-- How many series in scope have a set of the class, and none of it from a patient of the ages that are left out.
with told as (
    select j.series_id, s.age_group in ({ages}) as left_out
    from judged_sets j
    join sets s on s.set_id = j.set_id
    where j.inside and j.counted and j.set_class = {set_class}
)
select count(*) as series
from (select series_id from told group by series_id having not bool_or(left_out))
