-- How many of the sets grew what, per month and place.
create or replace temp table grown_tally as
select s.month, s.facility, s.unit_key, s.status{asked_columns}, s.grew, count(*) as number
from grown_sets s
where {inside}
group by all
