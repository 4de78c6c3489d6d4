-- Where series begin in islands longer than the reach: the first set, then the first one beyond its reach, and so on.
create or replace temp table heads as
with long_islands as (
    select distinct patient_key, home, first_place from islands where place - first_place > $reach
),
listed as (
    select i.patient_key, i.home, i.first_place, list(distinct i.place order by i.place) as places
    from islands i
    join long_islands l on l.patient_key = i.patient_key and l.home = i.home and l.first_place = i.first_place
    group by i.patient_key, i.home, i.first_place
),
cut as (
    select patient_key, home, first_place,
        list_reduce(
            list_transform(places, lambda place: [place]),
            lambda begun, later:
                case when list_first(later) > list_last(begun) + $reach then list_concat(begun, later) else begun end
        ) as heads
    from listed
)
select c.patient_key, c.home, c.first_place, h.head
from cut c
cross join unnest(c.heads) as h(head)
