-- Every set that grew something, with its facts and what it grew. Isolates know the facts of their set, so that no set
-- is looked up, and most sets grow one organism, so that little has to be added up.
create or replace temp view grown_sets as
select s.*, coalesce(g.grew, o.grows) as grew
from isolate_facts s
join organism_standing o on o.organism_key = s.organism_key
left join mixed_growth g on g.set_id = s.set_id
where s.leads
