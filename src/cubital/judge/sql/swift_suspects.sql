-- The sets whose class their partners decide, one row each.
create or replace temp table suspects as
select s.month, s.facility, s.unit_key, unnest(s.suspects, recursive := true)
from tally s
where s.suspects is not null and {valid} and {outside} is null
