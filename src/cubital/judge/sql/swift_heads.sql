-- The earliest set within reach of a suspect heads its series for certain when nothing lies within reach before it.
-- A suspect without anything near has no row: it stands alone.
create or replace temp table near_heads as
select suspect, suspect_place, head, before is null or head - before > {reach} as certain
from (
    select suspect, suspect_place,
        least(suspect_place, coalesce(min(case when place >= suspect_place - {reach} then place end), suspect_place))
            as head,
        max(case when place < suspect_place - {reach} then place end) as before
    from near_sets
    where is_mate
    group by suspect, suspect_place
) reached
