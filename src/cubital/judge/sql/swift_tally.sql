-- How many sets per month and place. Grouped by the words as they stand and sorted out afterwards, because a condition on
-- ten million words costs more than grouping by them.
create or replace temp table set_tally as
select s.month, s.facility, s.unit_key, s.status{asked_columns}, count(*) as number
from sets s
where {inside}
group by all
