-- In islands longer than the reach: the first set, then the first one beyond its reach, and so on.
create or replace temp table heads as
with recursive
long as (
    select distinct facility, patient_key, island, place, first_place from islands where last_place - first_place > $reach
),
heads as (
    select distinct facility, patient_key, island, first_place as head from long
    union all
    select l.facility, l.patient_key, l.island, min(l.place) as head
    from heads h
    join long l on l.facility = h.facility and l.patient_key = h.patient_key and l.island = h.island
    where l.place > h.head + $reach
    group by l.facility, l.patient_key, l.island
)
select * from heads
