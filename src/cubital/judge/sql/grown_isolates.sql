-- Every organism of every set by its number, with what it counts as. Negated organisms are no growth.
create or replace temp table grown_isolates as
select i.set_id, o.organism, o.grows
from {isolates} i
join organism_standing o on o.organism_key = i.organism_key
where not i.negated
