-- What sets with different organisms grew, as bits (1 commensal, 2 other, 4 unread).
create or replace temp table mixed_growth as
select s.set_id, bit_or(o.grows) as grew
from isolate_facts s
join organism_standing o on o.organism_key = s.organism_key
where s.mixed and not s.negated
group by s.set_id
