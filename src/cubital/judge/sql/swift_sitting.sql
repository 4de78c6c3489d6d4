-- For the few suspects whose series begin earlier: what lies before and around them.
create or replace temp table sitting as
select distinct n.set_id, n.facility, n.patient_key, n.place
from near_sets n
join near_heads h on h.suspect = n.suspect
where n.is_mate and not h.certain
