-- The series of every set that sits on the line of time: its number is the smallest set number in it.
create or replace temp table series as
with headed as (
    select set_id, facility, patient_key, first_place as head from islands where last_place - first_place <= $reach
    union all
    select i.set_id, i.facility, i.patient_key, max(h.head) as head
    from islands i
    join heads h on h.facility = i.facility and h.patient_key = i.patient_key and h.island = i.island and h.head <= i.place
    where i.last_place - i.first_place > $reach
    group by i.set_id, i.facility, i.patient_key
)
select set_id, min(set_id) over one as series_id, cast(count(*) over one as integer) as series_size
from headed
window one as (partition by facility, patient_key, head)
