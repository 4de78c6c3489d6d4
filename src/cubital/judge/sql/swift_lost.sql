-- How many suspects stand in an island that may begin before all that was looked at.
select count(*)
from near_heads h
join islands i on i.set_id = h.suspect
where not h.certain and i.first_place < h.suspect_place - ({look_back} - 1) * {reach}
