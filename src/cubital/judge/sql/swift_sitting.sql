-- For the few suspects whose series begin earlier: what lies before and around them.
create or replace temp table sitting as
select distinct s.set_id, {home} as home, s.patient_key, s.place
from near_sets s
join near_heads h on h.suspect = s.suspect
where s.is_mate and not h.certain
