-- The sets in scope whose class their partners decide, found without looking at any other set.
create or replace temp table suspects as
select s.set_id, s.facility, s.month, s.unit_key, {place} as place,
    case when {pairable} then s.patient_key end as patient_key
from sets s
{follow_up_join}
where s.set_id in (
        select g.set_id from growth g join growth_rules r on r.grew = g.grew where r.set_class is null
    )
    and {valid} and {inside} and {outside} is null
