-- The earliest set within reach of a suspect heads its series for certain when nothing lies within reach before it.
create or replace temp table near_heads as
select suspect, suspect_place, head, before is null or head - before > {reach} as certain
from (
    select suspect, suspect_place,
        min(place) filter (place >= suspect_place - {reach}) as head,
        max(place) filter (place < suspect_place - {reach}) as before
    from near_sets
    where is_mate
    group by suspect, suspect_place
)
