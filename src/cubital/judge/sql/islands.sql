-- Sets of a patient without a gap wider than the reach. An island no longer than the reach is one series.
create or replace temp table islands as
with gaps as (
    select *, lag(place) over (partition by facility, patient_key order by place) as before
    from sitting
),
numbered as (
    select * exclude (before), count(*) filter (before is null or place - before > $reach) over (
        partition by facility, patient_key order by place rows unbounded preceding
    ) as island
    from gaps
)
select set_id, facility, patient_key, island, place,
    min(place) over whole as first_place, max(place) over whole as last_place
from numbered
window whole as (partition by facility, patient_key, island)
