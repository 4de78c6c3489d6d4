-- For the few suspects whose series begin earlier: what lies before and around them, at their own hospital.
create or replace temp table sitting as
select distinct n.set_id, {home} as home, s.patient_key, n.place
from near_sets n
join near_heads h on h.suspect = n.suspect
join suspects s on s.set_id = n.suspect
where n.is_mate and not h.certain
