-- How many of them grew what. Isolates know the facts of their set, so that no set is looked up for them.
create or replace temp table grown_tally as
select s.month, s.facility, s.unit_key, s.status{asked_columns}, g.grew, count(*) as number
from isolate_facts s
join growth g on g.set_id = s.set_id
where s.leads and {inside}
group by all
