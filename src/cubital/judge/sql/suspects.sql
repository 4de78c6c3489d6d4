-- The sets whose class their partners decide.
create or replace temp table suspects as
select t.set_id
from growth g
join growth_rules r on r.grew = g.grew and r.set_class is null
join standing_sets t on t.set_id = g.set_id
where t.outside is null
