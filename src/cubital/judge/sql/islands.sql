-- Sets of a patient without a gap wider than the reach stand in one island, which goes by the place of its first set.
-- Both windows must see sets of one moment in one order, or an island loses its first place.
create or replace temp table islands as
with gaps as (
    select *, lag(place) over (partition by patient_key, home order by place, set_id) as before
    from sitting
)
select set_id, home, patient_key, place,
    max(case when before is null or place - before > $reach then place end) over (
        partition by patient_key, home order by place, set_id rows unbounded preceding
    ) as first_place
from gaps
