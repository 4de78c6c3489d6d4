-- One pass over all sets: how many of each growth per month and place, and on the way the sets whose class their
-- partners decide, kept as lists because a second pass would cost as much again.
create or replace temp table tally as
select s.month, s.facility, s.unit_key, s.status, {outside} as outside, coalesce(g.grew, 0) as grew,
    count(*) as number,
    list({{'set_id': s.set_id, 'patient_key': case when {pairable} then s.patient_key end, 'place': {place}}})
        filter (g.grew in ({undecided}) and {outside} is null) as suspects
from sets s
left join growth g on g.set_id = s.set_id
where {valid} and {inside}
group by all
