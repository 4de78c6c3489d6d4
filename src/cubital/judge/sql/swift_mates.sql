-- The partners of every suspect, by the short way where it is certain and by whole series where it is not.
create or replace temp table mates as
select n.suspect as set_id, n.set_id as mate_id
from near_sets n
join near_heads h on h.suspect = n.suspect
where n.is_mate and h.certain and n.place >= h.head and n.place <= h.head + {reach}
union all
select h.suspect, m.set_id
from near_heads h
join series r on r.set_id = h.suspect
join series m on m.series_id = r.series_id and m.set_id <> r.set_id
where not h.certain
