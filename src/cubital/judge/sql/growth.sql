-- What every set grew, as bits (1 commensal, 2 other, 4 unread). Negated organisms are no growth.
create or replace temp table growth as
select i.set_id, bit_or(o.grows) as grew
from isolates i
join organism_standing o on o.organism_key = i.organism_key
where not i.negated
group by i.set_id
