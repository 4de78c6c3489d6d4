-- One pass over all sets: how many of each growth per month and place, and on the way the sets whose class their
-- partners decide, kept as lists because a second pass would cost as much again. Grouped by the words as they stand
-- and sorted out afterwards, because a condition on ten million words costs more than grouping by them.
create or replace temp table tally as
select s.month, s.facility, s.unit_key, s.status{asked_columns}, coalesce(g.grew, 0) as grew,
    count(*) as number,
    list({{'set_id': s.set_id, 'patient_key': s.patient_key, 'place': {place}}})
        filter (g.grew in ({undecided})) as suspects
from sets s
left join growth g on g.set_id = s.set_id
where {inside}
group by all
