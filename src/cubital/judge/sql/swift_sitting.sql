-- For the few suspects whose series begin earlier: they, and what lies before and around them at their own hospital.
create or replace temp table sitting as
select n.set_id, s.facility as home, s.patient_key, n.place
from near_sets n
join near_heads h on h.suspect = n.suspect
join suspects s on s.set_id = n.suspect
where n.is_mate and not h.certain
union
select s.set_id, s.facility as home, s.patient_key, s.place
from suspects s
join near_heads h on h.suspect = s.set_id
where not h.certain
