-- The valid sets in scope, and the others of their patients, with what they grew and whether the charter counts them.
create or replace temp view standing_sets as
select
    s.set_id, s.facility, s.month, s.unit_key, s.status,
    case when {pairable} then s.patient_key end as patient_key,
    {place} as place,
    {inside} as inside,
    {outside} as outside,
    coalesce(g.grew, 0) as grew
from sets s
left join growth g on g.set_id = s.set_id
{follow_up_join}
where {valid} and ({inside} or s.set_id in (select set_id from sitting))
