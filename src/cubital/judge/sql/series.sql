-- The series of every set that sits on the line of time: its number is the smallest set number in it.
create or replace temp table series as
with later_heads as (
    select i.set_id, max(h.head) as head
    from islands i
    join heads h on h.patient_key = i.patient_key and h.home = i.home and h.first_place = i.first_place
    where h.head <= i.place
    group by i.set_id
),
headed as (
    select i.set_id, i.patient_key, i.home, coalesce(l.head, i.first_place) as head
    from islands i
    left join later_heads l on l.set_id = i.set_id
)
select set_id, min(set_id) over one as series_id, cast(count(*) over one as integer) as series_size
from headed
window one as (partition by patient_key, home, head)
