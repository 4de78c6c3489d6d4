-- The sets about which medical microbiology decided something after their results came.
create or replace temp table decided as
select s.set_id, d.decision
from sets s
join decisions d on d.facility = s.facility and d.accession = s.accession
