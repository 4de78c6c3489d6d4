-- The sets whose class their partners decide, one row each.
create or replace temp table suspects as
select month, facility, unit_key, unnest(suspects, recursive := true) from tally where suspects is not null
