-- Where series begin in islands longer than the reach: the first set, then the first one beyond its reach, and so on.
create or replace temp table heads as
with recursive
long_islands as (
    select distinct patient_key, home, first_place from islands where place - first_place > $reach
),
long_sets as (
    select distinct i.patient_key, i.home, i.first_place, i.place
    from islands i
    join long_islands l on l.patient_key = i.patient_key and l.home = i.home and l.first_place = i.first_place
),
heads as (
    select patient_key, home, first_place, first_place as head from long_islands
    union all
    select l.patient_key, l.home, l.first_place, min(l.place) as head
    from heads h
    join long_sets l on l.patient_key = h.patient_key and l.home = h.home and l.first_place = h.first_place
    where l.place > h.head + $reach
    group by l.patient_key, l.home, l.first_place
)
select * from heads
