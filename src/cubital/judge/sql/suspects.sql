-- The sets whose class their partners decide.
create or replace temp table suspects as
select t.set_id from standing_sets t
join growth_rules r on r.grew = t.grew
where t.outside is null and r.set_class is null
